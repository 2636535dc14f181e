// What an edit is: plain data, so that a queue of them survives a reload, and pure functions that carry it out.

import type { Bed, BedPoint, ComposedPiece, Material, Plant, Pose, Tank, Turn, Xy } from '../model';

export type PieceEdit =
  | { do: 'place'; tag: string; at_mm: Xy; turn_deg?: number; pose?: number }
  | { do: 'move'; tag: string; at_mm: Xy }
  | { do: 'turn'; tag: string; turn_deg: number }
  | { do: 'pose'; tag: string; pose: number }
  | { do: 'tip'; tag: string; quaternion: Turn }
  | { do: 'bury'; tag: string; bury_mm: number }
  | { do: 'lift'; tag: string; lift_mm: number }
  | { do: 'release'; tag: string }
  | { do: 'order'; tag: string; to: number }
  | { do: 'remove'; tag: string };

export type KeepEdit = { do: 'keep'; poses: { tag: string; pose: Pose; at_mm: Xy }[] };

export type PlantEdit =
  | { do: 'plant'; plant: Plant }
  | { do: 'plant-change'; index: number; name: string; change: Partial<Plant> }
  | { do: 'plant-remove'; index: number; name: string };

export type BedEdit =
  | { do: 'bed-add'; material: Material; bed: Bed }
  | { do: 'bed-point'; bed: number; point: number; to: BedPoint }
  | { do: 'bed-point-add'; bed: number; to: BedPoint }
  | { do: 'bed-point-remove'; bed: number; point: number }
  | { do: 'bed-region'; bed: number; region: 'all' | Xy[] }
  | { do: 'bed-by'; bed: number; by: 'thickness' | 'top'; values: number[] }
  | { do: 'bed-remove'; bed: number };

export type TankEdit = { do: 'tank'; change: Partial<Tank> };
export type TitleEdit = { do: 'title'; title: string };

export type Edit = PieceEdit | KeepEdit | PlantEdit | BedEdit | TankEdit | TitleEdit;

/** Why an edit can't be carried out on this composition. */
export class Gone extends Error {
  constructor(readonly what: string) {
    super(`${what} is no longer in this layout`);
  }
}

export type Changed<T> = (old: T) => T;

/** The list with one element changed. */
export function replaced<T>(list: readonly T[], index: number, change: Changed<T>): T[] {
  return list.map((v, i) => (i === index ? change(v) : v));
}

export function without<T>(list: readonly T[], index: number): T[] {
  return list.filter((_, i) => i !== index);
}

/** To a tenth of a millimetre: finer than anybody places a stone, and short in a file. */
export function tenth(v: number): number {
  const r = Math.round(v * 10) / 10;
  return Object.is(r, -0) ? 0 : r;
}

export function tenths<T extends number[]>(v: T): T {
  return v.map(tenth) as T;
}

export function pieceIndex(list: readonly ComposedPiece[], tag: string): number {
  const i = list.findIndex((p) => p.tag === tag);
  if (i < 0) throw new Gone(tag);
  return i;
}
