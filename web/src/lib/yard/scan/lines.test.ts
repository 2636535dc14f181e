import { describe, expect, it } from 'vitest';
import { EDGES, lainLines, outerEdges } from './lines';

describe('lainLines', () => {
  it('measures the width in front when seen from the front', () => {
    const width = lainLines([-1, -2, 0], [1, 2, 3], 0, 0.5).find((line) => line.side === 'width');
    expect(width?.line).toEqual([
      [-1, -2.5, 0],
      [1, -2.5, 0],
    ]);
  });
  it('changes sides when seen from the back', () => {
    const width = lainLines([-1, -2, 0], [1, 2, 3], 180, 0.5).find((line) => line.side === 'width');
    expect(width?.line[0]?.[1]).toBeCloseTo(2.5, 9);
  });
  it('stands the height at the left', () => {
    const height = lainLines([-1, -2, 0], [1, 2, 3], 0, 0.5).find((line) => line.side === 'height');
    expect(height?.line[0]?.[0]).toBeCloseTo(-1.5, 9);
  });
});

describe('a box', () => {
  it('has twelve edges', () => expect(EDGES).toHaveLength(12));
  it('is measured on one edge of each direction', () => {
    const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((i): [number, number] => [
      (i & 1) * 10 + (i & 2) * 2,
      (i & 4) * 3 + (i & 2),
    ]);
    expect(outerEdges(corners).map(([i, j]) => i ^ j)).toEqual([1, 2, 4]);
  });
});
