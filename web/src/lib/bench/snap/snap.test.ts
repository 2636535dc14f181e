import { describe, expect, it } from 'vitest';
import { linesOf, snapMove } from './move';
import { snapTurn } from './turn';

describe('snapping', () => {
  const lines = linesOf([600, 300, 300], [{ tag: 'S-1', at_mm: [251, 99] }]);
  it('prefers a line within reach to the grid', () => {
    const s = snapMove([298, 97], lines, 6);
    expect(s.at_mm).toEqual([300, 99]);
    expect(s.lines.map((l) => l.words)).toContain('middle of the tank');
  });
  it('goes to the grid where no line is near', () =>
    expect(snapMove([133, 44], lines, 3).at_mm).toEqual([130, 40]));
  it('comes to multiples of fifteen when near, else to whole degrees', () => {
    expect([43, 47.6, 37.4, -92].map((d) => snapTurn(d))).toEqual([45, 45, 37, -90]);
  });
});
