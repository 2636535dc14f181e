/** What a pointer, a finger or a wheel does on the canvas. */
import type { Bench } from '../bench.svelte';
import type { Eye } from '../eye.svelte';
import type { Xyz } from '../model';
import { type Drag, follow } from './dragging';
import { type Guides, movePiece } from './piece.svelte';

export interface CanvasActs {
  guides: Guides;
  /** A click with the tool that is not `compose`; true when it was used. */
  click(x: number, y: number): boolean;
  /** A drag that the tool takes, such as of a plant. */
  drag(x: number, y: number): Drag | null;
}

const WHEEL = 0.0016;

export function listen(frame: HTMLElement, bench: Bench, eye: Eye, acts: CanvasActs): () => void {
  const fingers = new Map<number, { x: number; y: number }>();
  let pinch: { distance: number; x: number; y: number } | null = null;

  const place = (e: { clientX: number; clientY: number }): [number, number] => {
    const box = frame.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  };

  const down = (e: PointerEvent) => {
    if (e.target !== frame && !(e.target as Element).matches?.('canvas')) return;
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (fingers.size > 1) return;
    frame.querySelector<HTMLElement>('canvas')?.focus({ preventScroll: true });
    const [x, y] = place(e);
    follow(e, frame, dragFor(e, x, y));
  };

  const dragFor = (e: PointerEvent, x: number, y: number): Drag => {
    if (e.button !== 0 || e.shiftKey) return looking(e, true);
    const own = acts.drag(x, y);
    if (own) return unlessPinch(own);
    const hit = bench.tool === 'compose' ? eye.world?.pick(x, y) : null;
    if (hit && (e.pointerType === 'mouse' || hit.tag === bench.chosen)) {
      bench.choose(hit.tag);
      return unlessPinch(movePiece(bench, eye, acts.guides, hit.tag, hit.point.toArray() as Xyz));
    }
    return looking(e, bench.view !== 'free', () => {
      if (acts.click(x, y)) return;
      bench.choose(hit?.tag ?? null);
    });
  };

  const unlessPinch = (drag: Drag): Drag => ({
    move: (x, y, e) => (fingers.size > 1 ? undefined : drag.move(x, y, e)),
    end: (moved, e) => {
      forget(e);
      drag.end(moved, e);
    },
  });

  const forget = (e: PointerEvent | null) => {
    if (e) fingers.delete(e.pointerId);
    else fingers.clear();
    pinch = null;
  };

  const looking = (e: PointerEvent, pan: boolean, click: () => void = () => {}): Drag => {
    let [lastX, lastY] = place(e);
    return {
      move(x, y) {
        if (fingers.size <= 1) {
          if (pan) eye.stage?.rig.pan(x - lastX, y - lastY);
          else eye.stage?.rig.orbit(x - lastX, y - lastY);
          eye.stage?.rig.jump();
          eye.stage?.ask();
        }
        [lastX, lastY] = [x, y];
      },
      end(moved, up) {
        forget(up);
        if (!moved && up && e.button === 0) click();
      },
    };
  };

  const pinching = (e: PointerEvent) => {
    const at = fingers.get(e.pointerId);
    if (!at || fingers.size !== 2) return;
    fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
    const [a, b] = [...fingers.values()];
    if (!a || !b) return;
    const [x, y] = place({ clientX: (a.x + b.x) / 2, clientY: (a.y + b.y) / 2 });
    const distance = Math.hypot(a.x - b.x, a.y - b.y);
    const rig = eye.stage?.rig;
    if (pinch && rig) {
      rig.zoomAt(distance / (pinch.distance || 1), x, y);
      rig.pan(x - pinch.x, y - pinch.y);
      rig.jump();
      eye.stage?.ask();
    }
    pinch = { distance, x, y };
  };

  const lost = (e: PointerEvent) => {
    fingers.delete(e.pointerId);
    if (fingers.size < 2) pinch = null;
  };

  const hover = (e: PointerEvent) => {
    pinching(e);
    if (e.pointerType !== 'mouse' || e.buttons || bench.tool !== 'compose') return;
    const [x, y] = place(e);
    bench.over = eye.world?.pick(x, y)?.tag ?? null;
  };

  const wheel = (e: WheelEvent) => {
    e.preventDefault();
    const [x, y] = place(e);
    const delta = e.deltaMode === 1 ? e.deltaY * 24 : e.deltaY;
    eye.stage?.rig.zoomAt(Math.exp(-delta * WHEEL * (e.ctrlKey ? 4 : 1)), x, y);
    eye.stage?.ask();
  };

  const menu = (e: Event) => e.preventDefault();
  const leave = () => {
    bench.over = null;
  };

  const all: [string, EventListener, AddEventListenerOptions?][] = [
    ['pointerdown', down as EventListener],
    ['pointermove', hover as EventListener],
    ['pointerleave', leave],
    ['contextmenu', menu],
    ['wheel', wheel as EventListener, { passive: false }],
  ];
  for (const [name, call, how] of all) frame.addEventListener(name, call, how);
  addEventListener('pointerup', lost);
  addEventListener('pointercancel', lost);
  return () => {
    for (const [name, call] of all) frame.removeEventListener(name, call);
    removeEventListener('pointerup', lost);
    removeEventListener('pointercancel', lost);
  };
}
