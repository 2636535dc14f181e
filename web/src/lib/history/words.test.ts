import { describe, expect, it } from 'vitest';
import { changes, eventWords } from './words';

const event = { id: 1, what: 'piece.changed', at_ms: 0, who: 'demo' };

describe('an event in words', () => {
  it('says the verb', () => expect(eventWords({ ...event, what: 'piece.taken_in' })).toBe('Taken in'));
  it('takes the server’s words', () =>
    expect(eventWords({ ...event, deed: 'weighed it' })).toBe('Weighed it'));
  it('says short values', () =>
    expect(
      changes({
        ...event,
        before: { state: 'in_preparation', version: 1 },
        after: { state: 'ready', version: 2 },
      }),
    ).toEqual(['State: in preparation → ready']));
  it('only names long ones', () =>
    expect(changes({ ...event, before: { tank: null }, after: { tank: { glass_mm: 8 } } })).toEqual([
      'Tank',
    ]));
  it('says money', () =>
    expect(
      changes({ ...event, before: { price: null }, after: { price: { amount: 12, currency: 'EUR' } } }),
    ).toEqual(['Price: none → 12 EUR']));
});
