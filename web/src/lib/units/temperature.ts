/** Temperatures: `24`, `24 °C`, `75 F`. */
import type { Units } from '$lib/api/types';
import { plainText, readNumber } from './number';
import type { Read } from './parse';

/** Degrees Celsius. A bare number is °C in metric, °F in US units. */
export function readTemperature(typed: string, system: Units = 'metric'): Read {
  const match = /^(.*?)\s*°?\s*([cf])?$/.exec(plainText(typed));
  const value = match ? readNumber((match[1] ?? '').trim()) : null;
  if (value === null) {
    const example = system === 'us' ? '75 °F' : '24 °C';
    return { ok: false, message: `“${typed.trim()}” isn’t a temperature: write it like ${example}.` };
  }
  const unit = match?.[2] ?? (system === 'us' ? 'f' : 'c');
  return { ok: true, value: unit === 'f' ? (value - 32) / 1.8 : value };
}

export function printTemperature(celsius: number, system: Units): string {
  const value = system === 'us' ? celsius * 1.8 + 32 : celsius;
  return `${Number(value.toFixed(1))}\u00a0°${system === 'us' ? 'F' : 'C'}`;
}
