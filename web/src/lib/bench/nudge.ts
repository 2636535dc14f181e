/** Which way an arrow key goes in a view. */
import type { Xy } from './model';
import type { View } from './scene/rig';

export type Arrow = 'left' | 'right' | 'up' | 'down';
export type Nudge = { by_mm: Xy } | { up_mm: number };

/** In plan and free view arrows lie on the ground, along the side of the tank that the eye sees them along. */
export function nudgeOf(arrow: Arrow, view: View, azimuth_deg: number, step_mm: number): Nudge {
  const sign = arrow === 'right' || arrow === 'up' ? 1 : -1;
  const vertical = arrow === 'up' || arrow === 'down';
  if (view === 'front') return vertical ? { up_mm: sign * step_mm } : { by_mm: [sign * step_mm, 0] };
  if (view === 'side') return vertical ? { up_mm: sign * step_mm } : { by_mm: [0, sign * step_mm] };
  const quarter = view === 'free' ? Math.round(azimuth_deg / 90) + (vertical ? 1 : 0) : vertical ? 1 : 0;
  const along = ((quarter % 4) + 4) % 4;
  const way: Xy[] = [
    [1, 0],
    [0, 1],
    [-1, 0],
    [0, -1],
  ];
  const [x, y] = way[along] as Xy;
  return { by_mm: [x * sign * step_mm || 0, y * sign * step_mm || 0] };
}
