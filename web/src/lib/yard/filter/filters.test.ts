import { describe, expect, it } from 'vitest';
import { answersOf, narrowing, noFilters, rangeTrouble, readFilters, toggled, writeFilters } from './filters';

function round(text: string): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(writeFilters(readFilters(new URLSearchParams(text)))).filter(([, v]) => v !== null),
  );
}

describe('filters in an address', () => {
  it('come back as they went', () =>
    expect(
      round('kind=stone&material=Tarnholt+clint&long_min_mm=100&price_max=12.5&sort=long&text=row+1'),
    ).toEqual({
      kind: 'stone',
      material: 'Tarnholt clint',
      long_min_mm: 100,
      price_max: 12.5,
      sort: 'long',
      text: 'row 1',
    }));
  it.each([
    'long_min_mm=',
    'long_min_mm=wide',
    'long_min_mm=-4',
    'long_min_mm=Infinity',
    'kind=iron',
    'sort=x',
  ])('forget %j', (text) => expect(round(text)).toEqual({}));
  it('leave the plain order unsaid', () => expect(round('sort=tag')).toEqual({}));
});

describe('several answers to one question', () => {
  it('join and part again', () => expect(answersOf(toggled('ready', 'held'))).toEqual(['ready', 'held']));
  it('leave one by one', () => expect(toggled('ready|held', 'ready')).toBe('held'));
  it('end in nothing asked', () => expect(toggled('held', 'held')).toBe(''));
});

describe('narrowing', () => {
  it('counts a range once', () =>
    expect(narrowing({ ...noFilters(), kind: 'wood', mass_min_kg: 1, mass_max_kg: 2 })).toBe(2));
  it('counts nothing in a fresh yard', () => expect(narrowing(noFilters())).toBe(0));
});

describe('rangeTrouble', () => {
  it('sees ends the wrong way round', () => expect(rangeTrouble(5, 4)).not.toBeNull());
  it('takes open ends', () => expect(rangeTrouble(null, 4)).toBeNull());
});
