import { describe, expect, it } from 'vitest';
import { differences } from './differences';
import type { Composition, Placed, Xyz } from './model';

describe('two revisions', () => {
  const tank = { outside_mm: [600, 360, 360] as Xyz, glass_mm: 8, water_line_mm: 320 };
  const composition: Composition = { title: 't', tank, material: [], bed: [], piece: [], plant: [] };
  const at = (tag: string, centre_mm: Xyz): Placed => ({
    tag,
    pose: { centre_mm, quaternion: [1, 0, 0, 0] },
    width_mm: 1,
    depth_mm: 1,
    height_mm: 1,
    low_mm: 0,
    high_mm: 1,
    n_poses: 1,
    held: false,
  });
  it('are told apart in words', () => {
    const a = { composition, placed: [at('S-1', [100, 100, 10]), at('S-2', [0, 0, 0])] };
    const b = { composition, placed: [at('S-1', [130, 80, 10]), at('S-3', [0, 0, 0])] };
    expect(differences(a, b, (mm) => `${mm} mm`)).toEqual([
      'S-3 came in.',
      'S-2 went out.',
      'S-1 moved 30 mm to the right and 20 mm forward.',
    ]);
  });
  it('that are the same differ in nothing', () => {
    const a = { composition, placed: [at('S-1', [1, 2, 3])] };
    expect(differences(a, a, String)).toEqual([]);
  });
});
