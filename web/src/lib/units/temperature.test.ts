import { describe, expect, it } from 'vitest';
import { printTemperature, readTemperature } from './temperature';

// Fixed points of water: 0 °C is 32 °F, 100 °C is 212 °F; both scales meet at −40.
describe('temperatures', () => {
  it.each([
    ['24', 'metric', 24],
    ['212 F', 'metric', 100],
    ['32', 'us', 0],
    ['-40 °F', 'us', -40],
    ['24 °C', 'us', 24],
  ] as const)('reads %s in %s units', (text, system, celsius) => {
    const got = readTemperature(text, system);
    expect(got.ok && got.value).toBeCloseTo(celsius, 9);
  });
  it('refuses words', () => expect(readTemperature('warm').ok).toBe(false));
  it('prints', () =>
    expect([printTemperature(24, 'metric'), printTemperature(100, 'us')]).toEqual([
      '24\u00a0°C',
      '212\u00a0°F',
    ]));
});
