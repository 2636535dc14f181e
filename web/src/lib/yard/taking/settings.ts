/** What must be known of a scan before it can be taken in: common to all files, or different for one. */
import type { Kind, Money } from '$lib/api/types';
import { endingOf, knowsItsUnit } from './pairing';

export const UNITS = ['mm', 'cm', 'm', 'in'] as const;
export type ScanUnit = (typeof UNITS)[number];

export interface Settings {
  kind: Kind;
  material: string;
  density_kg_m3: number | null;
  unit: ScanUnit;
  up: 'z' | 'y';
  place: string;
  state: string;
}

export interface Own extends Partial<Settings> {
  mass_kg?: number | null;
  price?: Money | null;
  notes?: string;
}

/** A density to begin with. Limestone and sandstone 2600, waterlogged wood 1000: common practice, no source. The
 * figure stays marked as assumed until a person weighs the piece or puts in a better one. */
export const USUAL_DENSITY: Record<Kind, number> = { stone: 2600, wood: 1000 };

export function startingSettings(): Settings {
  return {
    kind: 'stone',
    material: '',
    density_kg_m3: null,
    unit: 'mm',
    up: 'z',
    place: '',
    state: 'in_preparation',
  };
}

/** STL and PLY from scanners mostly stand upright in z, OBJ in y; common practice, no source. Shown, and changeable. */
export function likelyUp(name: string): 'z' | 'y' {
  return endingOf(name) === 'obj' ? 'y' : 'z';
}

export function settingsFor(common: Settings, own: Own): Settings & Own {
  const merged: Settings & Own = { ...common };
  for (const [key, value] of Object.entries(own))
    if (value !== undefined) Object.assign(merged, { [key]: value });
  return merged;
}

/** What is still missing, by field, in words. */
export function missing(settings: Settings): Partial<Record<keyof Settings, string>> {
  const trouble: Partial<Record<keyof Settings, string>> = {};
  if (settings.material.trim() === '') trouble.material = 'Say what it is made of.';
  if (settings.place.trim() === '') trouble.place = 'Say where it lies, or nobody finds it again.';
  return trouble;
}

/** What the server is sent once the files are there. */
export function bodyOf(
  name: string,
  settings: Settings & Own,
  scan: number,
  photographs: number[],
): Record<string, unknown> {
  const body: Record<string, unknown> = {
    kind: settings.kind,
    material: settings.material.trim(),
    density_kg_m3: settings.density_kg_m3 ?? USUAL_DENSITY[settings.kind],
    unit: knowsItsUnit(name) ? null : settings.unit,
    up: knowsItsUnit(name) ? 'y' : settings.up,
    place: settings.place.trim(),
    state: settings.state,
    scan,
    photographs,
  };
  if (settings.mass_kg !== undefined && settings.mass_kg !== null) body.mass_kg = settings.mass_kg;
  if (settings.price) body.price = settings.price;
  if (settings.notes?.trim()) body.notes = settings.notes.trim();
  return body;
}
