// Composition and edit in, composition and a plain label out.

import type { Composition } from '../model';
import { same } from '../same';
import { applyToBeds, bedLabel } from './beds';
import { applyKeep, keepLabel } from './keep';
import type { BedEdit, Edit, PlantEdit } from './kinds';
import { applyToPieces, pieceLabel } from './pieces';
import { applyToPlants, plantLabel } from './plants';

export type { BedEdit, Edit, KeepEdit, PieceEdit, PlantEdit } from './kinds';
export { Gone } from './kinds';

/** Carries an edit out. Throws `Gone` when what it speaks of is no longer there. */
export function applied(c: Composition, e: Edit): Composition {
  if (e.do === 'keep') return applyKeep(c, e);
  if (e.do === 'title') return { ...c, title: e.title };
  if (e.do === 'tank') return { ...c, tank: { ...c.tank, ...e.change } };
  if (isPlant(e)) return applyToPlants(c, e);
  if (isBed(e)) return applyToBeds(c, e);
  return applyToPieces(c, e);
}

/** What the undo button calls it. */
export function labelled(e: Edit): string {
  if (e.do === 'keep') return keepLabel(e);
  if (e.do === 'title') return 'Rename the layout';
  if (e.do === 'tank') return 'Change the tank';
  if (isPlant(e)) return plantLabel(e);
  if (isBed(e)) return bedLabel(e);
  return pieceLabel(e);
}

/** Two edits in a row that are one step to a person, such as two nudges: the second alone says all. */
export function merged(a: Edit, b: Edit): Edit | null {
  if (a.do !== b.do) return null;
  if ('tag' in a && 'tag' in b && a.tag === b.tag) {
    return a.do === 'move' || a.do === 'turn' || a.do === 'bury' || a.do === 'lift' || a.do === 'tip'
      ? b
      : null;
  }
  if (a.do === 'bed-point' && b.do === 'bed-point') return a.bed === b.bed && a.point === b.point ? b : null;
  if (a.do === 'plant-change' && b.do === 'plant-change' && a.index === b.index && a.name === b.name) {
    return { ...b, change: { ...a.change, ...b.change } };
  }
  return null;
}

/** Tags of the pieces that an edit moves. */
export function touched(e: Edit): string[] {
  if (e.do === 'keep') return e.poses.map((p) => p.tag);
  return 'tag' in e ? [e.tag] : [];
}

function isPlant(e: Edit): e is PlantEdit {
  return e.do.startsWith('plant');
}

function isBed(e: Edit): e is BedEdit {
  return e.do.startsWith('bed-');
}

/** Whether an edit has been carried out already: it may have arrived although its answer was lost. */
export function alreadyDone(c: Composition, e: Edit): boolean {
  if (e.do === 'plant') {
    const [plant] = applied({ ...c, plant: [] }, e).plant;
    return (c.plant ?? []).some((p) => same(p, plant));
  }
  if (e.do === 'bed-add') return c.bed.some((b) => same(b, e.bed));
  if (e.do === 'bed-point-add') return c.bed[e.bed]?.points.some((p) => same(p, e.to)) ?? true;
  try {
    return same(c, applied(c, e));
  } catch {
    return true;
  }
}
