/** Follows one pointer from its press to its release, on whatever element it was pressed. */

export interface Drag {
  move(x: number, y: number, e: PointerEvent): void;
  /** `moved` is false for a mere click or tap. */
  end(moved: boolean, e: PointerEvent | null): void;
}

const SLACK_PX = 4;

/** Coordinates are relative to `frame`. Escape or a lost pointer ends the drag with no event. */
export function follow(e: PointerEvent, frame: Element, drag: Drag): void {
  const target = e.currentTarget as Element;
  target.setPointerCapture?.(e.pointerId);
  const [startX, startY] = [e.clientX, e.clientY];
  let moved = false;

  const move = (m: PointerEvent) => {
    if (m.pointerId !== e.pointerId) return;
    if (!moved && Math.hypot(m.clientX - startX, m.clientY - startY) < SLACK_PX) return;
    moved = true;
    const box = frame.getBoundingClientRect();
    drag.move(m.clientX - box.left, m.clientY - box.top, m);
  };
  const stop = (m: PointerEvent | null) => {
    removeEventListener('pointermove', move);
    removeEventListener('pointerup', up);
    removeEventListener('pointercancel', lost);
    removeEventListener('keydown', key, true);
    drag.end(moved, m);
  };
  const up = (m: PointerEvent) => {
    if (m.pointerId === e.pointerId) stop(m);
  };
  const lost = (m: PointerEvent) => {
    if (m.pointerId === e.pointerId) stop(null);
  };
  const key = (k: KeyboardEvent) => {
    if (k.key !== 'Escape') return;
    k.stopPropagation();
    stop(null);
  };
  addEventListener('pointermove', move);
  addEventListener('pointerup', up);
  addEventListener('pointercancel', lost);
  addEventListener('keydown', key, true);
}
