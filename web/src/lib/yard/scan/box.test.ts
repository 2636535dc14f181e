import { describe, expect, it } from 'vitest';
import type { Quaternion, Vec3 } from '$lib/api/types';
import { aboutZ, after, extremes, leastBox, sameBox, squareTurn, turnBy } from './box';

/** Corners and points on the edges of a box, turned. */
function box(size: Vec3, turn: Quaternion): Vec3[] {
  const points: Vec3[] = [];
  for (const x of [-0.5, 0, 0.5])
    for (const y of [-0.5, 0.2, 0.5])
      for (const z of [-0.5, 0.5]) points.push(turnBy(turn, [x * size[0], y * size[1], z * size[2]]));
  return points;
}

const askew = after(aboutZ(0.7), [Math.cos(0.3), Math.sin(0.3) * 0.6, Math.sin(0.3) * 0.8, 0]);

describe('turns', () => {
  it('take x to y by a quarter turn about z', () => {
    const [x, y, z] = turnBy(aboutZ(Math.PI / 2), [1, 0, 0]);
    expect([x, y, z]).toEqual([expect.closeTo(0, 12), expect.closeTo(1, 12), expect.closeTo(0, 12)]);
  });
  it('keep lengths', () => expect(Math.hypot(...turnBy(askew, [3, 4, 12]))).toBeCloseTo(13, 9));
});

describe('squareTurn', () => {
  it('lays a turned rectangle along x', () => {
    const plan = box([200, 80, 10], aboutZ(-0.4)).map(([x, y]) => [x, y] as const);
    expect(squareTurn(plan) % Math.PI).toBeCloseTo(0.4, 3);
  });
});

describe('leastBox', () => {
  it('finds a box that stands askew', () => {
    const { size, turn } = leastBox(box([210, 150, 90], askew));
    expect(size[0]).toBeCloseTo(210, 0);
    expect(size[1]).toBeCloseTo(150, 0);
    expect(size[2]).toBeCloseTo(90, 0);
    const long = turnBy(turn, turnBy(askew, [1, 0, 0]));
    expect(Math.abs(long[0])).toBeGreaterThan(0.999);
  });
  it('is a cube’s own size', () =>
    expect(leastBox(box([100, 100, 100], askew)).size.every((side) => Math.abs(side - 100) < 1)).toBe(true));
});

describe('extremes', () => {
  it('keeps the corners of a box among many points', () => {
    const inner = Array.from({ length: 3000 }, (_, i) => Math.sin(i * 12.9) * 30);
    const found = extremes([...inner, ...box([200, 150, 100], askew).flat()]);
    expect(leastBox(found).size[0]).toBeCloseTo(200, 0);
    expect(found.length).toBeLessThan(100);
  });
});

describe('sameBox', () => {
  it('takes what lies within a fortieth', () =>
    expect(sameBox([211, 150, 90], { long: 210, mid: 150, short: 90 })).toBe(true));
  it('refuses another box', () =>
    expect(sameBox([220, 150, 90], { long: 210, mid: 150, short: 90 })).toBe(false));
});
