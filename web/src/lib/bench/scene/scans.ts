// The pieces' scans at two levels of detail, each fetched once; a few at a time, so that the server keeps breath.

import { BufferGeometry, Float32BufferAttribute, Matrix4, type Mesh } from 'three';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { mergeGeometries } from 'three/examples/jsm/utils/BufferGeometryUtils.js';

export type Level = 'far' | 'near';
export const TRIANGLES: Record<Level, number> = { far: 4000, near: 20000 };
const AT_ONCE = 3;

/** glTF is in metres with y up; pieces are in millimetres with z up. */
const PIECE_FROM_GLTF = new Matrix4().set(1000, 0, 0, 0, 0, 0, -1000, 0, 0, 1000, 0, 0, 0, 0, 0, 1);

export class Scans {
  private readonly kept = new Map<string, Promise<BufferGeometry>>();
  private readonly queue: (() => void)[] = [];
  private running = 0;

  /** `address` gives the place of a scan; kept apart so that tests need no server. */
  constructor(private readonly address: (tag: string, triangles: number) => string) {}

  get(tag: string, level: Level): Promise<BufferGeometry> {
    const key = `${tag} ${level}`;
    let scan = this.kept.get(key);
    if (!scan) {
      scan = this.turn(() => fetchScan(this.address(tag, TRIANGLES[level])));
      scan.catch(() => this.kept.delete(key));
      this.kept.set(key, scan);
    }
    return scan;
  }

  get waiting(): number {
    return this.running + this.queue.length;
  }

  dispose(): void {
    for (const scan of this.kept.values()) scan.then((g) => g.dispose()).catch(() => {});
    this.kept.clear();
  }

  private async turn<T>(work: () => Promise<T>): Promise<T> {
    if (this.running >= AT_ONCE) await new Promise<void>((go) => this.queue.push(go));
    this.running += 1;
    try {
      return await work();
    } finally {
      this.running -= 1;
      this.queue.shift()?.();
    }
  }
}

async function fetchScan(address: string): Promise<BufferGeometry> {
  const answer = await fetch(address, { credentials: 'same-origin' });
  if (!answer.ok) throw new Error(`${address} answered ${answer.status}`);
  return readScan(await answer.arrayBuffer());
}

/** One geometry in the piece frame, in millimetres, with colours. */
export async function readScan(bytes: ArrayBuffer): Promise<BufferGeometry> {
  const scene = (await new GLTFLoader().parseAsync(bytes, '')).scene;
  scene.updateMatrixWorld(true);
  const parts: BufferGeometry[] = [];
  scene.traverse((o) => {
    const mesh = o as Mesh;
    if (mesh.isMesh)
      parts.push(plain(mesh.geometry).applyMatrix4(PIECE_FROM_GLTF.clone().multiply(mesh.matrixWorld)));
  });
  const one = parts.length === 1 ? parts[0] : mergeGeometries(parts);
  if (!one) throw new Error('the scan holds no triangles');
  if (!one.getAttribute('normal')) one.computeVertexNormals();
  one.computeBoundingBox();
  one.computeBoundingSphere();
  return one;
}

/** The same triangles with full-width positions and colours: quantised ones can't be moved in place. */
function plain(g: BufferGeometry): BufferGeometry {
  const out = new BufferGeometry();
  for (const name of ['position', 'normal', 'color']) {
    const from = g.getAttribute(name);
    if (!from) continue;
    const values = new Float32Array(from.count * 3);
    for (let i = 0; i < from.count; i++) values.set([from.getX(i), from.getY(i), from.getZ(i)], i * 3);
    out.setAttribute(name, new Float32BufferAttribute(values, 3));
  }
  if (!out.getAttribute('color')) {
    out.setAttribute(
      'color',
      new Float32BufferAttribute(
        new Float32Array((out.getAttribute('position')?.count ?? 0) * 3).fill(0.55),
        3,
      ),
    );
  }
  if (g.index) out.setIndex(Array.from(g.index.array));
  return out;
}
