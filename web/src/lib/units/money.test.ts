import { describe, expect, it } from 'vitest';
import { readMoney } from './money';

describe('readMoney', () => {
  it.each([
    ['42.50', 42.5],
    ['42,5', 42.5],
    ['€ 42.50', 42.5],
    ['42.50 EUR', 42.5],
    ['1200', 1200],
  ])('reads %s', (text, amount) => expect(readMoney(text, 'EUR')).toEqual({ ok: true, value: amount }));
  it.each(['', '1,200', '4.123', '-3', 'free', '5 kg'])('refuses %j', (text) =>
    expect(readMoney(text, 'EUR').ok).toBe(false),
  );
});
