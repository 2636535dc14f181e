/** The nouns that the bench works with: the API's, and what follows from a tank by its definition. */
import type {
  Bed,
  Composition,
  Held,
  Layout,
  Piece,
  PlacedPiece,
  Plant,
  Quaternion,
  Tank,
  Vec2,
  Vec3,
} from '$lib/api/types';

export type {
  Bed,
  Caution,
  Certainty,
  Composition,
  Figure,
  Finding,
  Ground,
  Layout,
  LetDown,
  PieceCard,
  Placed,
  Plant,
  Reckoning,
  Tank,
} from '$lib/api/types';
export type Xy = Vec2;
export type Xyz = Vec3;
/** [w, x, y, z] with w ≥ 0; takes piece axes into tank axes. */
export type Turn = Quaternion;
export type Pose = Held;
export type Material = Composition['material'][number];
export type BedPoint = Bed['points'][number];
export type ComposedPiece = PlacedPiece;
export type PieceDetail = Piece;
export type RevisionCard = Layout['revisions'][number];
export type PlantForm = Plant['form'];

export const PLANT_FORMS: readonly PlantForm[] = ['rosette', 'stem', 'carpet', 'fern', 'moss'];

/** Thickness of the base pane: as stated, else the glass's. */
export function baseMm(tank: Tank): number {
  return tank.base_mm ?? tank.glass_mm;
}

/** Inside length, width and height of a tank. */
export function insideMm(tank: Tank): Xyz {
  const [l, w, h] = tank.outside_mm;
  return [l - 2 * tank.glass_mm, w - 2 * tank.glass_mm, h - baseMm(tank)];
}
