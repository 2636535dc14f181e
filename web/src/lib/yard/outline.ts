/** Outlines as drawn shapes: paths, boxes, areas, and freehand lines made simple. Millimetres, z up. */
import type { Vec2 } from '$lib/api/types';

export interface Extent {
  left: number;
  right: number;
  low: number;
  high: number;
}

export function extent(outline: readonly Vec2[]): Extent {
  const box = { left: Infinity, right: -Infinity, low: Infinity, high: -Infinity };
  for (const [x, z] of outline) {
    box.left = Math.min(box.left, x);
    box.right = Math.max(box.right, x);
    box.low = Math.min(box.low, z);
    box.high = Math.max(box.high, z);
  }
  return outline.length === 0 ? { left: 0, right: 0, low: 0, high: 0 } : box;
}

function short(value: number): string {
  return String(Math.round(value * 10) / 10);
}

/** A closed SVG path; `z` grows up, SVG's y down, so z = 0 lies on y = 0. */
export function pathOf(outline: readonly Vec2[]): string {
  if (outline.length < 2) return '';
  const words = outline.map(([x, z]) => `${short(x)} ${short(z === 0 ? 0 : -z)}`);
  return `M${words.join('L')}Z`;
}

/** Twice-signed sums halved: positive when the points go round to the left. */
export function signedArea(outline: readonly Vec2[]): number {
  let sum = 0;
  for (const [i, a] of outline.entries()) {
    const b = outline[(i + 1) % outline.length] ?? a;
    sum += a[0] * b[1] - b[0] * a[1];
  }
  return sum / 2;
}

function awayFromLine(p: Vec2, a: Vec2, b: Vec2): number {
  const dx = b[0] - a[0];
  const dz = b[1] - a[1];
  const length2 = dx * dx + dz * dz;
  const t = length2 === 0 ? 0 : Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dz) / length2));
  return Math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dz);
}

/** Drops points that lie within `off_mm` of the line without them (Douglas and Peucker 1973). */
export function simplify(line: readonly Vec2[], off_mm: number): Vec2[] {
  if (line.length <= 2) return [...line];
  const keep = new Set([0, line.length - 1]);
  const open: [number, number][] = [[0, line.length - 1]];
  for (let span = open.pop(); span; span = open.pop()) {
    const [from, to] = span;
    let worst = -1;
    let far = off_mm;
    for (let i = from + 1; i < to; i++) {
      const away = awayFromLine(line[i] as Vec2, line[from] as Vec2, line[to] as Vec2);
      if (away > far) {
        far = away;
        worst = i;
      }
    }
    if (worst < 0) continue;
    keep.add(worst);
    open.push([from, worst], [worst, to]);
  }
  return line.filter((_, i) => keep.has(i));
}

/** A stroke of the finger made a gap's outline: simple, inside the front, whole millimetres; null when the
 * stroke encloses nothing to speak of. */
export function strokeToOutline(stroke: readonly Vec2[], width_mm: number, height_mm: number): Vec2[] | null {
  const inside = stroke.map(
    ([x, z]): Vec2 => [Math.min(width_mm, Math.max(0, x)), Math.min(height_mm, Math.max(0, z))],
  );
  const size = Math.max(width_mm, height_mm);
  let off = size / 250;
  let simple = simplify(inside, off);
  while (simple.length > 60) {
    off *= 1.5;
    simple = simplify(inside, off);
  }
  const whole = simple.map(([x, z]): Vec2 => [Math.round(x), Math.round(z)]);
  const first = whole[0];
  const last = whole.at(-1);
  if (first && last && whole.length > 3 && Math.hypot(first[0] - last[0], first[1] - last[1]) < size / 60)
    whole.pop();
  const distinct = whole.filter((p, i) => {
    const q = whole[(i + 1) % whole.length];
    return !q || p[0] !== q[0] || p[1] !== q[1];
  });
  return distinct.length >= 3 && Math.abs(signedArea(distinct)) > 400 ? distinct : null;
}

function turnOf(a: Vec2, b: Vec2, c: Vec2): number {
  return Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
}

/** Two sides that cross: such an outline encloses no clear gap. */
export function crossesItself(outline: readonly Vec2[]): boolean {
  const n = outline.length;
  for (let i = 0; i < n; i++) {
    const [a, b] = [outline[i] as Vec2, outline[(i + 1) % n] as Vec2];
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      const [c, d] = [outline[j] as Vec2, outline[(j + 1) % n] as Vec2];
      if (turnOf(a, b, c) * turnOf(a, b, d) < 0 && turnOf(c, d, a) * turnOf(c, d, b) < 0) return true;
    }
  }
  return false;
}

/** `0,0;120,0;60,90`: an outline in an address, and back; null when it isn't one. */
export function writeOutline(outline: readonly Vec2[]): string {
  return outline.map(([x, z]) => `${Math.round(x)},${Math.round(z)}`).join(';');
}

export function readOutline(text: string | null): Vec2[] | null {
  if (!text) return null;
  const points: Vec2[] = [];
  for (const word of text.split(';')) {
    const match = /^(-?\d{1,5}(?:\.\d+)?),(-?\d{1,5}(?:\.\d+)?)$/.exec(word);
    if (!match) return null;
    points.push([Number(match[1]), Number(match[2])]);
  }
  return points.length >= 3 && points.length <= 200 ? points : null;
}
