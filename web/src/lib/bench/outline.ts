/** The plan outline of a piece as it lies: the convex hull of its scan seen from above. */
import type { Pose, Xy, Xyz } from './model';
import { turned } from './turns';

/** Places of a scan in the piece frame, three numbers each. */
export function planOutline(position: ArrayLike<number>, centre_mm: Xyz, pose: Pose): Xy[] {
  const points: Xy[] = [];
  for (let i = 0; i + 2 < position.length; i += 3) {
    const p: Xyz = [
      (position[i] ?? 0) - centre_mm[0],
      (position[i + 1] ?? 0) - centre_mm[1],
      (position[i + 2] ?? 0) - centre_mm[2],
    ];
    const [x, y] = turned(pose.quaternion, p);
    points.push([x + pose.centre_mm[0], y + pose.centre_mm[1]]);
  }
  return hull(points);
}

/** Convex hull, anticlockwise, without points on its sides (Andrew's monotone chain, 1979). */
export function hull(points: readonly Xy[]): Xy[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  if (sorted.length < 3) return sorted;
  const half = (list: readonly Xy[]): Xy[] => {
    const out: Xy[] = [];
    for (const p of list) {
      while (out.length > 1 && cross(out.at(-2) as Xy, out.at(-1) as Xy, p) <= 0) out.pop();
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

function cross(o: Xy, a: Xy, b: Xy): number {
  return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
}
