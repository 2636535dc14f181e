/** Dimension lines of a scan as they stand on the screen. */
import type { PieceCard, Quaternion, RestingPose, Vec3 } from '$lib/api/types';
import { type LeastBox, turnBy } from './box';
import { EDGES, lainLines, outerEdges } from './lines';
import type { DrawnLine } from './ScanLines.svelte';
import type { ScanStage } from './stage';

export interface Overlay {
  drawn: DrawnLine[];
  /** Edges of a box, as a path; empty without one. */
  frame: string;
}

type Tape = (mm: number) => string;

export function poseSize(pose: RestingPose): PieceCard['as_laid_mm'] {
  return { width: pose.width_mm, depth: pose.depth_mm, height: pose.height_mm };
}

/** Width, depth and height as the piece lies. */
export function lainOverlay(stage: ScanStage, size: PieceCard['as_laid_mm'], tape: Tape): Overlay {
  const { from, to } = stage.lain;
  const off = 0.07 * Math.hypot(to[0] - from[0], to[1] - from[1]);
  const drawn = lainLines(from, to, stage.azimuth, off).map(
    (line): DrawnLine => ({
      edge: [stage.project(line.edge[0]), stage.project(line.edge[1])],
      line: [stage.project(line.line[0]), stage.project(line.line[1])],
      text: tape(size[line.side]),
    }),
  );
  return { drawn, frame: '' };
}

/** Long, mid and short on the least box round the piece. */
export function leastOverlay(
  stage: ScanStage,
  { turn, size }: LeastBox,
  measured: PieceCard['size_mm'],
  tape: Tape,
): Overlay {
  const back: Quaternion = [turn[0], -turn[1], -turn[2], -turn[3]];
  const middle = middleAlong(stage, turn);
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((i) => {
    const corner: Vec3 = [
      middle[0] + size[0] * ((i & 1 ? 1 : 0) - 0.5),
      middle[1] + size[1] * ((i & 2 ? 1 : 0) - 0.5),
      middle[2] + size[2] * ((i & 4 ? 1 : 0) - 0.5),
    ];
    return stage.project(stage.onSheet(turnBy(back, corner)));
  });
  const at = (i: number) => corners[i] ?? ([0, 0] as [number, number]);
  const sides = [measured.long, measured.mid, measured.short];
  const drawn = outerEdges(corners).map(
    ([i, j], k): DrawnLine => ({ edge: [at(i), at(j)], line: [at(i), at(j)], text: tape(sides[k] ?? 0) }),
  );
  return { drawn, frame: EDGES.map(([i, j]) => `M${at(i).join(' ')}L${at(j).join(' ')}`).join('') };
}

const middles = new WeakMap<ScanStage, { turn: Quaternion; middle: Vec3 }>();

/** Middle of the least box in its own axes, found once for each scan. */
function middleAlong(stage: ScanStage, turn: Quaternion): Vec3 {
  const known = middles.get(stage);
  if (known?.turn === turn) return known.middle;
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  const at = stage.geometry.getAttribute('position');
  for (let i = 0; i < at.count; i++)
    for (const [k, x] of turnBy(turn, [at.getX(i), at.getY(i), at.getZ(i)]).entries()) {
      low[k] = Math.min(low[k] ?? 0, x);
      high[k] = Math.max(high[k] ?? 0, x);
    }
  const mid = (k: number) => ((low[k] ?? 0) + (high[k] ?? 0)) / 2;
  const middle: Vec3 = [mid(0), mid(1), mid(2)];
  middles.set(stage, { turn, middle });
  return middle;
}
