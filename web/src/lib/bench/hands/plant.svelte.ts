/** Planting, moving and choosing plants with the pointer. */
import type { Bench } from '../bench.svelte';
import type { Eye } from '../eye.svelte';
import type { Plant, Xy } from '../model';
import type { Drag } from './dragging';

export function clickPlant(bench: Bench, eye: Eye, x: number, y: number): boolean {
  const there = eye.world?.pickPlant(x, y);
  if (there !== null && there !== undefined) {
    bench.chosenPlant = there;
    return true;
  }
  const hit = eye.world?.place(x, y);
  if (!hit) return false;
  plantAt(bench, [hit.point[0], hit.point[1]]);
  return true;
}

export function plantAt(bench: Bench, at: Xy): void {
  const [l, w] = bench.inside;
  const at_mm: Xy = [Math.max(0, Math.min(l, at[0])), Math.max(0, Math.min(w, at[1]))];
  const plant: Plant = { ...bench.seedling, name: freeName(bench), at_mm };
  bench.edit({ do: 'plant', plant });
  bench.chosenPlant = (bench.composition.plant?.length ?? 1) - 1;
  bench.say(`${plant.name} planted`);
}

/** Plants of one kind are told apart by a number. */
function freeName(bench: Bench): string {
  const taken = new Set((bench.composition.plant ?? []).map((p) => p.name));
  const base = bench.seedling.name.trim() || bench.seedling.form;
  if (!taken.has(base)) return base;
  let n = 2;
  while (taken.has(`${base} ${n}`)) n += 1;
  return `${base} ${n}`;
}

export function dragPlant(bench: Bench, eye: Eye, x: number, y: number): Drag | null {
  const index = eye.world?.pickPlant(x, y);
  if (index === null || index === undefined) return null;
  const plant = bench.composition.plant[index];
  if (!plant) return null;
  let at: Xy | null = null;
  return {
    move(px, py) {
      const hit = eye.world?.place(px, py);
      if (!hit) return;
      at = [hit.point[0], hit.point[1]];
      eye.world?.carryPlant(index, hit.point);
    },
    end(moved, e) {
      bench.chosenPlant = index;
      if (moved && e && at)
        bench.edit({ do: 'plant-change', index, name: plant.name, change: { at_mm: at } });
      else if (moved) eye.world?.carryPlant(index, null);
    },
  };
}
