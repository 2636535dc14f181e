/** Carrying a piece from the tray over the tank, where it shows how it would come to rest. */
import type { PieceCard } from '$lib/api/types';
import type { Bench } from '../bench.svelte';
import type { Eye } from '../eye.svelte';
import type { Xy } from '../model';
import { linesOf, snapMove } from '../snap/move';
import type { Drag } from './dragging';
import { type Guides, insideTank, placeWords } from './piece.svelte';

export class Carried {
  card = $state.raw<PieceCard | null>(null);
  x = $state(0);
  y = $state(0);
  over = $state(false);
}

function halfOf(card: PieceCard): Xy {
  return [card.as_laid_mm.width / 2, card.as_laid_mm.depth / 2];
}

/** Where a carried piece would go when let go over this place of the canvas. */
function aim(bench: Bench, eye: Eye, card: PieceCard, x: number, y: number): Xy | null {
  const [l, w] = bench.inside;
  let at: Xy | null = null;
  if (bench.view === 'front' || bench.view === 'side') {
    const middle: [number, number, number] = [l / 2, w / 2, 0];
    const hit = eye.meet(x, y, middle, bench.view === 'front' ? [0, 1, 0] : [1, 0, 0]);
    at = hit && (bench.view === 'front' ? [hit[0], w / 2] : [l / 2, hit[1]]);
  } else {
    const hit = eye.world?.place(x, y, card.tag);
    at = hit ? [hit.point[0], hit.point[1]] : null;
  }
  return at && insideTank(at, halfOf(card), bench.inside);
}

export function carry(
  bench: Bench,
  eye: Eye,
  guides: Guides,
  carried: Carried,
  card: PieceCard,
  canvas: () => Element | null,
): Drag {
  let at: Xy | null = null;
  let first = true;
  const lines = linesOf(bench.inside, bench.composition.piece);
  return {
    move(_x, _y, e) {
      const box = canvas()?.getBoundingClientRect();
      Object.assign(carried, { card, x: e.clientX, y: e.clientY });
      carried.over =
        !!box &&
        e.clientX > box.left &&
        e.clientX < box.right &&
        e.clientY > box.top &&
        e.clientY < box.bottom;
      const raw =
        carried.over && box ? aim(bench, eye, card, e.clientX - box.left, e.clientY - box.top) : null;
      if (!raw) {
        if (at) bench.unshow(card.tag);
        at = null;
        first = true;
        guides.clear();
        return;
      }
      const snapped =
        bench.snapping && !e.altKey ? snapMove(raw, lines, 7 / eye.pxPerMm) : { at_mm: raw, lines: [] };
      at = insideTank(snapped.at_mm, halfOf(card), bench.inside);
      guides.lines = snapped.lines;
      guides.words = placeWords(at, snapped.lines);
      if (first) void hover(bench, card, at);
      first = false;
      bench.carry(card.tag, at);
    },
    end(moved, e) {
      carried.card = null;
      guides.clear();
      bench.dropped();
      if (moved && e && at) place(bench, card, at);
      else if (at) bench.unshow(card.tag);
    },
  };
}

/** Shows the piece at once where it is held, before the first answer says how it would rest. */
async function hover(bench: Bench, card: PieceCard, at: Xy): Promise<void> {
  const detail = await bench.detail(card.tag).catch(() => null);
  const lying = detail?.resting_poses[0];
  if (!lying || bench.poses.has(card.tag)) return;
  bench.show(card.tag, { centre_mm: [at[0], at[1], lying.height_mm / 2 + 20], quaternion: lying.quaternion });
}

export function place(bench: Bench, card: PieceCard, at_mm: Xy): void {
  if (bench.composition.piece.some((p) => p.tag === card.tag)) {
    bench.tell(`${card.tag} is in this tank already.`, 'note');
    return;
  }
  bench.edit({ do: 'place', tag: card.tag, at_mm });
  bench.choose(card.tag);
  bench.say(`${card.tag} placed`);
}
