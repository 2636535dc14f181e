import { describe, expect, it } from 'vitest';
import { inSight, keyTo, layShelf, type Room, rowAt, rowOf, type Stood } from './rows';

const room: Room = { width: 300, px_mm: 1, leastSlot: 60, gap: 10, label: 40, air: 8 };

/** A seeded yard of mixed sizes. */
function seeded(n: number, seed = 7): Stood[] {
  let s = seed;
  const next = () => {
    s = (s * 1664525 + 1013904223) % 4294967296;
    return s / 4294967296;
  };
  return Array.from({ length: n }, () => ({ width_mm: 20 + 500 * next(), height_mm: 10 + 300 * next() }));
}

describe('layShelf', () => {
  it('breaks a row where the next piece would hang over', () => {
    const shelf = layShelf(
      [100, 100, 100].map((width_mm) => ({ width_mm, height_mm: 50 })),
      room,
    );
    expect(shelf.rows.map((row) => row.slots.length)).toEqual([2, 1]);
  });
  it('gives a piece wider than the shelf its own row', () => {
    const shelf = layShelf([{ width_mm: 900, height_mm: 20 }], room);
    expect(shelf.rows).toHaveLength(1);
  });
  it('lets the tallest piece of a row fit above the baseline', () => {
    const pieces = seeded(500);
    const shelf = layShelf(pieces, room);
    for (const row of shelf.rows)
      for (const slot of row.slots)
        expect(row.baseline - row.top).toBeGreaterThanOrEqual(pieces[slot.index]?.height_mm ?? 0);
  });
  it('keeps every piece once and in order', () => {
    const shelf = layShelf(seeded(777), room);
    const seen = shelf.rows.flatMap((row) => row.slots.map((slot) => slot.index));
    expect(seen).toEqual(Array.from({ length: 777 }, (_, i) => i));
  });
  it('stacks rows without gaps or overlaps', () => {
    const shelf = layShelf(seeded(200), room);
    for (let i = 1; i < shelf.rows.length; i++) expect(shelf.rows[i]?.top).toBe(shelf.rows[i - 1]?.bottom);
    expect(shelf.height).toBe(shelf.rows.at(-1)?.bottom);
  });
  it('takes nothing', () => expect(layShelf([], room)).toMatchObject({ rows: [], height: 0 }));
});

describe('what is in sight', () => {
  const shelf = layShelf(seeded(5000), room);
  it('agrees with a plain search', () => {
    for (const y of [0, 1, 999, 40_000, shelf.height - 1, shelf.height + 10]) {
      const plain = shelf.rows.findIndex((row) => row.bottom > y);
      expect(rowAt(shelf, y)).toBe(plain === -1 ? shelf.rows.length : plain);
    }
  });
  it('covers the window', () => {
    const [from, to] = inSight(shelf, 5000, 800);
    expect(shelf.rows[from]?.top).toBeLessThanOrEqual(5000);
    expect(shelf.rows[to - 1]?.bottom).toBeGreaterThanOrEqual(5800);
  });
  it('finds the row of every piece', () => {
    for (const index of [0, 1, 17, 2500, 4999])
      expect(shelf.rows[rowOf(shelf, index)]?.slots.some((slot) => slot.index === index)).toBe(true);
  });
});

describe('keyTo', () => {
  const shelf = layShelf(
    Array.from({ length: 9 }, () => ({ width_mm: 90, height_mm: 50 })),
    room,
  );
  it('goes along the row', () => expect(keyTo(shelf, 3, 'ArrowRight', 5)).toBe(4));
  it('goes to the same place in the next row', () => expect(keyTo(shelf, 1, 'ArrowDown', 5)).toBe(4));
  it('comes back up', () => expect(keyTo(shelf, 4, 'ArrowUp', 5)).toBe(1));
  it('stays on the shelf', () => {
    expect(keyTo(shelf, 0, 'ArrowLeft', 5)).toBe(0);
    expect(keyTo(shelf, 8, 'ArrowRight', 5)).toBe(8);
    expect(keyTo(shelf, 8, 'PageDown', 5)).toBe(8);
    expect(keyTo(shelf, 4, 'End', 5)).toBe(8);
  });
  it('leaves other keys alone', () => expect(keyTo(shelf, 4, 'x', 5)).toBeNull());
});
