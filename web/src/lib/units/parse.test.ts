import { describe, expect, it } from 'vitest';
import { readLength, readMass, readPlain, readVolume } from './parse';

// Inch, pound and US gallon: NIST Handbook 44 (2024), appendix C: 25.4 mm, 0.453 592 37 kg,
// 3.785 411 784 l, exact.
describe('readLength', () => {
  it.each([
    ['24 in', 609.6],
    ['60cm', 600],
    ["2'", 609.6],
    ['2\' 3 1/2"', 698.5],
    ["2' 3", 685.8],
    ['2ft 3in', 685.8],
    ['1.2 m', 1200],
    ['0,5 m', 500],
    ['23 5/8 in', 600.075],
    ['½ in', 12.7],
    ['3½″', 88.9],
    ['600', 600],
    ['600 mm', 600],
    ['12\u202f345 mm', 12345],
    ['-5 mm', -5],
    ['.5 in', 12.7],
    ['-1\' 6"', -457.2],
    ['2\'-3"', 685.8],
  ])('reads %s', (text, mm) => {
    const got = readLength(text);
    expect(got.ok && got.value).toBeCloseTo(mm, 9);
  });

  it('takes a bare number as inches for US units', () =>
    expect(readLength('24', 'us')).toEqual({ ok: true, value: 24 * 25.4 }));

  it.each(['', 'long', '12 kg', '1,200 mm', '1/0 in', "2' 3' ", '1e3', '--2', '2 3 mm', 'NaN'])(
    'refuses %j',
    (text) => expect(readLength(text).ok).toBe(false),
  );

  it('says why a comma before three digits is refused', () => {
    const got = readLength('1,200 mm');
    expect(got.ok ? '' : got.message).toBe('1,200 can be read two ways: write 1200 or 1.200.');
  });
});

describe('readMass', () => {
  it.each([
    ['5.3 kg', 5.3],
    ['850 g', 0.85],
    ['2,44', 2.44],
    ['1 lb', 0.45359237],
    ['5 lb 3 oz', 5.1875 * 0.45359237],
    ['12 oz', 0.75 * 0.45359237],
  ])('reads %s', (text, kg) => {
    const got = readMass(text);
    expect(got.ok && got.value).toBeCloseTo(kg, 12);
  });
  it.each(['3 mm', 'heavy', ''])('refuses %j', (text) => expect(readMass(text).ok).toBe(false));
});

describe('readVolume', () => {
  it.each([
    ['180 l', 180],
    ['47 gal', 47 * 3.785411784],
    ['500 ml', 0.5],
    ['128 fl oz', 3.785411784],
  ])('reads %s', (text, litres) => {
    const got = readVolume(text);
    expect(got.ok && got.value).toBeCloseTo(litres, 9);
  });
});

describe('readPlain', () => {
  it('takes a decimal comma', () => expect(readPlain('42,5')).toEqual({ ok: true, value: 42.5 }));
  it('refuses words', () => expect(readPlain('cheap').ok).toBe(false));
});
