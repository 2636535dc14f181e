/** How a pose looks while the server hasn't said yet how the piece comes to rest. */
import type { ComposedPiece, Pose, Xy } from './model';
import { aboutVertical, compose, turned } from './turns';

export function movedTo(pose: Pose, from: Xy, to: Xy, up_mm = 0): Pose {
  const [x, y, z] = pose.centre_mm;
  return { ...pose, centre_mm: [x + to[0] - from[0], y + to[1] - from[1], z + up_mm] };
}

/** Turned about the vertical line through a place in plan. */
export function turnedBy(pose: Pose, about: Xy, by_deg: number): Pose {
  const q = aboutVertical(by_deg);
  const [x, y, z] = pose.centre_mm;
  const [dx, dy] = turned(q, [x - about[0], y - about[1], 0]);
  return { centre_mm: [about[0] + dx, about[1] + dy, z], quaternion: compose(q, pose.quaternion) };
}

/** Where in plan a pose's piece lies, if it lay at `at_mm` at another pose. */
export function shiftedWith(at_mm: Xy, before: Pose, after: Pose): Xy {
  return [
    at_mm[0] + after.centre_mm[0] - before.centre_mm[0],
    at_mm[1] + after.centre_mm[1] - before.centre_mm[1],
  ];
}

/** An answer to an older question, moved and turned to where the piece is held by now. */
export function caughtUp(answer: Pose, asked: ComposedPiece, newest: ComposedPiece): Pose {
  if (asked.tag !== newest.tag || asked === newest) return answer;
  const by_deg = (newest.turn_deg ?? 0) - (asked.turn_deg ?? 0);
  const pose = by_deg ? turnedBy(answer, asked.at_mm, by_deg) : answer;
  return movedTo(pose, asked.at_mm, newest.at_mm);
}
