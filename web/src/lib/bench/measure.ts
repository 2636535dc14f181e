/** Distances along the sides of the tank, and how finely a rule is divided. */
import type { Xyz } from './model';

export interface Part {
  axis: 'x' | 'y' | 'z';
  a: Xyz;
  b: Xyz;
  length_mm: number;
}

/** The way from one place to another along x, then y, then z; parts under a tenth of a millimetre are left out. */
export function partsOf(from: Xyz, to: Xyz): Part[] {
  const parts: Part[] = [];
  let at: Xyz = [...from];
  for (const [i, axis] of (['x', 'y', 'z'] as const).entries()) {
    const next: Xyz = [...at];
    next[i] = to[i] ?? 0;
    const length_mm = Math.abs((next[i] ?? 0) - (at[i] ?? 0));
    if (length_mm >= 0.1) parts.push({ axis, a: at, b: next, length_mm });
    at = next;
  }
  return parts.length > 1 ? parts : [];
}

/** Units between figures on a rule, of the series 1, 2, 5, so that figures stand at least 55 px apart. */
export function spacingOf(px_per_unit: number, least_px = 55): number {
  const raw = least_px / Math.max(1e-9, px_per_unit);
  const decade = 10 ** Math.floor(Math.log10(raw));
  for (const step of [1, 2, 5, 10]) if (step * decade >= raw * 0.999999) return step * decade;
  return 10 * decade;
}
