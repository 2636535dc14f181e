import { describe, expect, it } from 'vitest';
import { posesAt } from './motion';

describe('playing a settling', () => {
  it('goes through the frames and ends at the last', () => {
    const s = {
      stands: true,
      words: '',
      dt_s: 0.1,
      tags: ['S-1'],
      final: [],
      frames: [[[0, 0, 100, 1, 0, 0, 0]], [[0, 0, 50, 1, 0, 0, 0]], [[0, 0, 0, -1, 0, 0, 0]]] as [
        number,
        number,
        number,
        number,
        number,
        number,
        number,
      ][][],
    };
    expect(posesAt(s, 0.05).get('S-1')?.centre_mm[2]).toBeCloseTo(75, 9);
    expect(posesAt(s, 9).get('S-1')?.centre_mm[2]).toBe(0);
    expect(Math.abs(posesAt(s, 0.15).get('S-1')?.quaternion[0] ?? 0)).toBeCloseTo(1, 9);
  });
});
