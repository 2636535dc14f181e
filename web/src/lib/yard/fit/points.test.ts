import { describe, expect, it } from 'vitest';
import type { Vec2 } from '$lib/api/types';
import { insertAfter, nudge, startingOutline } from './points';

const front = { length: 600, height: 300 };
const square: Vec2[] = [
  [0, 0],
  [100, 0],
  [100, 100],
];

describe('points', () => {
  it('go where the arrows point', () => expect(nudge([10, 10], 'ArrowUp', 5, front)).toEqual([10, 15]));
  it('stay inside the front', () => expect(nudge([2, 10], 'ArrowLeft', 5, front)).toEqual([0, 10]));
  it('let other keys be', () => expect(nudge([2, 10], 'a', 5, front)).toBeNull());
  it('are added halfway to the next', () =>
    expect(insertAfter(square, 0)).toEqual([
      [0, 0],
      [50, 0],
      [100, 0],
      [100, 100],
    ]));
  it('are added between the last and the first', () => expect(insertAfter(square, 2)[3]).toEqual([50, 50]));
  it('start on the ground', () => expect(startingOutline(front)).toContainEqual([200, 0]));
});
