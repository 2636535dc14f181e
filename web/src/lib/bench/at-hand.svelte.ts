/** What the builder has in hand: tool, view, what is chosen and what is being drawn. Nothing of it is kept. */
import type { Ground } from '$lib/api/types';
import type { BedPoint, Plant, Xy, Xyz } from './model';
import type { View } from './scene/rig';
import { SEEDLINGS } from './seedlings';

export type Tool = 'compose' | 'ground' | 'plant' | 'ruler';

export class AtHand {
  chosen = $state<string | null>(null);
  chosenPlant = $state<number | null>(null);
  over = $state<string | null>(null);
  tool = $state<Tool>('compose');
  view = $state<View>('free');
  dimensions = $state(false);
  snapping = $state(true);
  /** What a screen reader hears. */
  heard = $state('');
  /** The chosen piece is turned freely, by a ball round it. */
  tipping = $state(false);
  /** A motion is being played back. */
  playing = $state(false);
  /** Places that the ruler measures between. */
  ruler = $state.raw<Xyz[]>([]);
  /** The ground while a height is being drawn up or down. */
  groundPreview = $state.raw<Ground | null>(null);
  /** The kind of plant that a click plants. */
  seedling = $state<Omit<Plant, 'at_mm'>>({ ...SEEDLINGS.rosette });
  /** Corners of a region that is being drawn. */
  drawing = $state.raw<Xy[] | null>(null);
  /** A height or a region that is being dragged. */
  bedDrag = $state.raw<{ bed: number; point: number; at: BedPoint } | null>(null);
  regionDrag = $state.raw<{ bed: number; region: Xy[] } | null>(null);
  /** A click on the ground adds a height. */
  addingPoint = $state(false);
  /** The bed that is being shaped, and its height point. */
  bed = $state(0);
  bedPoint = $state<number | null>(null);
}
