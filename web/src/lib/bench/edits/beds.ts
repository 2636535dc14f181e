// Edits of the ground's beds: height points, region, material.

import type { Bed, BedPoint, Composition } from '../model';
import { type BedEdit, Gone, replaced, tenths, without } from './kinds';

export function applyToBeds(c: Composition, e: BedEdit): Composition {
  if (e.do === 'bed-add') return added(c, e);
  if (!c.bed[e.bed]) throw new Gone('That bed');
  if (e.do === 'bed-remove') return removed(c, e.bed);
  return { ...c, bed: replaced(c.bed, e.bed, (b) => changed(b, e)) };
}

export function bedLabel(e: BedEdit): string {
  switch (e.do) {
    case 'bed-add':
      return `Lay ${e.bed.material}`;
    case 'bed-point':
      return 'Shape the ground';
    case 'bed-point-add':
      return 'Add a height to the ground';
    case 'bed-point-remove':
      return 'Remove a height from the ground';
    case 'bed-region':
      return 'Draw where the bed lies';
    case 'bed-by':
      return e.by === 'top' ? 'State the bed by its top' : 'State the bed by its thickness';
    case 'bed-remove':
      return 'Remove a bed';
  }
}

function added(c: Composition, e: Extract<BedEdit, { do: 'bed-add' }>): Composition {
  const known = c.material.some((m) => m.name === e.material.name);
  return { ...c, material: known ? c.material : [...c.material, e.material], bed: [...c.bed, e.bed] };
}

/** Takes the bed away, and its material when no other bed uses it. */
function removed(c: Composition, index: number): Composition {
  const name = c.bed[index]?.material;
  const bed = without(c.bed, index);
  const used = bed.some((b) => b.material === name);
  return { ...c, bed, material: used ? c.material : c.material.filter((m) => m.name !== name) };
}

function changed(b: Bed, e: Exclude<BedEdit, { do: 'bed-add' | 'bed-remove' }>): Bed {
  switch (e.do) {
    case 'bed-point':
      if (!b.points[e.point]) throw new Gone('That height');
      return { ...b, points: replaced(b.points, e.point, () => laid(e.to)) };
    case 'bed-point-add':
      return { ...b, points: [...b.points, laid(e.to)] };
    case 'bed-point-remove':
      if (b.points.length <= 1) throw new Gone('The last height of a bed stays; remove the bed instead: it');
      return { ...b, points: without(b.points, e.point) };
    case 'bed-region':
      return { ...b, region: e.region === 'all' ? 'all' : e.region.map((p) => tenths(p)) };
    case 'bed-by':
      return { ...b, by: e.by, points: b.points.map((p, i) => laid([p[0], p[1], e.values[i] ?? p[2]])) };
  }
}

function laid(p: BedPoint): BedPoint {
  const [x, y, v] = tenths(p);
  return [x, y, Math.max(0, v)];
}
