import { describe, expect, it } from 'vitest';
import { hull, planOutline } from './outline';
import { aboutVertical } from './turns';

function area(polygon: readonly [number, number][]): number {
  return polygon.reduce((sum, [x, y], i) => {
    const [u, v] = polygon[(i + 1) % polygon.length] ?? [0, 0];
    return sum + (x * v - u * y) / 2;
  }, 0);
}

describe('plan outlines', () => {
  it('of a square with points inside and on its sides is the square', () => {
    const square = hull([
      [0, 0],
      [2, 0],
      [2, 2],
      [0, 2],
      [1, 1],
      [1, 0],
      [2, 1],
      [0, 0],
    ]);
    expect(square).toHaveLength(4);
    expect(area(square)).toBe(4);
  });
  it('keeps its area when the piece is turned about the vertical, and goes where the piece goes', () => {
    const box: number[] = [];
    for (const x of [0, 60]) for (const y of [0, 30]) for (const z of [0, 20]) box.push(x, y, z);
    const at = planOutline(box, [30, 15, 10], { centre_mm: [200, 100, 10], quaternion: aboutVertical(33) });
    expect(area(at)).toBeCloseTo(60 * 30, 9);
    expect(at.reduce((s, p) => s + p[0], 0) / at.length).toBeCloseTo(200, 9);
  });
});
