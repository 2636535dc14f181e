/** Which edges of a box carry the dimension lines, seen from where the eye is: those towards it, so that lines never
 * run behind the piece. */
import type { Vec3 } from '$lib/api/types';

export interface Line {
  /** The measured edge and the line beside it. */
  edge: [Vec3, Vec3];
  line: [Vec3, Vec3];
  side: 'width' | 'depth' | 'height';
}

/** Lines of a box that stands on the sheet. `azimuth_deg`: 0 looks from the front (−y), 90 from the right. */
export function lainLines(from: Vec3, to: Vec3, azimuth_deg: number, off: number): Line[] {
  const a = (azimuth_deg * Math.PI) / 180;
  const eyeX = Math.sin(a);
  const eyeY = -Math.cos(a);
  const nearX = eyeX >= 0 ? to[0] : from[0];
  const nearY = eyeY >= 0 ? to[1] : from[1];
  const outX = Math.sign(eyeX || 1) * off;
  const outY = Math.sign(eyeY || -1) * off;
  // The upright edge that stands furthest to the left on the screen.
  const rightX = Math.cos(a);
  const rightY = Math.sin(a);
  const leftX = rightX >= 0 ? from[0] : to[0];
  const leftY = rightY >= 0 ? from[1] : to[1];
  const away: Vec3 = [-rightX * off, -rightY * off, 0];
  const plus = (p: Vec3, d: Vec3): Vec3 => [p[0] + d[0], p[1] + d[1], p[2] + d[2]];
  const edges: [Line['side'], Vec3, Vec3, Vec3][] = [
    ['width', [from[0], nearY, from[2]], [to[0], nearY, from[2]], [0, outY, 0]],
    ['depth', [nearX, from[1], from[2]], [nearX, to[1], from[2]], [outX, 0, 0]],
    ['height', [leftX, leftY, from[2]], [leftX, leftY, to[2]], away],
  ];
  return edges.map(([side, p, q, d]) => ({ side, edge: [p, q], line: [plus(p, d), plus(q, d)] }));
}

/** The twelve edges of a box by pairs of corners; corner i has bit 0 for x, 1 for y, 2 for z. */
export const EDGES: [number, number][] = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((i) =>
  [1, 2, 4].filter((bit) => (i & bit) === 0).map((bit): [number, number] => [i, i | bit]),
);

/** For each axis the parallel edge whose middle lies furthest out on the screen: there a line disturbs least. */
export function outerEdges(corners: readonly (readonly [number, number])[]): [number, number][] {
  const cx = corners.reduce((sum, p) => sum + p[0], 0) / corners.length;
  const cy = corners.reduce((sum, p) => sum + p[1], 0) / corners.length;
  return [1, 2, 4].map((bit) => {
    let best: [number, number] = [0, bit];
    let far = -1;
    for (const [i, j] of EDGES.filter(([i, j]) => (i ^ j) === bit)) {
      const [p, q] = [corners[i], corners[j]];
      if (!p || !q) continue;
      const away = Math.hypot((p[0] + q[0]) / 2 - cx, (p[1] + q[1]) / 2 - cy);
      if (away > far) {
        far = away;
        best = [i, j];
      }
    }
    return best;
  });
}
