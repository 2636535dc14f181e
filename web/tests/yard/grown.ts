/** Outlines and scans that look like stones and roots, from a seed. */
import { seeded } from './shop';

type Vec2 = [number, number];

/** A front outline `width` × `height`, standing on z = 0, of 48 points. */
export function blob(seed: number, width: number, height: number, wood = false): Vec2[] {
  const next = seeded(seed * 101 + 7);
  const waves = Array.from(
    { length: 5 },
    (_, k) => [(next() * (wood ? 0.5 : 0.22)) / (k + 1), next() * 6.28] as const,
  );
  const raw = Array.from({ length: 48 }, (_, i): Vec2 => {
    const a = (i / 48) * 2 * Math.PI;
    let r = 1;
    for (const [k, [size, phase]] of waves.entries()) r += size * Math.sin((k + 2) * a + phase);
    return [r * Math.cos(a), Math.max(-0.72, r * Math.sin(a))];
  });
  const xs = raw.map((p) => p[0]);
  const zs = raw.map((p) => p[1]);
  const [x0, x1, z0, z1] = [Math.min(...xs), Math.max(...xs), Math.min(...zs), Math.max(...zs)];
  return raw.map(([x, z]) => [
    Math.round(((x - x0) / (x1 - x0)) * width * 10) / 10,
    Math.round(((z - z0) / (z1 - z0)) * height * 10) / 10,
  ]);
}

/** A lumpy ball as GLB with vertex colours, metres, y up, within the given millimetres. */
export function scanGlb(seed: number, width: number, depth: number, height: number): Buffer {
  const next = seeded(seed);
  const bumps = Array.from(
    { length: 12 },
    () => [next() * 2 - 1, next() * 2 - 1, next() * 2 - 1, next()] as const,
  );
  const [nu, nv] = [96, 64];
  const positions: number[] = [];
  const colours: number[] = [];
  for (let v = 0; v <= nv; v++) {
    for (let u = 0; u < nu; u++) {
      const [a, b] = [(u / nu) * 2 * Math.PI, (v / nv) * Math.PI];
      const d = [Math.sin(b) * Math.cos(a), Math.cos(b), Math.sin(b) * Math.sin(a)] as const;
      let r = 0.85;
      for (const [x, y, z, s] of bumps) r += 0.16 * s * Math.sin(3 * (d[0] * x + d[1] * y + d[2] * z) * 2.2);
      positions.push((d[0] * r * width) / 2000, (d[1] * r * height) / 2000, (d[2] * r * depth) / 2000);
      const shade = 0.35 + 0.3 * r;
      colours.push(shade, shade, shade * 0.95);
    }
  }
  const indices: number[] = [];
  for (let v = 0; v < nv; v++)
    for (let u = 0; u < nu; u++) {
      const [a, b] = [v * nu + u, v * nu + ((u + 1) % nu)];
      indices.push(a, b, a + nu, b, b + nu, a + nu);
    }
  const bin = Buffer.concat([
    Buffer.from(new Float32Array(positions).buffer),
    Buffer.from(new Float32Array(colours).buffer),
    Buffer.from(new Uint32Array(indices).buffer),
  ]);
  const n = positions.length / 3;
  const axis = (k: number) => positions.filter((_, i) => i % 3 === k);
  const least = [0, 1, 2].map((k) => axis(k).reduce((m, x) => Math.min(m, x), 1e9));
  const most = [0, 1, 2].map((k) => axis(k).reduce((m, x) => Math.max(m, x), -1e9));
  const gltf = {
    asset: { version: '2.0' },
    scene: 0,
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0 }],
    meshes: [{ primitives: [{ attributes: { POSITION: 0, COLOR_0: 1 }, indices: 2 }] }],
    accessors: [
      { bufferView: 0, componentType: 5126, count: n, type: 'VEC3', min: least, max: most },
      { bufferView: 1, componentType: 5126, count: n, type: 'VEC3' },
      { bufferView: 2, componentType: 5125, count: indices.length, type: 'SCALAR' },
    ],
    bufferViews: [
      { buffer: 0, byteOffset: 0, byteLength: n * 12 },
      { buffer: 0, byteOffset: n * 12, byteLength: n * 12 },
      { buffer: 0, byteOffset: n * 24, byteLength: indices.length * 4 },
    ],
    buffers: [{ byteLength: bin.length }],
  };
  let text = JSON.stringify(gltf);
  while (text.length % 4 !== 0) text += ' ';
  const head = Buffer.alloc(20);
  head.writeUInt32LE(0x46546c67, 0);
  head.writeUInt32LE(2, 4);
  head.writeUInt32LE(28 + text.length + bin.length, 8);
  head.writeUInt32LE(text.length, 12);
  head.writeUInt32LE(0x4e4f534a, 16);
  const binHead = Buffer.alloc(8);
  binHead.writeUInt32LE(bin.length, 0);
  binHead.writeUInt32LE(0x004e4942, 4);
  return Buffer.concat([head, Buffer.from(text), binHead, bin]);
}
