import { describe, expect, it } from 'vitest';
import { readLength } from './parse';
import { inchFraction, joined, printLength, printMass, printNumber, printQuantity, printSize } from './print';

describe('printNumber', () => {
  it.each([
    [0, '0'],
    [-0.0001, '0'],
    [0.1234, '0.123'],
    [5.3, '5.3'],
    [-12.34, '−12.3'],
    [1234, '1234'],
    [12345.6, '12\u202f346'],
    [Number.NaN, '–'],
  ])('writes %s as %s', (value, text) => expect(printNumber(value)).toBe(text));
});

describe('printQuantity', () => {
  it.each([
    [600, 'mm', 'metric', '600\u00a0mm'],
    [25.4, 'mm', 'us', '1\u00a0in'],
    [1, 'kg', 'us', '2.2\u00a0lb'],
    [24, '°C', 'us', '75.2\u00a0°F'],
    [100, 'L', 'us', '26.4\u00a0gal'],
    [100, 'L', 'metric', '100\u00a0L'],
    [12.5, 'deg', 'metric', '12.5°'],
    [42.5, 'EUR', 'metric', '€42.50'],
    [3, 'bags', 'us', '3\u00a0bags'],
    [null, 'kg', 'us', '–'],
  ] as const)('writes %s %s in %s units', (value, unit, system, text) =>
    expect(joined(printQuantity(value, unit, system))).toBe(text),
  );
});

describe('lengths on a tape', () => {
  it.each([
    [600, '23 5/8'],
    [12.7, '1/2'],
    [25.4, '1'],
    [0.1, '0'],
    [-38.1, '−1 1/2'],
  ])('%s mm is %s in', (mm, text) => expect(inchFraction(mm)).toBe(text));

  it('comes back within half a sixteenth', () => {
    for (let mm = 0; mm < 2000; mm += 7.3) {
      const back = readLength(printLength(mm, 'us'));
      expect(back.ok && Math.abs(back.value - mm)).toBeLessThanOrEqual(25.4 / 32 + 1e-9);
    }
  });
});

describe('sizes and masses', () => {
  it('writes the unit once', () =>
    expect(printSize([600, 360, 300], 'metric')).toBe('600 × 360 × 300\u00a0mm'));
  it('writes grams under a kilogram', () => expect(printMass(0.85, 'metric')).toBe('850\u00a0g'));
  it('writes pounds', () => expect(printMass(5.3, 'us')).toBe('11.68\u00a0lb'));
});
