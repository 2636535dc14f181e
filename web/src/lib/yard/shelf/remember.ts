/** The scale that this device last used; a browser that keeps nothing gets the default. */
import { DEFAULT_STEP, STEPS } from './scale';

const KEY = 'lentic.yard.scale';

function kept(step: number): number {
  return Math.min(STEPS.length - 1, Math.max(0, Math.round(step)));
}

export function rememberedStep(): number {
  try {
    const text = localStorage.getItem(KEY);
    const step = text === null ? Number.NaN : Number(text);
    return Number.isFinite(step) ? kept(step) : DEFAULT_STEP;
  } catch {
    return DEFAULT_STEP;
  }
}

export function rememberStep(step: number): number {
  const next = kept(step);
  try {
    localStorage.setItem(KEY, String(next));
  } catch {
    // A private window may refuse to keep anything.
  }
  return next;
}
