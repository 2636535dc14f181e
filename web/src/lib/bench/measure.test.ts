import { describe, expect, it } from 'vitest';
import { dimensionsOf } from './dimensions';
import { partsOf, spacingOf } from './measure';
import type { Xyz } from './model';

describe('measuring', () => {
  it('takes a way apart along the axes', () => {
    const parts = partsOf([0, 0, 0], [30, 0, 40]);
    expect(parts.map((p) => [p.axis, p.length_mm])).toEqual([
      ['x', 30],
      ['z', 40],
    ]);
    expect(parts[1]?.a).toEqual([30, 0, 0]);
  });
  it('divides rules by 1, 2 and 5', () => {
    expect(spacingOf(1)).toBe(100);
    expect(spacingOf(0.5)).toBe(200);
    expect(spacingOf(1.2)).toBe(50);
  });
  const tank = { outside_mm: [600, 360, 360] as Xyz, glass_mm: 8, base_mm: 10, water_line_mm: 320 };
  it('from the front: the lengths add up to the inside', () => {
    const marks = dimensionsOf(tank, { min: [100, 50, 40], max: [260, 150, 130] }, 'front');
    const of = (key: string) => marks.find((m) => m.key === key)?.length_mm ?? Number.NaN;
    expect(of('length')).toBe(600);
    expect(of('height')).toBe(360);
    expect(of('left') + of('wide') + of('right')).toBe(584);
    expect(of('foot')).toBe(40);
  });
});
