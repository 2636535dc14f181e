import { describe, expect, it } from 'vitest';
import { ago } from './time';

const now = Date.UTC(2026, 4, 20, 12);

describe('ago', () => {
  it.each([
    [5e3, 'just now'],
    [6e4, '1 minute ago'],
    [3 * 36e5, '3 hours ago'],
    [30 * 36e5, 'yesterday'],
    [20 * 864e5, '2 weeks ago'],
    [-2 * 864e5, 'in 2 days'],
  ])('%s ms is %s', (past, words) => expect(ago(now - past, now)).toBe(words));
});
