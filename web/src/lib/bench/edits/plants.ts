// Edits of plants. A plant has no tag, so an edit names its place in the list and its name.

import type { Composition } from '../model';
import { Gone, type PlantEdit, replaced, tenth, tenths, without } from './kinds';

export function applyToPlants(c: Composition, e: PlantEdit): Composition {
  const plants = c.plant ?? [];
  if (e.do === 'plant') return { ...c, plant: [...plants, { ...e.plant, at_mm: tenths(e.plant.at_mm) }] };
  if (plants[e.index]?.name !== e.name) throw new Gone(e.name);
  if (e.do === 'plant-remove') return { ...c, plant: without(plants, e.index) };
  const change = { ...e.change };
  if (change.at_mm) change.at_mm = tenths(change.at_mm);
  if (change.height_mm !== undefined) change.height_mm = tenth(change.height_mm);
  if (change.spread_mm !== undefined) change.spread_mm = tenth(change.spread_mm);
  return { ...c, plant: replaced(plants, e.index, (p) => ({ ...p, ...change })) };
}

export function plantLabel(e: PlantEdit): string {
  if (e.do === 'plant') return `Plant ${e.plant.name}`;
  if (e.do === 'plant-remove') return `Remove ${e.name}`;
  return e.change.at_mm ? `Move ${e.name}` : `Change ${e.name}`;
}
