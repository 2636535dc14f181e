/** The ground while a height is drawn up or down: a heap round the point, until the server has laid the bed anew. */
import type { Ground } from '$lib/api/types';
import type { Bed, Xy } from './model';

/** Raises the ground round a place, fading out towards the bed's next height. */
export function heaped(g: Ground, at: Xy, by_mm: number, reach_mm: number, bed: Bed): Ground {
  const inside = bed.region === 'all' ? null : bed.region;
  const heights_mm = g.heights_mm.slice();
  const n = Math.ceil(reach_mm / g.cell_mm);
  const [ci, cj] = [Math.round(at[0] / g.cell_mm), Math.round(at[1] / g.cell_mm)];
  for (let j = Math.max(0, cj - n); j <= Math.min(g.ny - 1, cj + n); j++) {
    for (let i = Math.max(0, ci - n); i <= Math.min(g.nx - 1, ci + n); i++) {
      const [x, y] = [i * g.cell_mm, j * g.cell_mm];
      const d = Math.hypot(x - at[0], y - at[1]) / reach_mm;
      if (d >= 1 || (inside && !holds(inside, [x, y]))) continue;
      const k = j * g.nx + i;
      heights_mm[k] = Math.max(0, (heights_mm[k] ?? 0) + by_mm * (1 - d * d) ** 2);
    }
  }
  return { ...g, heights_mm };
}

/** How far a height reaches: to the bed's nearest other height, within sense. */
export function reachOf(bed: Bed, point: number): number {
  const p = bed.points[point];
  if (!p) return 120;
  const others = bed.points.filter((_, i) => i !== point).map((q) => Math.hypot(q[0] - p[0], q[1] - p[1]));
  return Math.max(40, Math.min(400, ...others.filter((d) => d > 1)));
}

/** Whether a place lies inside a polygon, by crossings to its right. */
export function holds(polygon: readonly Xy[], p: Xy): boolean {
  let odd = false;
  polygon.forEach((a, i) => {
    const b = polygon[(i + 1) % polygon.length] as Xy;
    if (a[1] > p[1] !== b[1] > p[1] && p[0] < ((b[0] - a[0]) * (p[1] - a[1])) / (b[1] - a[1]) + a[0])
      odd = !odd;
  });
  return odd;
}

/** The mean of the corners: a place to write a name. */
export function middleOf(polygon: readonly Xy[]): Xy {
  const n = Math.max(1, polygon.length);
  return [polygon.reduce((s, p) => s + p[0], 0) / n, polygon.reduce((s, p) => s + p[1], 0) / n];
}
