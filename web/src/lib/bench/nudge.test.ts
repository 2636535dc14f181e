import { describe, expect, it } from 'vitest';
import { nudgeOf } from './nudge';

describe('nudging', () => {
  it('follows the axes of the view', () => {
    expect(nudgeOf('right', 'front', 0, 5)).toEqual({ by_mm: [5, 0] });
    expect(nudgeOf('up', 'front', 0, 5)).toEqual({ up_mm: 5 });
    expect(nudgeOf('right', 'side', 90, 5)).toEqual({ by_mm: [0, 5] });
    expect(nudgeOf('up', 'plan', 0, 1)).toEqual({ by_mm: [0, 1] });
  });
  it('in free view goes along the side that lies across the eye', () => {
    expect(nudgeOf('right', 'free', -24, 5)).toEqual({ by_mm: [5, 0] });
    expect(nudgeOf('right', 'free', 90, 5)).toEqual({ by_mm: [0, 5] });
    expect(nudgeOf('up', 'free', 180, 5)).toEqual({ by_mm: [0, -5] });
  });
});
