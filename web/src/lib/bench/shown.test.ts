import { expect, it } from 'vitest';
import type { ComposedPiece, Pose } from './model';
import { caughtUp } from './shown';

const asked: ComposedPiece = { tag: 'S-1', at_mm: [100, 100], turn_deg: 0, bury_mm: 0, lift_mm: 0 };
const answer: Pose = { centre_mm: [110, 100, 40], quaternion: [1, 0, 0, 0] };

it('an answer to an older question comes to where the piece is held by now', () => {
  const newest = { ...asked, at_mm: [130, 90] as [number, number] };
  expect(caughtUp(answer, asked, newest).centre_mm).toEqual([140, 90, 40]);
});
it('and turns as it has been turned since', () => {
  const now = caughtUp(answer, asked, { ...asked, turn_deg: 90 });
  now.centre_mm.forEach((v, i) => {
    expect(v).toBeCloseTo([100, 110, 40][i] ?? Number.NaN, 9);
  });
});
