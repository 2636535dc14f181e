/** What stands beneath a piece on the shelf: the one measure that the order asks for. */
import type { PieceCard, Units } from '$lib/api/types';
import { printLength, printMass, printMoney } from '$lib/units/print';
import type { Sort } from '$lib/yard/filter/filters';
import { stateKey, stateWords } from '$lib/yard/words';

const MARK = { measured: '', estimated: '≈\u2009', assumed: '?\u2009' };

export function measureOf(piece: PieceCard, sort: Sort, units: Units): string {
  if (sort === 'mass') return `${MARK[piece.mass_certainty]}${printMass(piece.mass_kg, units)}`;
  if (sort === 'price')
    return piece.price ? printMoney(piece.price.amount, piece.price.currency) : 'no price';
  return long(piece, units);
}

/** Whole millimetres: a tape shows no more. */
function long(piece: PieceCard, units: Units): string {
  const mm = piece.size_mm.long;
  return printLength(units === 'metric' ? Math.round(mm) : mm, units);
}

/** The word under a piece that isn't simply ready. */
export function stateWord(piece: PieceCard): string {
  return stateKey(piece.state) === 'ready' ? '' : stateWords(piece.state);
}

/** The whole of it, for ears. */
export function spoken(piece: PieceCard, units: Units): string {
  const parts = [
    piece.tag,
    piece.material,
    `${long(piece, units)} long`,
    printMass(piece.mass_kg, units),
    piece.price ? printMoney(piece.price.amount, piece.price.currency) : 'no price',
    stateWords(piece.state),
    piece.place,
  ];
  return parts.filter((part) => part !== '').join(', ');
}
