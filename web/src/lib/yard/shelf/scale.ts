/** The one scale at which a shelf is drawn: its steps, and a bar that shows it. */
import type { Units } from '$lib/api/types';

/** Pixels to a millimetre; even steps to the eye. The default shows a 200 mm stone as wide as a thumb. */
export const STEPS = [0.12, 0.16, 0.21, 0.28, 0.37, 0.5, 0.66, 0.88, 1.17, 1.55, 2] as const;
export const DEFAULT_STEP = 5;

export function scaleOf(step: number): number {
  const i = Math.min(STEPS.length - 1, Math.max(0, Math.round(step)));
  return STEPS[i] ?? 0.5;
}

export interface Bar {
  mm: number;
  px: number;
  words: string;
  /** Ticks on the bar, evenly spaced. */
  parts: number;
}

const METRIC: [number, string, number][] = [
  [10, '10 mm', 2],
  [20, '20 mm', 2],
  [50, '50 mm', 5],
  [100, '100 mm', 5],
  [200, '200 mm', 4],
  [500, '500 mm', 5],
  [1000, '1 m', 5],
  [2000, '2 m', 4],
];
const US: [number, string, number][] = [
  [12.7, '1/2 in', 2],
  [25.4, '1 in', 4],
  [50.8, '2 in', 2],
  [101.6, '4 in', 4],
  [152.4, '6 in', 6],
  [304.8, '1 ft', 4],
  [609.6, '2 ft', 4],
  [1828.8, '6 ft', 6],
];

/** The longest round length that is no wider than `most_px`. */
export function scaleBar(px_mm: number, most_px: number, units: Units): Bar {
  const lengths = units === 'us' ? US : METRIC;
  let best = lengths[0] as [number, string, number];
  for (const length of lengths) if (length[0] * px_mm <= most_px) best = length;
  return { mm: best[0], px: best[0] * px_mm, words: best[1], parts: best[2] };
}
