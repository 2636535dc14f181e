/** Editing one field of a piece while others may edit it too: what to do when somebody was quicker. */
import type { Money, Piece } from '$lib/api/types';

export interface Editable {
  state: string;
  place: string;
  price: Money | null;
  mass_kg: number;
  material: string;
  density_kg_m3: number;
  notes: string;
}
export type Field = keyof Editable;

export type Outcome =
  /** Somebody changed something else: send ours again on top of theirs. */
  | { kind: 'again'; also: Field[] }
  /** Somebody changed the same thing to the same value: nothing is left to do. */
  | { kind: 'agreed' }
  /** Somebody changed the same thing to another value: a person must choose. */
  | { kind: 'choose'; theirs: unknown };

const FIELDS: Field[] = ['state', 'place', 'price', 'mass_kg', 'material', 'density_kg_m3', 'notes'];

function same(a: unknown, b: unknown): boolean {
  return JSON.stringify(a ?? null) === JSON.stringify(b ?? null);
}

/** `base` is what the person saw, `current` what is true now, `mine` what the person wants. */
export function whenStale(base: Editable, current: Editable, field: Field, mine: unknown): Outcome {
  if (same(current[field], mine)) return { kind: 'agreed' };
  if (!same(base[field], current[field])) return { kind: 'choose', theirs: current[field] };
  return { kind: 'again', also: FIELDS.filter((key) => !same(base[key], current[key])) };
}

export const FIELD_WORDS: Record<Field, string> = {
  state: 'state',
  place: 'place',
  price: 'price',
  mass_kg: 'mass',
  material: 'material',
  density_kg_m3: 'density',
  notes: 'notes',
};

export function editableOf(piece: Piece): Editable {
  const { state, place, price, mass_kg, material, density_kg_m3, notes } = piece;
  return { state, place, price, mass_kg, material, density_kg_m3, notes };
}
