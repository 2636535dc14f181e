/** Which dimension lines a view shows, in the tank frame. */
import { baseMm, insideMm, type Tank, type Xyz } from './model';
import type { View } from './scene/rig';

export interface DimensionMark {
  key: string;
  of: 'tank' | 'piece' | 'gap';
  a: Xyz;
  b: Xyz;
  length_mm: number;
  /** How far the line stands off what it measures, to the left of the way from a to b. */
  away_px: number;
}

export interface Box {
  min: Xyz;
  max: Xyz;
}

/** `azimuth_deg` tells a free view from the left from one from the right: lines go where they can be seen. */
export function dimensionsOf(tank: Tank, piece: Box | null, view: View, azimuth_deg = 0): DimensionMark[] {
  return [...tankMarks(tank, view, azimuth_deg < 0), ...(piece ? pieceMarks(tank, piece, view) : [])];
}

function mark(key: string, of: DimensionMark['of'], a: Xyz, b: Xyz, away_px: number): DimensionMark {
  return { key, of, a, b, away_px, length_mm: Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]) };
}

function tankMarks(tank: Tank, view: View, from_left: boolean): DimensionMark[] {
  const [l, w, h] = tank.outside_mm;
  const t = tank.glass_mm;
  const b = baseMm(tank);
  const level = tank.water_line_mm;
  const [right, back, top] = [l - t, w - t, h - b];
  const length = mark('length', 'tank', [-t, -t, -b], [right, -t, -b], -30);
  const heightAt = (x: number, y: number, away: number) =>
    mark('height', 'tank', [x, y, -b], [x, y, top], away);
  if (view === 'front')
    return [length, heightAt(-t, -t, 26), mark('water', 'tank', [right, -t, 0], [right, -t, level], -26)];
  if (view === 'side') {
    return [
      mark('width', 'tank', [right, -t, -b], [right, back, -b], -30),
      heightAt(right, -t, 26),
      mark('water', 'tank', [right, back, 0], [right, back, level], -26),
    ];
  }
  if (view === 'plan') {
    return [
      mark('length', 'tank', [-t, -t, top], [right, -t, top], -28),
      mark('width', 'tank', [right, -t, top], [right, back, top], -28),
    ];
  }
  const near = from_left ? -t : right;
  const across = mark('width', 'tank', [near, -t, -b], [near, back, -b], -30);
  return [length, across, heightAt(from_left ? right : -t, -t, -24)];
}

function pieceMarks(tank: Tank, { min, max }: Box, view: View): DimensionMark[] {
  const [l, w] = insideMm(tank);
  const x = (min[0] + max[0]) / 2;
  const y = (min[1] + max[1]) / 2;
  const z = (min[2] + max[2]) / 2;
  const up = (at: Xyz, to: number, key: string, of: DimensionMark['of'], away: number) =>
    mark(key, of, at, [at[0], at[1], to], away);
  const foot = min[2] > 0.5 ? [mark('foot', 'gap', [x, y, 0], [x, y, min[2]], 0)] : [];
  switch (view) {
    case 'front':
      return [
        mark('wide', 'piece', [min[0], y, max[2]], [max[0], y, max[2]], 22),
        up([max[0], y, min[2]], max[2], 'tall', 'piece', -22),
        mark('left', 'gap', [0, y, z], [min[0], y, z], 0),
        mark('right', 'gap', [max[0], y, z], [l, y, z], 0),
        ...foot,
      ];
    case 'side':
      return [
        mark('deep', 'piece', [x, min[1], max[2]], [x, max[1], max[2]], 22),
        up([x, max[1], min[2]], max[2], 'tall', 'piece', -22),
        mark('front', 'gap', [x, 0, z], [x, min[1], z], 0),
        mark('back', 'gap', [x, max[1], z], [x, w, z], 0),
        ...foot,
      ];
    case 'plan':
      return [
        mark('wide', 'piece', [min[0], max[1], max[2]], [max[0], max[1], max[2]], 22),
        mark('deep', 'piece', [max[0], min[1], max[2]], [max[0], max[1], max[2]], -22),
        mark('left', 'gap', [0, y, z], [min[0], y, z], 0),
        mark('right', 'gap', [max[0], y, z], [l, y, z], 0),
        mark('front', 'gap', [x, 0, z], [x, min[1], z], 0),
        mark('back', 'gap', [x, max[1], z], [x, w, z], 0),
      ];
    case 'free':
      return [
        mark('wide', 'piece', [min[0], min[1], min[2]], [max[0], min[1], min[2]], -14),
        mark('deep', 'piece', [max[0], min[1], min[2]], [max[0], max[1], min[2]], -14),
        up([min[0], min[1], min[2]], max[2], 'tall', 'piece', 14),
        mark('left', 'gap', [0, y, min[2]], [min[0], y, min[2]], 0),
        mark('front', 'gap', [x, 0, min[2]], [x, min[1], min[2]], 0),
      ];
  }
}
