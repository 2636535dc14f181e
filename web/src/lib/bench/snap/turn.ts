// A turn that comes near a multiple of fifteen degrees goes there.

export const STEP_DEG = 15;
const REACH_DEG = 4;

export function snapTurn(turn_deg: number, step_deg = STEP_DEG, reach_deg = REACH_DEG): number {
  const near = Math.round(turn_deg / step_deg) * step_deg;
  return Math.abs(near - turn_deg) <= reach_deg ? near : Math.round(turn_deg);
}

/** Heights (bury, lift, height points) go to whole steps. */
export function snapHeight(v_mm: number, step_mm = 1): number {
  return Math.round(v_mm / step_mm) * step_mm;
}
