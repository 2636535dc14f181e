// A small tile of grain that makes sand look like sand.

import { CanvasTexture, RepeatWrapping, SRGBColorSpace } from 'three';

const SIDE = 128;
let tile: CanvasTexture | null = null;

/** A grey tile round white, drawn once from a fixed seed. */
export function grainTile(): CanvasTexture {
  if (tile) return tile;
  const canvas = document.createElement('canvas');
  canvas.width = SIDE;
  canvas.height = SIDE;
  const g = canvas.getContext('2d');
  if (g) {
    const image = g.createImageData(SIDE, SIDE);
    const random = seeded(7);
    for (let i = 0; i < SIDE * SIDE; i++) {
      const v = 198 + random() * 57 - (random() < 0.06 ? 50 : 0);
      image.data.set([v, v, v, 255], i * 4);
    }
    g.putImageData(image, 0, 0);
  }
  tile = new CanvasTexture(canvas);
  tile.wrapS = RepeatWrapping;
  tile.wrapT = RepeatWrapping;
  tile.colorSpace = SRGBColorSpace;
  tile.anisotropy = 4;
  return tile;
}

/** Numbers in [0, 1) that follow from a seed (mulberry32, public domain). */
export function seeded(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A seed from words, the same every time. */
export function seedOf(words: string): number {
  let h = 2166136261;
  for (let i = 0; i < words.length; i++) h = Math.imul(h ^ words.charCodeAt(i), 16777619);
  return h >>> 0;
}
