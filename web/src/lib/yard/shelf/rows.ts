/** Where each piece stands: rows on shelves, filled from the left, one common scale. Pure arithmetic, so that
 * thousands of pieces are laid out in a few milliseconds and only those in sight are drawn. */

export interface Stood {
  /** Size as it lies, mm. */
  width_mm: number;
  height_mm: number;
}

export interface Slot {
  index: number;
  /** Left edge of the slot, px from the shelf's left. */
  left: number;
  width: number;
}

export interface Row {
  /** Top of the row and its baseline, px from the shelf's top. */
  top: number;
  baseline: number;
  /** Under the baseline: the labels. */
  bottom: number;
  first: number;
  slots: Slot[];
}

export interface Shelf {
  rows: Row[];
  height: number;
  px_mm: number;
}

export interface Room {
  width: number;
  px_mm: number;
  /** Least width of a slot, so that the tag can be read. */
  leastSlot: number;
  gap: number;
  /** Height of the labels under the baseline. */
  label: number;
  /** Air above the tallest piece of a row. */
  air: number;
}

/** Lays out all pieces; a piece wider than the shelf gets a row of its own. */
export function layShelf(pieces: readonly Stood[], room: Room): Shelf {
  const rows: Row[] = [];
  let slots: Slot[] = [];
  let x = 0;
  let tallest = 0;
  let top = 0;
  const close = () => {
    const first = slots[0];
    if (!first) return;
    const baseline = top + room.air + tallest;
    const bottom = baseline + room.label;
    rows.push({ top, baseline, bottom, first: first.index, slots });
    top = bottom;
    slots = [];
    x = 0;
    tallest = 0;
  };
  for (const [index, piece] of pieces.entries()) {
    const width = Math.max(room.leastSlot, piece.width_mm * room.px_mm);
    if (slots.length > 0 && x + width > room.width) close();
    slots.push({ index, left: x, width });
    x += width + room.gap;
    tallest = Math.max(tallest, piece.height_mm * room.px_mm);
  }
  close();
  return { rows, height: top, px_mm: room.px_mm };
}

/** The first row whose bottom lies below y. */
export function rowAt(shelf: Shelf, y: number): number {
  let low = 0;
  let high = shelf.rows.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if ((shelf.rows[mid]?.bottom ?? 0) <= y) low = mid + 1;
    else high = mid;
  }
  return low;
}

/** Rows [from, to) that a window of the shelf shows, with `over` px drawn ahead on both sides. */
export function inSight(shelf: Shelf, y: number, height: number, over = 0): [number, number] {
  const from = rowAt(shelf, y - over);
  let to = from;
  while (to < shelf.rows.length && (shelf.rows[to]?.top ?? 0) < y + height + over) to += 1;
  return [from, to];
}

/** Which row a piece stands in. */
export function rowOf(shelf: Shelf, index: number): number {
  let low = 0;
  let high = shelf.rows.length - 1;
  while (low < high) {
    const mid = (low + high + 1) >> 1;
    if ((shelf.rows[mid]?.first ?? 0) <= index) low = mid;
    else high = mid - 1;
  }
  return low;
}

/** The piece in the row above or below whose middle is nearest to this one's. */
function across(shelf: Shelf, index: number, rows: number): number {
  const at = rowOf(shelf, index);
  const target = shelf.rows[Math.min(shelf.rows.length - 1, Math.max(0, at + rows))];
  const slot = shelf.rows[at]?.slots.find((one) => one.index === index);
  if (!target || !slot || target === shelf.rows[at]) return index;
  const middle = slot.left + slot.width / 2;
  let best = index;
  let least = Number.POSITIVE_INFINITY;
  for (const other of target.slots) {
    const away = Math.abs(other.left + other.width / 2 - middle);
    if (away < least) {
      least = away;
      best = other.index;
    }
  }
  return best;
}

/** Where a key leads from a piece; null when the key isn't a movement. */
export function keyTo(shelf: Shelf, index: number, key: string, page: number): number | null {
  const last = (shelf.rows.at(-1)?.slots.at(-1)?.index ?? 0) as number;
  switch (key) {
    case 'ArrowLeft':
      return Math.max(0, index - 1);
    case 'ArrowRight':
      return Math.min(last, index + 1);
    case 'ArrowUp':
      return across(shelf, index, -1);
    case 'ArrowDown':
      return across(shelf, index, 1);
    case 'PageUp':
      return across(shelf, index, -page);
    case 'PageDown':
      return across(shelf, index, page);
    case 'Home':
      return 0;
    case 'End':
      return last;
    default:
      return null;
  }
}
