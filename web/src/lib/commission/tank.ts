/** A tank as a form holds it: any measure may still be missing. */
import type { Tank } from '$lib/api/types';

export interface TankDraft {
  length_mm: number | null;
  width_mm: number | null;
  height_mm: number | null;
  glass_mm: number | null;
  water_line_mm: number | null;
  /** Kept as they came; the form doesn't ask for them. */
  base_mm?: number | null;
  empty_mass_kg?: number | null;
  water_c?: number | null;
}

export const emptyTank = (): TankDraft => ({
  length_mm: null,
  width_mm: null,
  height_mm: null,
  glass_mm: null,
  water_line_mm: null,
});

export function draftOf(tank: Tank | null | undefined): TankDraft {
  if (!tank) return emptyTank();
  const [length_mm, width_mm, height_mm] = tank.outside_mm;
  return {
    length_mm,
    width_mm,
    height_mm,
    glass_mm: tank.glass_mm,
    water_line_mm: tank.water_line_mm,
    base_mm: tank.base_mm,
    empty_mass_kg: tank.empty_mass_kg,
    water_c: tank.water_c,
  };
}

/** Nothing has been typed. */
export function isEmpty(draft: TankDraft): boolean {
  return [draft.length_mm, draft.width_mm, draft.height_mm, draft.glass_mm, draft.water_line_mm].every(
    (value) => value === null,
  );
}

/** The tank, or the words for what is still missing; null when nothing was typed. */
export function tankOf(draft: TankDraft): Tank | null | { missing: string } {
  if (isEmpty(draft)) return null;
  const { length_mm, width_mm, height_mm, glass_mm, water_line_mm } = draft;
  const names: [number | null, string][] = [
    [length_mm, 'length'],
    [width_mm, 'width'],
    [height_mm, 'height'],
    [glass_mm, 'glass'],
    [water_line_mm, 'water line'],
  ];
  const missing = names.filter(([value]) => value === null).map(([, name]) => name);
  if (
    length_mm === null ||
    width_mm === null ||
    height_mm === null ||
    glass_mm === null ||
    water_line_mm === null
  ) {
    return { missing: `The tank still needs its ${missing.join(', ')}.` };
  }
  const tank: Tank = { outside_mm: [length_mm, width_mm, height_mm], glass_mm, water_line_mm };
  if (draft.base_mm != null) tank.base_mm = draft.base_mm;
  if (draft.empty_mass_kg != null) tank.empty_mass_kg = draft.empty_mass_kg;
  if (draft.water_c != null) tank.water_c = draft.water_c;
  return tank;
}
