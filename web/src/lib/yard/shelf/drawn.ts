/** A card's outline as a path, made once and kept with the card. */
import type { PieceCard, Vec2 } from '$lib/api/types';
import { extent, pathOf } from '$lib/yard/outline';
import { stateKey } from '$lib/yard/words';

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

/** How the server takes a piece's picture: from the front and somewhat above, eye at 1.5 up for 4 away, with a quarter
 * more room all round and more below for the shadow. */
const TILT = Math.atan2(1.5, 4);
const ROOM = 1.25;
const BELOW = 0.35;

/** Pieces that are in preparation or sold are drawn, not pictured: their form says so. */
export function isPictured(piece: PieceCard): boolean {
  const state = stateKey(piece.state);
  return piece.has_picture && state !== 'sold' && state !== 'in_preparation';
}

export interface Pictured {
  /** Size of the whole picture at the piece's own scale, mm. */
  width_mm: number;
  height_mm: number;
  /** From the picture's middle down to where the piece meets the shelf, mm. */
  down_mm: number;
  /** The piece itself in the picture, from the shelf to its top, mm. */
  seen_mm: number;
}

/** Where the piece stands in its picture, from the picture's own proportions. */
export function picturedAs(drawn: Drawn, aspect: number): Pictured {
  const { width_mm, height_mm } = drawn;
  const depth_mm = Math.max(0, (aspect * width_mm - height_mm) / BELOW);
  // A round piece meets the shelf behind the front edge of its box: about three quarters of the way out.
  const down_mm = (height_mm * Math.cos(TILT)) / 2 + 0.75 * ((depth_mm * Math.sin(TILT)) / 2);
  const up_mm = (height_mm * Math.cos(TILT)) / 2 + 0.5 * ((depth_mm * Math.sin(TILT)) / 2);
  return {
    width_mm: ROOM * width_mm,
    height_mm: ROOM * width_mm * aspect,
    down_mm,
    seen_mm: down_mm + up_mm,
  };
}

/** The room that a piece takes on the shelf, whichever way it is shown. */
export function stoodOf(piece: PieceCard): Drawn {
  const drawn = drawnOf(piece);
  if (!isPictured(piece)) return drawn;
  const aspect = (drawn.height_mm + BELOW * piece.as_laid_mm.depth) / Math.max(1, drawn.width_mm);
  return { ...drawn, height_mm: picturedAs(drawn, aspect).seen_mm };
}
