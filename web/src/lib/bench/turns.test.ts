import { describe, expect, it } from 'vitest';
import type { Turn, Xyz } from './model';
import { turnedBy } from './shown';
import { about, between, compose, turned, wrapped_deg } from './turns';

const near = (a: readonly number[], b: readonly number[], digits = 9) =>
  a.forEach((v, i) => {
    expect(v).toBeCloseTo(b[i] ?? Number.NaN, digits);
  });

describe('turns', () => {
  it('a quarter about the vertical takes right to back', () =>
    near(turned(about([0, 0, 1], 90), [1, 0, 0]), [0, 1, 0]));
  it('does the second turn after the first', () => {
    const q = compose(about([1, 0, 0], 90), about([0, 0, 1], 90));
    near(turned(q, [1, 0, 0]), turned(about([1, 0, 0], 90), turned(about([0, 0, 1], 90), [1, 0, 0])));
  });
  it.each<[Xyz, Xyz]>([
    [
      [1, 0, 0],
      [0, 0, 1],
    ],
    [
      [0, 0, 1],
      [0, 0, -1],
    ],
    [
      [0.6, 0.8, 0],
      [0.6, 0.8, 0],
    ],
  ])('between %j and %j there is one that takes the first to the second', (a, b) =>
    near(turned(between(a, b), a), b),
  );
  it('wraps angles', () => expect([181, -180, 540, -30].map(wrapped_deg)).toEqual([-179, 180, 180, -30]));
  it('turning a pose keeps its distance from the axis and its height', () => {
    const pose = { centre_mm: [130, 100, 40] as Xyz, quaternion: [1, 0, 0, 0] as Turn };
    near(turnedBy(pose, [100, 100], 90).centre_mm, [100, 130, 40]);
  });
});
