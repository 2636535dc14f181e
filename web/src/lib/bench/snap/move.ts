// Where a piece that is dragged in plan wants to lie: on a line of the tank or of another piece, else on the grid.

import type { Xy } from '../model';

export interface Line {
  axis: 'x' | 'y';
  at_mm: number;
  /** What the line is, in words for the guide. */
  words: string;
}

export interface Snapped {
  at_mm: Xy;
  lines: Line[];
}

export const GRID_MM = 10;

/** Centre line and thirds of the tank, and the centre lines of the other pieces. */
export function linesOf(inside_mm: readonly number[], others: readonly { tag: string; at_mm: Xy }[]): Line[] {
  const [l = 0, w = 0] = inside_mm;
  const lines: Line[] = [];
  for (const [axis, length] of [
    ['x', l],
    ['y', w],
  ] as const) {
    lines.push({ axis, at_mm: length / 2, words: 'middle of the tank' });
    lines.push({ axis, at_mm: length / 3, words: 'a third of the tank' });
    lines.push({ axis, at_mm: (2 * length) / 3, words: 'two thirds of the tank' });
  }
  for (const o of others) {
    lines.push({ axis: 'x', at_mm: o.at_mm[0], words: `middle of ${o.tag}` });
    lines.push({ axis: 'y', at_mm: o.at_mm[1], words: `middle of ${o.tag}` });
  }
  return lines;
}

/** Takes each axis to the nearest line within reach, else to the grid. */
export function snapMove(at_mm: Xy, lines: readonly Line[], reach_mm: number, grid_mm = GRID_MM): Snapped {
  const out: Xy = [at_mm[0], at_mm[1]];
  const used: Line[] = [];
  for (const [i, axis] of [
    [0, 'x'],
    [1, 'y'],
  ] as const) {
    const near = nearest(
      at_mm[i],
      lines.filter((l) => l.axis === axis),
      reach_mm,
    );
    if (near) used.push(near);
    out[i] = near ? near.at_mm : Math.round(at_mm[i] / grid_mm) * grid_mm;
  }
  return { at_mm: out, lines: used };
}

function nearest(v: number, lines: readonly Line[], reach: number): Line | null {
  let best: Line | null = null;
  let least = reach;
  for (const l of lines) {
    const d = Math.abs(l.at_mm - v);
    if (d < least) {
      least = d;
      best = l;
    }
  }
  return best;
}
