import { describe, expect, it } from 'vitest';
import { type Editable, whenStale } from './edit';

const base: Editable = {
  state: 'ready',
  place: 'shelf A',
  price: { amount: 12, currency: 'EUR' },
  mass_kg: 2,
  material: 'Tarnholt clint',
  density_kg_m3: 2620,
  notes: '',
};

describe('whenStale', () => {
  it('goes on when somebody changed something else', () =>
    expect(whenStale(base, { ...base, notes: 'chipped' }, 'place', 'shelf B')).toEqual({
      kind: 'again',
      also: ['notes'],
    }));
  it('asks when somebody changed the same thing', () =>
    expect(whenStale(base, { ...base, place: 'shelf C' }, 'place', 'shelf B')).toEqual({
      kind: 'choose',
      theirs: 'shelf C',
    }));
  it('rests when both meant the same', () =>
    expect(whenStale(base, { ...base, place: 'shelf B' }, 'place', 'shelf B')).toEqual({ kind: 'agreed' }));
  it('compares money by its worth', () =>
    expect(
      whenStale(base, { ...base, price: { amount: 12, currency: 'EUR' } }, 'price', {
        amount: 14,
        currency: 'EUR',
      }),
    ).toMatchObject({ kind: 'again' }));
});
