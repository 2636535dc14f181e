import { describe, expect, it } from 'vitest';
import { STEPS, scaleBar, scaleOf } from './scale';

describe('scaleOf', () => {
  it('keeps to the ends', () => {
    expect(scaleOf(-3)).toBe(STEPS[0]);
    expect(scaleOf(99)).toBe(2);
  });
  it('grows with every step', () => {
    for (let i = 1; i < STEPS.length; i++) expect(scaleOf(i)).toBeGreaterThan(scaleOf(i - 1));
  });
});

describe('scaleBar', () => {
  it('takes the longest round length that fits', () =>
    expect(scaleBar(0.5, 120, 'metric')).toEqual({ mm: 200, px: 100, words: '200 mm', parts: 4 }));
  it('measures feet for those who do', () => {
    // 1 ft = 304.8 mm: international foot, 1959.
    expect(scaleBar(0.3, 120, 'us')).toMatchObject({ mm: 304.8, words: '1 ft' });
  });
  it('is never wider than asked when a shorter one exists', () => {
    for (const px of STEPS) expect(scaleBar(px, 120, 'metric').px).toBeLessThanOrEqual(120);
  });
});
