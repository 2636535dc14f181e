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

interface Place {
  clientX: number;
  clientY: number;
}

const WHEEL = 0.0016;
const LINE_PX = 24;

/** Listens on the frame round the canvas; the answer stops it. */
export function listen(frame: HTMLElement, bench: Bench, eye: Eye, acts: CanvasActs): () => void {
  const hands = new CanvasHands(frame, bench, eye, acts);
  const on = new AbortController();
  const how = { signal: on.signal };
  frame.addEventListener('pointerdown', (e) => hands.down(e), how);
  frame.addEventListener('pointermove', (e) => hands.hover(e), how);
  frame.addEventListener('pointerleave', () => hands.leave(), how);
  frame.addEventListener('contextmenu', (e) => e.preventDefault(), how);
  frame.addEventListener('wheel', (e) => hands.wheel(e), { ...how, passive: false });
  addEventListener('pointerup', (e) => hands.lift(e), how);
  addEventListener('pointercancel', (e) => hands.lift(e), how);
  return () => on.abort();
}

class CanvasHands {
  private readonly fingers = new Map<number, Place>();
  private pinch: { distance: number; x: number; y: number } | null = null;

  constructor(
    private readonly frame: HTMLElement,
    private readonly bench: Bench,
    private readonly eye: Eye,
    private readonly acts: CanvasActs,
  ) {}

  down(e: PointerEvent): void {
    if (e.target !== this.frame && !(e.target as Element).matches?.('canvas')) return;
    this.fingers.set(e.pointerId, { clientX: e.clientX, clientY: e.clientY });
    if (this.fingers.size > 1) return;
    this.frame.querySelector<HTMLElement>('canvas')?.focus({ preventScroll: true });
    const [x, y] = this.place(e);
    follow(e, this.frame, this.dragFor(e, x, y));
  }

  hover(e: PointerEvent): void {
    this.pinching(e);
    if (e.pointerType !== 'mouse' || e.buttons || this.bench.tool !== 'compose') return;
    const [x, y] = this.place(e);
    this.bench.over = this.eye.world?.pick(x, y)?.tag ?? null;
  }

  leave(): void {
    this.bench.over = null;
  }

  lift(e: PointerEvent): void {
    this.fingers.delete(e.pointerId);
    if (this.fingers.size < 2) this.pinch = null;
  }

  wheel(e: WheelEvent): void {
    e.preventDefault();
    const [x, y] = this.place(e);
    const delta = e.deltaMode === WheelEvent.DOM_DELTA_LINE ? e.deltaY * LINE_PX : e.deltaY;
    // A pinch on a touchpad comes as a wheel with Ctrl, in smaller steps.
    this.eye.stage?.rig.zoomAt(Math.exp(-delta * WHEEL * (e.ctrlKey ? 4 : 1)), x, y);
    this.eye.stage?.ask();
  }

  private place(e: Place): [number, number] {
    const box = this.frame.getBoundingClientRect();
    return [e.clientX - box.left, e.clientY - box.top];
  }

  /** A mouse takes hold of any piece; a finger of the chosen one only, so that it can also look round. */
  private dragFor(e: PointerEvent, x: number, y: number): Drag {
    const { bench, eye, acts } = this;
    if (e.button !== 0 || e.shiftKey) return this.looking(e, true);
    const own = acts.drag(x, y);
    if (own) return this.withOneFinger(own);
    const hit = bench.tool === 'compose' ? eye.world?.pick(x, y) : null;
    if (hit && (e.pointerType === 'mouse' || hit.tag === bench.chosen)) {
      bench.choose(hit.tag);
      return this.withOneFinger(movePiece(bench, eye, acts.guides, hit.tag, hit.point.toArray() as Xyz));
    }
    return this.looking(e, bench.view !== 'free', () => {
      if (!acts.click(x, y)) bench.choose(hit?.tag ?? null);
    });
  }

  private withOneFinger(drag: Drag): Drag {
    return {
      move: (x, y, e) => {
        if (this.fingers.size <= 1) drag.move(x, y, e);
      },
      end: (moved, e) => {
        this.forget(e);
        drag.end(moved, e);
      },
    };
  }

  private looking(e: PointerEvent, pan: boolean, click: () => void = () => {}): Drag {
    let [lastX, lastY] = this.place(e);
    return {
      move: (x, y) => {
        if (this.fingers.size <= 1) {
          const rig = this.eye.stage?.rig;
          if (pan) rig?.pan(x - lastX, y - lastY);
          else rig?.orbit(x - lastX, y - lastY);
          this.followEye();
        }
        [lastX, lastY] = [x, y];
      },
      end: (moved, up) => {
        this.forget(up);
        if (!moved && up && e.button === 0) click();
      },
    };
  }

  private pinching(e: PointerEvent): void {
    if (!this.fingers.has(e.pointerId) || this.fingers.size !== 2) return;
    this.fingers.set(e.pointerId, { clientX: e.clientX, clientY: e.clientY });
    const [a, b] = [...this.fingers.values()];
    if (!a || !b) return;
    const [x, y] = this.place({ clientX: (a.clientX + b.clientX) / 2, clientY: (a.clientY + b.clientY) / 2 });
    const distance = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
    if (this.pinch) {
      this.eye.stage?.rig.zoomAt(distance / (this.pinch.distance || 1), x, y);
      this.eye.stage?.rig.pan(x - this.pinch.x, y - this.pinch.y);
      this.followEye();
    }
    this.pinch = { distance, x, y };
  }

  /** The hand leads: no damping behind it. */
  private followEye(): void {
    this.eye.stage?.rig.jump();
    this.eye.stage?.ask();
  }

  private forget(e: PointerEvent | null): void {
    if (e) this.fingers.delete(e.pointerId);
    else this.fingers.clear();
    this.pinch = null;
  }
}
