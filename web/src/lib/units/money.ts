/** Reads an amount of money: `42.50`, `42,50`, `€ 42.50`, `42.50 EUR`. */
import { plainText } from './number';
import type { Read } from './parse';

const SIGNS = /[€$£¥]/g;

export function readMoney(typed: string, currency: string): Read {
  const text = plainText(typed).replace(SIGNS, '').replace(currency.toLowerCase(), '').trim();
  const match = /^(\d+)(?:[.,](\d{1,2}))?$/.exec(text);
  if (!match) {
    return { ok: false, message: `“${typed.trim()}” isn’t an amount: write it like 42.50.` };
  }
  return { ok: true, value: Number(`${match[1]}.${match[2] ?? '0'}`) };
}
