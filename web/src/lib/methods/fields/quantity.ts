/** How a quantity of a given unit is read and printed. */
import type { Units } from '$lib/api/types';
import { type Read, readLength, readMass, readPlain, readVolume } from '$lib/units/parse';
import { joined, printLength, printQuantity } from '$lib/units/print';
import { printTemperature, readTemperature } from '$lib/units/temperature';

export interface Quantity {
  read: (text: string) => Read;
  print: (value: number) => string;
  /** For the words of a bound: with thin spaces between thousands. */
  range: (value: number) => string;
  /** The unit to show when the print doesn't carry it. */
  unit: string;
  /** A bare number, without a unit of its own. */
  plain: boolean;
}

/** Enough digits to come back as typed. */
function exact(value: number): string {
  return String(Number(value.toPrecision(12)));
}

export function quantityOf(unit: string, units: Units): Quantity {
  const quantity = readAs(unit, units);
  return { ...quantity, range: (value) => quantity.print(value).replace(/\d{5,}/, thousands) };
}

function thousands(digits: string): string {
  return digits.replace(/\B(?=(\d{3})+$)/g, '\u202f');
}

function readAs(unit: string, units: Units): Omit<Quantity, 'range'> {
  switch (unit) {
    case 'mm':
      return {
        read: (text) => readLength(text, units),
        print: (mm) => (units === 'us' ? printLength(mm, 'us') : `${exact(mm)}\u00a0mm`),
        unit: '',
        plain: false,
      };
    case 'kg':
      return {
        read: (text) => readMass(text, units),
        print: (kg) => (units === 'us' ? joined(printQuantity(kg, 'kg', 'us')) : `${exact(kg)}\u00a0kg`),
        unit: '',
        plain: false,
      };
    case 'L':
      return {
        read: (text) => readVolume(text, units),
        print: (l) => (units === 'us' ? joined(printQuantity(l, 'l', 'us')) : `${exact(l)}\u00a0L`),
        unit: '',
        plain: false,
      };
    case '°C':
      return {
        read: (text) => readTemperature(text, units),
        print: (celsius) => printTemperature(celsius, units),
        unit: '',
        plain: false,
      };
    default:
      return {
        read: (text) => readPlain(strip(text, unit)),
        print: (value) =>
          unit === ''
            ? exact(value)
            : unit === '°' || unit === '%'
              ? `${exact(value)}${unit}`
              : `${exact(value)}\u00a0${unit}`,
        unit,
        plain: unit === '',
      };
  }
}

/** `35 kg/m³` in a field of kg/m³ is 35. */
function strip(text: string, unit: string): string {
  const trimmed = text.trim();
  if (unit !== '' && trimmed.toLowerCase().endsWith(unit.toLowerCase()))
    return trimmed.slice(0, -unit.length);
  return trimmed;
}
