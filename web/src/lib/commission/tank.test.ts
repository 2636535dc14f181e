import { describe, expect, it } from 'vitest';
import { draftOf, emptyTank, tankOf } from './tank';

const tank = {
  outside_mm: [900, 450, 450] as [number, number, number],
  glass_mm: 10,
  water_line_mm: 405,
  water_c: 24,
};

describe('a tank in a form', () => {
  it('comes back as it went in', () => expect(tankOf(draftOf(tank))).toEqual(tank));
  it('is nothing while nothing is typed', () => expect(tankOf(emptyTank())).toBeNull());
  it('names what is missing', () =>
    expect(tankOf({ ...emptyTank(), length_mm: 900 })).toEqual({
      missing: 'The tank still needs its width, height, glass, water line.',
    }));
});
