import { describe, expect, it } from 'vitest';
import type { PieceCard } from '$lib/api/types';
import { measureOf, spoken, stateWord } from './caption';
import { drawnOf, isPictured, picturedAs, stoodOf } from './drawn';

const piece: PieceCard = {
  tag: 'S-0148',
  kind: 'stone',
  material: 'Tarnholt clint',
  state: 'held',
  place: 'shelf A, row 1',
  grade: null,
  size_mm: { long: 210, mid: 150, short: 90 },
  as_laid_mm: { width: 205, depth: 150, height: 95 },
  mass_kg: 5.3,
  mass_certainty: 'estimated',
  price: null,
  colour: '#808080',
  outline: [],
  has_picture: false,
  version: 1,
};

describe('the caption', () => {
  it('says the length in plain order', () => expect(measureOf(piece, 'tag', 'metric')).toBe('210\u00a0mm'));
  it('marks an estimated mass', () => expect(measureOf(piece, 'mass', 'metric')).toMatch(/^≈/));
  it('says when there is no price', () => expect(measureOf(piece, 'price', 'metric')).toBe('no price'));
  it('names a state that matters', () => expect(stateWord(piece)).toBe('held'));
  it('is silent about ready pieces', () => expect(stateWord({ ...piece, state: 'ready' })).toBe(''));
  it('speaks of the whole piece', () => expect(spoken(piece, 'metric')).toContain('held, shelf A, row 1'));
});

describe('the drawing', () => {
  it('is the box as laid when there is no outline', () =>
    expect(drawnOf(piece)).toMatchObject({ width_mm: 205, height_mm: 95 }));
  it('starts at nought wherever the outline lay', () =>
    expect(
      drawnOf({
        ...piece,
        outline: [
          [10, 5],
          [30, 5],
          [20, 25],
        ],
      }),
    ).toEqual({ width_mm: 20, height_mm: 20, path: 'M0 0L20 0L10 -20Z' }));
});

describe('the picture', () => {
  const drawn = { width_mm: 200, height_mm: 100, path: '' };
  it('holds the whole piece', () => {
    // 120 mm deep: the server's picture is (100 + 0.35 · 120) / 200 as tall as it is wide.
    const seen = picturedAs(drawn, (100 + 0.35 * 120) / 200);
    expect(seen.width_mm).toBe(250);
    expect(seen.down_mm).toBeLessThan(seen.height_mm / 2);
    expect(seen.seen_mm).toBeGreaterThan(100);
    expect(seen.seen_mm).toBeLessThan(seen.height_mm);
  });
  it('of a thin slab shows hardly more than its height', () =>
    expect(picturedAs(drawn, 0.5).seen_mm).toBeCloseTo(100 * Math.cos(Math.atan2(1.5, 4)), 6));
  it('is not shown of pieces that are drawn by their state', () => {
    expect(isPictured({ ...piece, has_picture: true, state: 'sold' })).toBe(false);
    expect(isPictured({ ...piece, has_picture: true, state: 'in_preparation' })).toBe(false);
    expect(isPictured({ ...piece, has_picture: true })).toBe(true);
  });
  it('takes more room on the shelf than the outline', () =>
    expect(stoodOf({ ...piece, has_picture: true }).height_mm).toBeGreaterThan(drawnOf(piece).height_mm));
});
