import { describe, expect, it } from 'vitest';
import type { Vec2 } from '$lib/api/types';
import {
  crossesItself,
  extent,
  pathOf,
  readOutline,
  signedArea,
  simplify,
  strokeToOutline,
  writeOutline,
} from './outline';

const square: Vec2[] = [
  [0, 0],
  [100, 0],
  [100, 100],
  [0, 100],
];

function circle(n: number, r: number): Vec2[] {
  return Array.from({ length: n }, (_, i) => {
    const a = (2 * Math.PI * i) / n;
    return [200 + r * Math.cos(a), 150 + r * Math.sin(a)];
  });
}

describe('outlines', () => {
  it('measures area by the shoelace', () => expect(signedArea(square)).toBe(10_000));
  it('draws z upwards', () => expect(pathOf(square)).toBe('M0 0L100 0L100 -100L0 -100Z'));
  it('finds the box', () => expect(extent(square)).toEqual({ left: 0, right: 100, low: 0, high: 100 }));
});

describe('simplify', () => {
  it('drops what lies on the line', () =>
    expect(
      simplify(
        [
          [0, 0],
          [5, 0.2],
          [10, 0],
        ],
        0.5,
      ),
    ).toEqual([
      [0, 0],
      [10, 0],
    ]));
  it('never strays further than asked', () => {
    const line = circle(400, 100);
    const simple = simplify(line, 2);
    expect(simple.length).toBeLessThan(60);
    for (const [x, z] of simple) expect(Math.abs(Math.hypot(x - 200, z - 150) - 100)).toBeLessThan(2);
  });
});

describe('strokeToOutline', () => {
  it('keeps a drawn circle’s area within 3 %', () => {
    const outline = strokeToOutline([...circle(300, 100), ...circle(300, 100).slice(0, 1)], 600, 300);
    expect(outline).not.toBeNull();
    expect(Math.abs(signedArea(outline ?? []))).toBeGreaterThan(Math.PI * 1e4 * 0.97);
    expect((outline ?? []).length).toBeLessThanOrEqual(60);
  });
  it('stays inside the front', () => {
    const box = extent(strokeToOutline(circle(300, 190), 600, 300) ?? []);
    expect(box.low).toBeGreaterThanOrEqual(0);
    expect(box.high).toBeLessThanOrEqual(300);
  });
  it('refuses a mere line', () => {
    const line = Array.from({ length: 50 }, (_, i): Vec2 => [i * 4, 10]);
    expect(strokeToOutline(line, 600, 300)).toBeNull();
  });
});

describe('crossesItself', () => {
  it('lets a square be', () => expect(crossesItself(square)).toBe(false));
  it('sees a bow', () =>
    expect(crossesItself([square[0], square[2], square[1], square[3]] as Vec2[])).toBe(true));
});

describe('an outline in an address', () => {
  it('comes back as it went', () => expect(readOutline(writeOutline(square))).toEqual(square));
  it.each(['', '1,2', '1,2;3,4', 'a,b;c,d;e,f', '1,2;3,4;5,6;'])('refuses %j', (text) =>
    expect(readOutline(text)).toBeNull(),
  );
});
