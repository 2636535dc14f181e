/** Moving the points of an outline within the front. */
import type { Vec2 } from '$lib/api/types';

interface Front {
  length: number;
  height: number;
}

/** Whole millimetres inside the front. */
export function kept([x, z]: Vec2, front: Front): Vec2 {
  return [
    Math.round(Math.min(front.length, Math.max(0, x))),
    Math.round(Math.min(front.height, Math.max(0, z))),
  ];
}

/** Where an arrow key takes a point; null for other keys. */
export function nudge([x, z]: Vec2, key: string, by_mm: number, front: Front): Vec2 | null {
  const steps: Record<string, Vec2> = {
    ArrowLeft: [-by_mm, 0],
    ArrowRight: [by_mm, 0],
    ArrowUp: [0, by_mm],
    ArrowDown: [0, -by_mm],
  };
  const step = steps[key];
  return step ? kept([x + step[0], z + step[1]], front) : null;
}

/** A new point halfway to the next one. */
export function insertAfter(outline: readonly Vec2[], index: number): Vec2[] {
  const a = outline[index];
  const b = outline[(index + 1) % outline.length];
  if (!a || !b) return [...outline];
  const middle: Vec2 = [Math.round((a[0] + b[0]) / 2), Math.round((a[1] + b[1]) / 2)];
  return [...outline.slice(0, index + 1), middle, ...outline.slice(index + 1)];
}

/** Something to start from without a pointer: a box in the middle of the ground, a third of the front wide. */
export function startingOutline(front: Front): Vec2[] {
  const [w, h] = [front.length / 3, front.height / 3];
  const left = (front.length - w) / 2;
  return (
    [
      [left, 0],
      [left + w, 0],
      [left + w, h],
      [left, h],
    ] as Vec2[]
  ).map((point) => kept(point, front));
}
