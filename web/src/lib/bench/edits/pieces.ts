// Edits of one piece: placing, moving, turning, tipping, burying, lifting, removing.

import type { ComposedPiece, Composition, Xyz } from '../model';
import { aboutVertical, compose, normal, wrapped_deg } from '../turns';
import { type PieceEdit, pieceIndex, replaced, tenth, tenths, without } from './kinds';

export function applyToPieces(c: Composition, e: PieceEdit): Composition {
  if (e.do === 'place') return { ...c, piece: [...c.piece.filter((p) => p.tag !== e.tag), fresh(e)] };
  const i = pieceIndex(c.piece, e.tag);
  if (e.do === 'remove') return { ...c, piece: without(c.piece, i) };
  if (e.do === 'order') return { ...c, piece: reordered(c.piece, i, e.to) };
  return { ...c, piece: replaced(c.piece, i, (p) => changed(p, e)) };
}

export function pieceLabel(e: PieceEdit): string {
  switch (e.do) {
    case 'place':
      return `Place ${e.tag}`;
    case 'move':
      return `Move ${e.tag}`;
    case 'turn':
      return `Turn ${e.tag}`;
    case 'pose':
      return `Lay ${e.tag} on side ${e.pose}`;
    case 'tip':
      return `Tip ${e.tag}`;
    case 'bury':
      return `Bury ${e.tag}`;
    case 'lift':
      return `Lift ${e.tag}`;
    case 'release':
      return `Let ${e.tag} down`;
    case 'order':
      return `Change the order of ${e.tag}`;
    case 'remove':
      return `Remove ${e.tag}`;
  }
}

function fresh(e: Extract<PieceEdit, { do: 'place' }>): ComposedPiece {
  return {
    tag: e.tag,
    at_mm: tenths(e.at_mm),
    turn_deg: wrapped_deg(e.turn_deg ?? 0),
    pose: e.pose ?? 1,
    bury_mm: 0,
    lift_mm: 0,
  };
}

function changed(
  p: ComposedPiece,
  e: Exclude<PieceEdit, { do: 'place' | 'remove' | 'order' }>,
): ComposedPiece {
  switch (e.do) {
    case 'move':
      return { ...released(p), at_mm: tenths(e.at_mm) };
    case 'turn':
      return turned(p, e.turn_deg);
    case 'pose':
      return { ...stripped(p), pose: e.pose };
    case 'tip':
      return { ...stripped(p), quaternion: normal(e.quaternion), turn_deg: 0 };
    case 'bury':
      return raised(p, Math.max(0, e.bury_mm), e.bury_mm > 0 ? 0 : p.lift_mm);
    case 'lift':
      return raised(p, e.lift_mm > 0 ? 0 : p.bury_mm, Math.max(0, e.lift_mm));
    case 'release':
      return released(p);
  }
}

/** A held piece that is moved is let down anew, lying as it was held. */
export function released(p: ComposedPiece): ComposedPiece {
  if (!p.held) return p;
  return { ...stripped(p), quaternion: normal(p.held.quaternion), turn_deg: 0, bury_mm: 0, lift_mm: 0 };
}

function stripped(p: ComposedPiece): ComposedPiece {
  const { held: _held, quaternion: _quaternion, pose: _pose, ...rest } = p;
  return rest;
}

function turned(p: ComposedPiece, turn_deg: number): ComposedPiece {
  if (!p.held) return { ...p, turn_deg: tenth(wrapped_deg(turn_deg)) };
  const by = wrapped_deg(turn_deg - (p.turn_deg ?? 0));
  return { ...released(p), quaternion: compose(aboutVertical(by), p.held.quaternion), turn_deg: 0 };
}

/** Buried or lifted, never both. A held piece keeps its turn and goes up or down by the difference. */
function raised(p: ComposedPiece, bury: number | undefined, lift: number | undefined): ComposedPiece {
  const out = { ...p, bury_mm: tenth(bury ?? 0), lift_mm: tenth(lift ?? 0) };
  if (!p.held) return out;
  const up_mm = out.lift_mm - out.bury_mm - ((p.lift_mm ?? 0) - (p.bury_mm ?? 0));
  const [x, y, z] = p.held.centre_mm;
  const centre_mm: Xyz = [x, y, tenth(z + up_mm)];
  return { ...out, held: { ...p.held, centre_mm } };
}

function reordered(list: readonly ComposedPiece[], from: number, to: number): ComposedPiece[] {
  const rest = without(list, from);
  const piece = list[from];
  if (!piece) return rest;
  const at = Math.max(0, Math.min(rest.length, to));
  return [...rest.slice(0, at), piece, ...rest.slice(at)];
}
