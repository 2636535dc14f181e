// Unit quaternions [w, x, y, z] that take piece axes into tank axes.

import type { Turn, Xyz } from './model';

export const NO_TURN: Turn = [1, 0, 0, 0];

/** First `b`, then `a`. */
export function compose(a: Turn, b: Turn): Turn {
  const [aw, ax, ay, az] = a;
  const [bw, bx, by, bz] = b;
  return normal([
    aw * bw - ax * bx - ay * by - az * bz,
    aw * bx + ax * bw + ay * bz - az * by,
    aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw,
  ]);
}

/** Length one, w ≥ 0; a quaternion without length is no turn. */
export function normal(q: Turn): Turn {
  const length = Math.hypot(...q);
  if (!(length > 1e-12)) return NO_TURN;
  const sign = q[0] < 0 ? -1 : 1;
  return q.map((v) => (sign * v) / length) as Turn;
}

/** A turn about an axis of length one, right-handed. */
export function about(axis: Xyz, angle_deg: number): Turn {
  const half = (angle_deg * Math.PI) / 360;
  const s = Math.sin(half);
  return normal([Math.cos(half), axis[0] * s, axis[1] * s, axis[2] * s]);
}

export function aboutVertical(angle_deg: number): Turn {
  return about([0, 0, 1], angle_deg);
}

/** The point after the turn. */
export function turned(q: Turn, p: Xyz): Xyz {
  const [w, x, y, z] = q;
  const tx = 2 * (y * p[2] - z * p[1]);
  const ty = 2 * (z * p[0] - x * p[2]);
  const tz = 2 * (x * p[1] - y * p[0]);
  return [p[0] + w * tx + y * tz - z * ty, p[1] + w * ty + z * tx - x * tz, p[2] + w * tz + x * ty - y * tx];
}

/** An angle in (−180, 180]. */
export function wrapped_deg(angle_deg: number): number {
  const a = ((((angle_deg + 180) % 360) + 360) % 360) - 180;
  return a === -180 ? 180 : a;
}

/** The turn that takes direction `a` to direction `b`, both of length one. */
export function between(a: Xyz, b: Xyz): Turn {
  const dot = a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  if (dot < -0.999999) {
    return about(Math.abs(a[0]) < 0.9 ? perpendicular(a, [1, 0, 0]) : perpendicular(a, [0, 1, 0]), 180);
  }
  return normal([1 + dot, a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]);
}

function perpendicular(a: Xyz, b: Xyz): Xyz {
  const c: Xyz = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const length = Math.hypot(...c) || 1;
  return [c[0] / length, c[1] / length, c[2] / length];
}
