/** Writes a quantity in the units that a person prefers. */
import type { Units } from '$lib/api/types';

/** A number and its unit apart, so that a screen can set them differently. */
export interface Printed {
  number: string;
  unit: string;
}

interface Conversion {
  unit: string;
  per: number;
  offset?: number;
}

/** The server's unit → US customary unit: value · per + offset. All factors exact by definition. */
const US: Record<string, Conversion> = {
  mm: { unit: 'in', per: 1 / 25.4 },
  cm: { unit: 'in', per: 1 / 2.54 },
  m: { unit: 'ft', per: 1 / 0.3048 },
  mm2: { unit: 'in²', per: 1 / 25.4 ** 2 },
  cm2: { unit: 'in²', per: 1 / 2.54 ** 2 },
  m2: { unit: 'ft²', per: 1 / 0.3048 ** 2 },
  kg: { unit: 'lb', per: 1 / 0.45359237 },
  g: { unit: 'oz', per: 16 / 453.59237 },
  l: { unit: 'gal', per: 1 / 3.785411784 },
  c: { unit: '°F', per: 1.8, offset: 32 },
  n: { unit: 'lbf', per: 1 / 4.4482216152605 },
  kpa: { unit: 'psi', per: 1 / 6.894757293168 },
  mpa: { unit: 'psi', per: 1 / 0.006894757293168 },
  'kg/m3': { unit: 'lb/ft³', per: 0.3048 ** 3 / 0.45359237 },
  'kg/m2': { unit: 'lb/ft²', per: 0.3048 ** 2 / 0.45359237 },
};

const METRIC: Record<string, string> = {
  mm: 'mm',
  cm: 'cm',
  m: 'm',
  mm2: 'mm²',
  cm2: 'cm²',
  m2: 'm²',
  mm3: 'mm³',
  kg: 'kg',
  g: 'g',
  l: 'L',
  ml: 'mL',
  c: '°C',
  n: 'N',
  nm: 'N·m',
  kpa: 'kPa',
  mpa: 'MPa',
  'kg/m3': 'kg/m³',
  'kg/m2': 'kg/m²',
  deg: '°',
  percent: '%',
  '°': '°',
  '%': '%',
};

const CURRENCY = /^[A-Z]{3}$/;

/** One spelling for the many ways to write a unit: `L`, `mm²`, `°C`, `kg_m3`. */
function keyOf(unit: string): string {
  return unit
    .trim()
    .replace('²', '2')
    .replace('³', '3')
    .replace('_', '/')
    .replace(/^°C$/, 'c')
    .replace('·', '')
    .toLowerCase();
}

/** Four significant digits for small things, whole units and thin thousands for large ones. */
export function printNumber(value: number, digits?: number): string {
  if (!Number.isFinite(value)) return '–';
  const size = Math.abs(value);
  const places = digits ?? (size >= 1000 ? 0 : size >= 100 ? 1 : size >= 10 ? 1 : size >= 1 ? 2 : 3);
  const rounded = Number(value.toFixed(places));
  const text = Math.abs(rounded).toFixed(digits ?? places);
  const [whole = '0', part = ''] = text.split('.');
  const spaced = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, '\u202f') : whole;
  const tail = digits === undefined ? part.replace(/0+$/, '') : part;
  const sign = rounded < 0 ? '−' : '';
  return `${sign}${spaced}${tail === '' ? '' : `.${tail}`}`;
}

export function printMoney(amount: number, currency: string): string {
  const places = new Intl.NumberFormat('en', { style: 'currency', currency });
  return places.format(amount);
}

/** Any quantity by the server's unit; units that it doesn't know are shown as they came. */
export function printQuantity(value: number | null, unit: string, system: Units, digits?: number): Printed {
  if (value === null || !Number.isFinite(value)) return { number: '–', unit: '' };
  if (CURRENCY.test(unit)) return { number: printMoney(value, unit), unit: '' };
  const key = keyOf(unit);
  const conversion = system === 'us' ? US[key] : undefined;
  if (conversion) {
    const converted = value * conversion.per + (conversion.offset ?? 0);
    return { number: printNumber(converted, digits), unit: conversion.unit };
  }
  if (key === 'mm') {
    const places = digits ?? (Math.abs(value) >= 100 || Number.isInteger(value) ? 0 : 1);
    return { number: printNumber(value, places), unit: 'mm' };
  }
  return { number: printNumber(value, digits), unit: METRIC[key] ?? unit };
}

export function joined(printed: Printed): string {
  if (printed.unit === '') return printed.number;
  return printed.unit === '°' || printed.unit === '%'
    ? `${printed.number}${printed.unit}`
    : `${printed.number}\u00a0${printed.unit}`;
}

/** `1 200 mm` or `47 1/4 in`: US lengths as on a tape, to the nearest sixteenth. */
export function printLength(mm: number, system: Units): string {
  if (system === 'metric') return joined(printQuantity(mm, 'mm', 'metric'));
  return `${inchFraction(mm)}\u00a0in`;
}

/** `23 5/8`: inches to the nearest sixteenth. */
export function inchFraction(mm: number): string {
  const sixteenths = Math.round((Math.abs(mm) / 25.4) * 16);
  const sign = mm < 0 && sixteenths > 0 ? '−' : '';
  const whole = Math.floor(sixteenths / 16);
  let above = sixteenths % 16;
  let below = 16;
  while (above > 0 && above % 2 === 0) {
    above /= 2;
    below /= 2;
  }
  if (above === 0) return `${sign}${whole}`;
  return whole === 0 ? `${sign}${above}/${below}` : `${sign}${whole} ${above}/${below}`;
}

export function printMass(kg: number, system: Units): string {
  if (system === 'metric' && Math.abs(kg) < 1) return joined(printQuantity(kg * 1000, 'g', 'metric', 0));
  return joined(printQuantity(kg, 'kg', system, Math.abs(kg) >= 100 ? 1 : 2));
}

export function printVolume(litres: number, system: Units): string {
  return joined(printQuantity(litres, 'l', system));
}

/** `600 × 360 × 300 mm`: the unit once. */
export function printSize(sides_mm: readonly number[], system: Units): string {
  if (system === 'us') return `${sides_mm.map(inchFraction).join(' × ')}\u00a0in`;
  return `${sides_mm.map((side) => printNumber(side, 0)).join(' × ')}\u00a0mm`;
}
