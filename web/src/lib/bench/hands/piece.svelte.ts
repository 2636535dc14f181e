/** Taking hold of a placed piece: moving, turning, lifting and burying, turning freely. */
import { who } from '$lib/session/session.svelte';
import { printLength } from '$lib/units/print';
import type { Bench } from '../bench.svelte';
import type { Eye } from '../eye.svelte';
import type { Xy, Xyz } from '../model';
import { type Line, linesOf, snapMove } from '../snap/move';
import { snapHeight, snapTurn } from '../snap/turn';
import { between, compose, wrapped_deg } from '../turns';
import type { Drag } from './dragging';

const REACH_PX = 7;

/** What a drag shows beside the piece while it lasts. */
export class Guides {
  lines = $state.raw<Line[]>([]);
  words = $state('');
  clear(): void {
    this.lines = [];
    this.words = '';
  }
}

function free(bench: Bench, e: PointerEvent | null): boolean {
  return !bench.snapping || !!e?.altKey;
}

/** Where something is held, and which lines it has come to. */
export function placeWords(at: Xy, lines: readonly Line[]): string {
  const [left, front] = at.map((mm) => printLength(Math.round(mm * 10) / 10, who.units));
  return [`${left} from the left, ${front} from the front`, ...lines.map((l) => l.words)].join(' · ');
}

/** Keeps the middle of a piece so that it lies inside the glass, if it fits at all. */
export function insideTank(at: Xy, half: Xy, inside: readonly number[]): Xy {
  const hold = (v: number, h: number, length: number) =>
    2 * h >= length ? length / 2 : Math.max(h, Math.min(length - h, v));
  return [hold(at[0], half[0], inside[0] ?? 0), hold(at[1], half[1], inside[1] ?? 0)];
}

export function halfOf(bench: Bench, tag: string): Xy {
  const p = bench.placedOf(tag);
  return p ? [p.width_mm / 2, p.depth_mm / 2] : [0, 0];
}

/** Lines to snap to, leaving the piece itself out. */
function lines(bench: Bench, tag: string): Line[] {
  return linesOf(
    bench.inside,
    bench.composition.piece.filter((p) => p.tag !== tag),
  );
}

export function movePiece(bench: Bench, eye: Eye, guides: Guides, tag: string, grabbed: Xyz): Drag {
  const piece = bench.composition.piece.find((p) => p.tag === tag);
  const from: Xy = piece ? [...piece.at_mm] : [0, 0];
  const normal: Xyz = bench.view === 'front' ? [0, 1, 0] : bench.view === 'side' ? [1, 0, 0] : [0, 0, 1];
  const all = lines(bench, tag);
  let at = from;
  return {
    move(x, y, e) {
      const hit = eye.meet(x, y, grabbed, normal);
      if (!hit) return;
      const raw: Xy = [from[0] + hit[0] - grabbed[0], from[1] + hit[1] - grabbed[1]];
      const snapped = free(bench, e) ? { at_mm: raw, lines: [] } : snapMove(raw, all, REACH_PX / eye.pxPerMm);
      if (bench.view === 'front') snapped.at_mm[1] = from[1];
      if (bench.view === 'side') snapped.at_mm[0] = from[0];
      at = insideTank(snapped.at_mm, halfOf(bench, tag), bench.inside);
      guides.lines = snapped.lines.filter((l) => l.at_mm === at[l.axis === 'x' ? 0 : 1]);
      guides.words = placeWords(at, guides.lines);
      bench.drag(tag, at);
    },
    end(moved, e) {
      guides.clear();
      bench.dropped();
      if (!moved) return;
      if (e && (at[0] !== from[0] || at[1] !== from[1])) bench.edit({ do: 'move', tag, at_mm: at });
      else bench.unshow(tag);
    },
  };
}

export function turnPiece(
  bench: Bench,
  eye: Eye,
  guides: Guides,
  tag: string,
  start: [number, number],
): Drag {
  const piece = bench.composition.piece.find((p) => p.tag === tag);
  const middle: Xy = piece?.at_mm ?? [0, 0];
  const z = bench.placedOf(tag)?.low_mm ?? 0;
  const angle = (x: number, y: number) => {
    const hit = eye.meet(x, y, [...middle, z], [0, 0, 1]);
    return hit ? (Math.atan2(hit[1] - middle[1], hit[0] - middle[0]) * 180) / Math.PI : 0;
  };
  const first = angle(...start);
  const was = piece?.turn_deg ?? 0;
  let now = was;
  return {
    move(x, y, e) {
      const raw = was + wrapped_deg(angle(x, y) - first);
      const next = free(bench, e) ? raw : snapTurn(raw);
      if (next === now) return;
      bench.spin(tag, next - now, wrapped_deg(next));
      now = next;
      guides.words = `${Math.round(wrapped_deg(now) * 10) / 10}°`;
    },
    end(moved, e) {
      guides.clear();
      if (moved && e && now !== was) bench.edit({ do: 'turn', tag, turn_deg: wrapped_deg(now) });
      else bench.unshow(tag);
    },
  };
}

/** Up is lifting, down is burying. */
export function raisePiece(
  bench: Bench,
  eye: Eye,
  guides: Guides,
  tag: string,
  grabbed: Xyz,
  words: (mm: number) => string,
): Drag {
  const piece = bench.composition.piece.find((p) => p.tag === tag);
  const pose = bench.poseOf(tag);
  const was = (piece?.lift_mm ?? 0) - (piece?.bury_mm ?? 0);
  let now = was;
  return {
    move(x, y, e) {
      const hit = eye.meet(x, y, grabbed, eye.upright());
      if (!hit || !pose) return;
      now = was + hit[2] - grabbed[2];
      if (!free(bench, e)) now = snapHeight(now);
      const [cx, cy, cz] = pose.centre_mm;
      bench.show(tag, { ...pose, centre_mm: [cx, cy, cz + now - was] });
      guides.words =
        now < 0 ? `buried ${words(-now)}` : now > 0 ? `lifted ${words(now)}` : 'lies as it touches';
    },
    end(moved, e) {
      guides.clear();
      if (moved && e && now !== was) bench.edit(raiseEdit(tag, now, piece?.bury_mm ?? 0));
      else bench.unshow(tag);
    },
  };
}

export function raiseEdit(tag: string, up_mm: number, buried_mm: number) {
  if (up_mm < 0 || (up_mm === 0 && buried_mm > 0)) return { do: 'bury', tag, bury_mm: -up_mm } as const;
  return { do: 'lift', tag, lift_mm: up_mm } as const;
}

/** A ball round the piece: inside it rolls, on the ring it turns about the line of sight. */
export function tipPiece(
  bench: Bench,
  eye: Eye,
  tag: string,
  start: [number, number],
  centre: [number, number],
  radius: number,
): Drag {
  const pose = bench.poseOf(tag);
  const piece = bench.composition.piece.find((p) => p.tag === tag);
  const axes = eye.stage?.rig.axes();
  const onBall = (x: number, y: number): Xyz => {
    const u = (x - centre[0]) / radius;
    const v = (centre[1] - y) / radius;
    const r = Math.hypot(u, v);
    const w = Math.sqrt(Math.max(0, 1 - r * r));
    const k = r > 1 ? 1 / r : 1;
    if (!axes) return [0, 0, 1];
    const { right, up, towards } = axes;
    return [0, 1, 2].map(
      (i) => u * k * right.getComponent(i) + v * k * up.getComponent(i) + w * towards.getComponent(i),
    ) as Xyz;
  };
  const first = onBall(...start);
  let now = pose?.quaternion;
  return {
    move(x, y) {
      if (!pose || !piece) return;
      now = compose(between(first, onBall(x, y)), pose.quaternion);
      bench.show(tag, { ...pose, quaternion: now });
      bench.ask({ ...piece, pose: null, quaternion: now, turn_deg: 0 });
    },
    end(moved, e) {
      if (moved && e && now) bench.edit({ do: 'tip', tag, quaternion: now });
      else bench.unshow(tag);
    },
  };
}
