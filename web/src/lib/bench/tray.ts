/** Drawing the tray's pieces to one common scale. */
import type { PieceCard } from '$lib/api/types';

const WIDTH_PX = 104;
const HEIGHT_PX = 56;

/** Pixels to a millimetre with which nearly all pieces fill their places; the few largest are cut to fit. */
export function scaleOf(cards: readonly PieceCard[]): number {
  const needed = cards
    .map((c) =>
      Math.min(WIDTH_PX / Math.max(1, c.as_laid_mm.width), HEIGHT_PX / Math.max(1, c.as_laid_mm.height)),
    )
    .sort((a, b) => a - b);
  return needed[Math.floor(needed.length * 0.1)] ?? 0.3;
}

/** The front outline as a path that stands on the bottom, in the middle. */
export function outlinePath(card: PieceCard, scale: number, width: number, height: number): string {
  const { width: w, height: h } = card.as_laid_mm;
  const k = Math.min(scale, width / Math.max(1, w), (height - 2) / Math.max(1, h));
  const points =
    card.outline.length > 2
      ? card.outline
      : ([
          [0, 0],
          [w, 0],
          [w, h],
          [0, h],
        ] as [number, number][]);
  const right = Math.max(...points.map((p) => p[0]));
  const left = (width - right * k) / 2;
  return `M${points.map(([x, z]) => `${(left + x * k).toFixed(1)} ${(height - 1 - z * k).toFixed(1)}`).join('L')}Z`;
}

/** Whether a piece's box goes between the glasses, long side along the longest. */
export function fitsBetween(card: PieceCard, inside_mm: readonly number[]): boolean {
  const room = [...inside_mm].sort((a, b) => b - a);
  const { long, mid, short } = card.size_mm;
  return [long, mid, short].every((side, i) => side <= (room[i] ?? 0));
}
