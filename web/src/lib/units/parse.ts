/** Reads what a person types into a field: `24 in`, `60cm`, `2'`, `2' 3 1/2"`, `5 lb 3 oz`. */
import type { Units } from '$lib/api/types';
import { isAmbiguous, NUMBER, plainText, readNumber } from './number';

export type Read = { ok: true; value: number } | { ok: false; message: string };

interface Measure {
  /** What is measured, for messages. */
  name: string;
  /** Unit word → how many of the base unit. */
  units: Record<string, number>;
  bare: Record<Units, string>;
  /** A big unit that a small one may follow, as in feet and inches. */
  pairs: [string[], string[]][];
  example: Record<Units, string>;
}

const INCH_MM = 25.4;
const POUND_KG = 0.45359237;
const GALLON_L = 3.785411784;

// Exact by definition: the international yard and pound of 1959 and the US liquid gallon of 231 in³.
const LENGTH: Measure = {
  name: 'length',
  units: {
    mm: 1,
    cm: 10,
    m: 1000,
    in: INCH_MM,
    inch: INCH_MM,
    inches: INCH_MM,
    '"': INCH_MM,
    ft: 12 * INCH_MM,
    foot: 12 * INCH_MM,
    feet: 12 * INCH_MM,
    "'": 12 * INCH_MM,
  },
  bare: { metric: 'mm', us: 'in' },
  pairs: [
    [
      ['ft', 'foot', 'feet', "'"],
      ['in', 'inch', 'inches', '"', ''],
    ],
  ],
  example: { metric: '600 mm, 60 cm or 24 in', us: "24 in, 2' or 2' 3 1/2\"" },
};

const MASS: Measure = {
  name: 'mass',
  units: {
    kg: 1,
    g: 0.001,
    t: 1000,
    lb: POUND_KG,
    lbs: POUND_KG,
    pound: POUND_KG,
    pounds: POUND_KG,
    oz: POUND_KG / 16,
    ounce: POUND_KG / 16,
    ounces: POUND_KG / 16,
  },
  bare: { metric: 'kg', us: 'lb' },
  pairs: [
    [
      ['lb', 'lbs', 'pound', 'pounds'],
      ['oz', 'ounce', 'ounces'],
    ],
  ],
  example: { metric: '5.3 kg or 850 g', us: '11.7 lb or 5 lb 3 oz' },
};

const VOLUME: Measure = {
  name: 'volume',
  units: {
    l: 1,
    litre: 1,
    litres: 1,
    liter: 1,
    liters: 1,
    ml: 0.001,
    gal: GALLON_L,
    gallon: GALLON_L,
    gallons: GALLON_L,
    qt: GALLON_L / 4,
    'fl oz': GALLON_L / 128,
  },
  bare: { metric: 'l', us: 'gal' },
  pairs: [],
  example: { metric: '180 l', us: '47 gal' },
};

function unitPattern(words: string[]): string {
  return words
    .filter((word) => word !== '')
    .sort((a, b) => b.length - a.length)
    .map((word) => word.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'))
    .join('|');
}

function readPair(measure: Measure, text: string): number | null {
  for (const [big, small] of measure.pairs) {
    const bare = small.includes('') ? '?' : '';
    const pattern = `^(${NUMBER})\\s*(${unitPattern(big)})\\s*-?\\s*(${NUMBER})\\s*(${unitPattern(small)})${bare}$`;
    const match = new RegExp(pattern).exec(text);
    if (!match) continue;
    const [, whole = '', bigUnit = '', rest = '', smallUnit = ''] = match;
    const first = readNumber(whole);
    const second = readNumber(rest);
    if (first === null || second === null || second < 0) return null;
    const bigFactor = measure.units[bigUnit] ?? Number.NaN;
    const smallFactor = measure.units[smallUnit === '' ? 'in' : smallUnit] ?? Number.NaN;
    const value = Math.abs(first) * bigFactor + second * smallFactor;
    return whole.startsWith('-') ? -value : value;
  }
  return null;
}

function read(measure: Measure, typed: string, system: Units): Read {
  const text = plainText(typed);
  const fail = (message: string): Read => ({ ok: false, message });
  if (text === '') return fail(`Type a ${measure.name}, such as ${measure.example[system]}.`);
  const single = new RegExp(`^(${NUMBER})\\s*(${unitPattern(Object.keys(measure.units))})?$`).exec(text);
  if (single) {
    const [, number = '', unit = measure.bare[system]] = single;
    if (isAmbiguous(number)) {
      const [a, b] = [number.replace(',', ''), number.replace(',', '.')];
      return fail(`${number} can be read two ways: write ${a} or ${b}.`);
    }
    const value = readNumber(number);
    const factor = measure.units[unit];
    if (value !== null && factor !== undefined) return { ok: true, value: value * factor };
  }
  const pair = readPair(measure, text);
  if (pair !== null) return { ok: true, value: pair };
  return fail(`“${typed.trim()}” isn’t a ${measure.name}: write it like ${measure.example[system]}.`);
}

/** Millimetres. A bare number is mm in metric, inches in US units. */
export function readLength(text: string, system: Units = 'metric'): Read {
  return read(LENGTH, text, system);
}

/** Kilograms. A bare number is kg in metric, pounds in US units. */
export function readMass(text: string, system: Units = 'metric'): Read {
  return read(MASS, text, system);
}

/** Litres. A bare number is litres in metric, US gallons in US units. */
export function readVolume(text: string, system: Units = 'metric'): Read {
  return read(VOLUME, text, system);
}

/** A plain number with a decimal point or comma. */
export function readPlain(text: string): Read {
  const plain = plainText(text);
  const value = readNumber(plain);
  if (isAmbiguous(plain)) {
    return { ok: false, message: `${plain} can be read two ways: write it without the comma.` };
  }
  if (value === null) return { ok: false, message: 'Type a number, such as 42.5.' };
  return { ok: true, value };
}
