import { describe, expect, it } from 'vitest';
import { type PieceEvent, sentence, when } from './history';

function event(what: string, before: unknown, after: unknown, deed?: string): PieceEvent {
  return { id: 1, what, at_ms: 0, who: 'Ilse', before, after, deed };
}

describe('sentence', () => {
  it('tells of a move', () =>
    expect(sentence(event('piece.changed', { place: 'shelf A' }, { place: 'shelf B' }), 'metric')).toBe(
      'Ilse moved it from shelf A to shelf B.',
    ));
  it('joins two changes', () =>
    expect(
      sentence(
        event(
          'piece.changed',
          { state: 'in_preparation', price: null },
          { state: 'ready', price: { amount: 12, currency: 'EUR' } },
        ),
        'metric',
      ),
    ).toBe('Ilse made it ready and priced it at €12.00.'));
  it('tells of a price taken off', () =>
    expect(
      sentence(event('piece.changed', { price: { amount: 12, currency: 'EUR' } }, { price: null }), 'metric'),
    ).toBe('Ilse took the price off.'));
  it('weighs in the person’s units', () =>
    // 1 lb = 0.45359237 kg, international pound of 1959.
    expect(sentence(event('piece.changed', { mass_kg: 1 }, { mass_kg: 0.45359237 * 5 }), 'us')).toContain(
      '5.00\u00a0lb',
    ));
  it('tells of a hold', () =>
    expect(
      sentence(
        event(
          'piece.changed',
          { state: 'ready' },
          { state: 'held', hold: { until_ms: Date.UTC(2026, 11, 20, 12) } },
          'held',
        ),
        'metric',
      ),
    ).toBe('Ilse held it until 20 December 2026.'));
  it('tells of the start', () =>
    expect(sentence(event('piece.made', null, { tag: 'S-1', place: 'shelf A' }, 'taken in'), 'metric')).toBe(
      'Ilse took it in and put it at shelf A.',
    ));
  it('says what it doesn’t know in the server’s words', () =>
    expect(sentence(event('piece.tag_printed', {}, {}, 'tag printed'), 'metric')).toBe('Ilse: tag printed.'));
});

describe('when', () => {
  const noon = new Date(2026, 4, 20, 12, 0).getTime();
  it('says today', () => expect(when(noon - 3_600_000, noon)).toBe('today, 11:00'));
  it('says yesterday', () => expect(when(noon - 86_400_000, noon)).toBe('yesterday, 12:00'));
  it('names older days', () => expect(when(noon - 3 * 86_400_000, noon)).toBe('17 May 2026, 12:00'));
});
