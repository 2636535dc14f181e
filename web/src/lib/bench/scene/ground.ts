// The ground's surface in the colours of its materials, with the cut that one sees through the glass.

import { BufferGeometry, Color, Float32BufferAttribute, Group, Mesh, MeshLambertMaterial } from 'three';
import type { Ground } from '../model';
import { grainTile } from './grain';

const TILE_MM = 90;
const CUT_SHADE = 0.72;

export function ground(g: Ground, inside_mm: readonly number[]): Group {
  const group = new Group();
  group.name = 'ground';
  if (g.nx < 2 || g.ny < 2 || g.heights_mm.every((h) => h <= 0)) return group;
  const material = new MeshLambertMaterial({ vertexColors: true, map: grainTile() });
  const top = new Mesh(surface(g, inside_mm), material);
  const cut = new Mesh(skirt(g, inside_mm), material);
  for (const m of [top, cut]) {
    m.receiveShadow = true;
    group.add(m);
  }
  return group;
}

/** The height at a place, between the four nodes round it. */
export function heightAt(g: Ground | null, x_mm: number, y_mm: number): number {
  if (!g || g.nx < 2 || g.ny < 2) return 0;
  const u = Math.max(0, Math.min(g.nx - 1.000001, x_mm / g.cell_mm));
  const v = Math.max(0, Math.min(g.ny - 1.000001, y_mm / g.cell_mm));
  const i = Math.floor(u);
  const j = Math.floor(v);
  const h = (a: number, b: number) => g.heights_mm[b * g.nx + a] ?? 0;
  const low = h(i, j) * (1 - (u - i)) + h(i + 1, j) * (u - i);
  const high = h(i, j + 1) * (1 - (u - i)) + h(i + 1, j + 1) * (u - i);
  return low * (1 - (v - j)) + high * (v - j);
}

function place(g: Ground, inside: readonly number[], i: number, j: number): [number, number] {
  const [l = 0, w = 0] = inside;
  // The last column and row end at the glass, whatever the cell.
  return [i === g.nx - 1 ? l : Math.min(l, i * g.cell_mm), j === g.ny - 1 ? w : Math.min(w, j * g.cell_mm)];
}

function colours(g: Ground): Color[] {
  return g.colours.map((c) => new Color(c));
}

const BARE = new Color('#8a8577');

/** No ground lies at this node. */
function bare(g: Ground, node: number): boolean {
  return (g.material[node] ?? -1) < 0 && (g.heights_mm[node] ?? 0) <= 0;
}

function surface(g: Ground, inside: readonly number[]): BufferGeometry {
  const tones = colours(g);
  const position: number[] = [];
  const colour: number[] = [];
  const uv: number[] = [];
  for (let j = 0; j < g.ny; j++) {
    for (let i = 0; i < g.nx; i++) {
      const n = j * g.nx + i;
      const [x, y] = place(g, inside, i, j);
      const c = tones[g.material[n] ?? 0] ?? BARE;
      position.push(x, y, (g.heights_mm[n] ?? 0) + 0.2);
      colour.push(c.r, c.g, c.b);
      uv.push(x / TILE_MM, y / TILE_MM);
    }
  }
  const index: number[] = [];
  for (let j = 0; j + 1 < g.ny; j++) {
    for (let i = 0; i + 1 < g.nx; i++) {
      const a = j * g.nx + i;
      if ([a, a + 1, a + g.nx, a + g.nx + 1].every((n) => bare(g, n))) continue;
      index.push(a, a + 1, a + g.nx, a + 1, a + g.nx + 1, a + g.nx);
    }
  }
  return built(position, colour, uv, index);
}

function skirt(g: Ground, inside: readonly number[]): BufferGeometry {
  const tones = colours(g);
  const position: number[] = [];
  const colour: number[] = [];
  const uv: number[] = [];
  const index: number[] = [];
  for (const rim of rims(g)) {
    const start = position.length / 3;
    let run = 0;
    let last: [number, number] | null = null;
    for (const n of rim) {
      const [x, y] = place(g, inside, n % g.nx, Math.floor(n / g.nx));
      if (last) run += Math.hypot(x - last[0], y - last[1]);
      last = [x, y];
      const c = tones[g.material[n] ?? 0] ?? BARE;
      const h = g.heights_mm[n] ?? 0;
      for (const z of [0, h]) {
        position.push(x, y, z);
        colour.push(c.r * CUT_SHADE, c.g * CUT_SHADE, c.b * CUT_SHADE);
        uv.push(run / TILE_MM, z / TILE_MM);
      }
    }
    for (let k = 0; k + 1 < rim.length; k++) {
      const a = start + 2 * k;
      index.push(a, a + 2, a + 1, a + 2, a + 3, a + 1);
    }
  }
  return built(position, colour, uv, index);
}

/** The four rims, each so that the tank's inside lies to the left of its direction. */
function rims(g: Ground): number[][] {
  const along = (n: number, at: (k: number) => number) => Array.from({ length: n }, (_, k) => at(k));
  const last = g.nx * (g.ny - 1);
  return [
    along(g.nx, (k) => k),
    along(g.ny, (k) => k * g.nx + g.nx - 1),
    along(g.nx, (k) => last + (g.nx - 1 - k)),
    along(g.ny, (k) => (g.ny - 1 - k) * g.nx),
  ];
}

function built(position: number[], colour: number[], uv: number[], index: number[]): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new Float32BufferAttribute(position, 3));
  geometry.setAttribute('color', new Float32BufferAttribute(colour, 3));
  geometry.setAttribute('uv', new Float32BufferAttribute(uv, 2));
  geometry.setIndex(index);
  geometry.computeVertexNormals();
  return geometry;
}
