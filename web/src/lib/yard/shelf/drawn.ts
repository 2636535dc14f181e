/** A card's outline as a path, made once and kept with the card. */
import type { PieceCard, Vec2 } from '$lib/api/types';
import { extent, pathOf } from '$lib/yard/outline';

export interface Drawn {
  width_mm: number;
  height_mm: number;
  path: string;
}

const kept = new WeakMap<PieceCard, Drawn>();

/** A piece whose outline is missing is drawn as the box that it lies in. */
function boxOf(piece: PieceCard): Vec2[] {
  const { width, height } = piece.as_laid_mm;
  return [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ];
}

export function drawnOf(piece: PieceCard): Drawn {
  const old = kept.get(piece);
  if (old) return old;
  const outline = piece.outline.length >= 3 ? piece.outline : boxOf(piece);
  const box = extent(outline);
  const moved = outline.map(([x, z]): Vec2 => [x - box.left, z - box.low]);
  const drawn = { width_mm: box.right - box.left, height_mm: box.high - box.low, path: pathOf(moved) };
  kept.set(piece, drawn);
  return drawn;
}
