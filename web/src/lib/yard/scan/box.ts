/** Where dimension lines go on a scan: how it lies squarely in plan, and the least box round it. The figures on the
 * lines are the server's; this only finds the directions to draw them in. Millimetres, z up. */
import type { Quaternion, Vec3 } from '$lib/api/types';

/** x, y, z, x, y, z … */
export type Points = ArrayLike<number>;

export function turnBy([w, x, y, z]: Quaternion, [px, py, pz]: Vec3): Vec3 {
  const tx = 2 * (y * pz - z * py);
  const ty = 2 * (z * px - x * pz);
  const tz = 2 * (x * py - y * px);
  return [px + w * tx + y * tz - z * ty, py + w * ty + z * tx - x * tz, pz + w * tz + x * ty - y * tx];
}

/** First b, then a. */
export function after(a: Quaternion, b: Quaternion): Quaternion {
  const [aw, ax, ay, az] = a;
  const [bw, bx, by, bz] = b;
  return [
    aw * bw - ax * bx - ay * by - az * bz,
    aw * bx + ax * bw + ay * bz - az * by,
    aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw,
  ];
}

export function aboutZ(angle: number): Quaternion {
  return [Math.cos(angle / 2), 0, 0, Math.sin(angle / 2)];
}

/** The points that lie furthest out in many directions: enough to find boxes with. */
export function extremes(points: Points, n_directions = 500): Vec3[] {
  const found = new Set<number>();
  const n = Math.floor(points.length / 3);
  for (const [dx, dy, dz] of directions(n_directions)) {
    let best = -1;
    let far = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < n; i++) {
      const along = (points[3 * i] ?? 0) * dx + (points[3 * i + 1] ?? 0) * dy + (points[3 * i + 2] ?? 0) * dz;
      if (along > far) {
        far = along;
        best = i;
      }
    }
    if (best >= 0) found.add(best);
  }
  return [...found].map((i) => [points[3 * i] ?? 0, points[3 * i + 1] ?? 0, points[3 * i + 2] ?? 0]);
}

/** Directions spread evenly over the sphere (spiral of the golden angle). */
function directions(n: number): Vec3[] {
  const golden = Math.PI * (3 - Math.sqrt(5));
  return Array.from({ length: n }, (_, i) => {
    const z = 1 - (2 * (i + 0.5)) / n;
    const r = Math.sqrt(1 - z * z);
    return [r * Math.cos(golden * i), r * Math.sin(golden * i), z];
  });
}

type Plan = readonly (readonly [number, number])[];

function spans(plan: Plan, angle: number): [number, number] {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  let [x0, x1, y0, y1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [x, y] of plan) {
    const u = c * x - s * y;
    const v = s * x + c * y;
    if (u < x0) x0 = u;
    if (u > x1) x1 = u;
    if (v < y0) y0 = v;
    if (v > y1) y1 = v;
  }
  return [x1 - x0, y1 - y0];
}

/** The turn about the vertical, radians, after which the rectangle round the plan is smallest and lies with its
 * longer side along x. */
export function squareTurn(plan: Plan): number {
  const area = (angle: number) => {
    const [w, d] = spans(plan, angle);
    return w * d;
  };
  let best = 0;
  let step = Math.PI / 180;
  for (let i = 1; i < 90; i++) if (area(i * step) < area(best) - 1e-9) best = i * step;
  for (let round = 0; round < 12; round++) {
    step /= 2;
    for (const angle of [best - step, best + step]) if (area(angle) < area(best) - 1e-9) best = angle;
  }
  const [w, d] = spans(plan, best);
  return d > w ? best + Math.PI / 2 : best;
}

export interface LeastBox {
  /** Takes the piece's axes so that long lies along x, mid along y, short along z. */
  turn: Quaternion;
  size: Vec3;
}

/** Takes a direction onto z. */
function ontoZ([x, y, z]: Vec3): Quaternion {
  if (z < -0.999999) return [0, 1, 0, 0];
  const w = 1 + z;
  const length = Math.hypot(w, y, -x);
  return [w / length, y / length, -x / length, 0];
}

function boxAlong(points: Vec3[], axis: Vec3): LeastBox {
  const up = ontoZ(axis);
  const turned = points.map((point) => turnBy(up, point));
  const plan: Plan = turned.map(([x, y]) => [x, y]);
  const angle = squareTurn(plan);
  const [w, d] = spans(plan, angle);
  const zs = turned.map((p) => p[2]);
  return { turn: after(aboutZ(angle), up), size: [w, d, Math.max(...zs) - Math.min(...zs)] };
}

function volume(box: LeastBox): number {
  return box.size[0] * box.size[1] * box.size[2];
}

function unit([x, y, z]: Vec3): Vec3 {
  const length = Math.hypot(x, y, z) || 1;
  return [x / length, y / length, z / length];
}

/** Long along x, then mid, then short. */
function sorted(box: LeastBox): LeastBox {
  const half = Math.SQRT1_2;
  let { turn, size } = box;
  const swap = (a: 0 | 1 | 2, b: 0 | 1 | 2, q: Quaternion) => {
    if (size[a] >= size[b]) return;
    const next: Vec3 = [...size];
    [next[a], next[b]] = [size[b], size[a]];
    size = next;
    turn = after(q, turn);
  };
  swap(0, 1, [half, 0, 0, half]);
  swap(1, 2, [half, half, 0, 0]);
  swap(0, 1, [half, 0, 0, half]);
  return { turn, size };
}

/** The box of (nearly) least volume round the points: a search over axes, then descent from the best few. */
export function leastBox(points: Vec3[]): LeastBox {
  const tried = directions(240)
    .filter((axis) => axis[2] >= 0)
    .map((axis) => ({ axis, box: boxAlong(points, axis) }))
    .sort((a, b) => volume(a.box) - volume(b.box))
    .slice(0, 6);
  let best = (tried[0] as { box: LeastBox }).box;
  for (const start of tried) {
    let { axis, box } = start;
    for (let step = 0.12; step > 0.0008; ) {
      let better = false;
      for (const [dx, dy, dz] of [
        [step, 0, 0],
        [-step, 0, 0],
        [0, step, 0],
        [0, -step, 0],
        [0, 0, step],
        [0, 0, -step],
      ] as Vec3[]) {
        const next = unit([axis[0] + dx, axis[1] + dy, axis[2] + dz]);
        const trial = boxAlong(points, next);
        if (volume(trial) < volume(box)) {
          [axis, box, better] = [next, trial, true];
        }
      }
      if (!better) step /= 2;
    }
    if (volume(box) < volume(best)) best = box;
  }
  return sorted(best);
}

/** Whether the box found here is the one that the server measured: only then its lines may carry those figures. */
export function sameBox(size: Vec3, measured: { long: number; mid: number; short: number }): boolean {
  const want = [measured.long, measured.mid, measured.short];
  return size.every((side, i) => Math.abs(side - (want[i] ?? 0)) <= Math.max(1.5, 0.025 * (want[i] ?? 0)));
}
