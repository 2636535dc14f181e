/** Taking hold of the ground: height points and the corners of a bed's region. */
import type { Bench } from '../bench.svelte';
import type { Eye } from '../eye.svelte';
import { heaped, reachOf } from '../heap';
import type { Bed, BedPoint, Xy, Xyz } from '../model';
import { heightAt } from '../scene/ground';
import { GRID_MM } from '../snap/move';
import { snapHeight } from '../snap/turn';
import type { Drag } from './dragging';
import type { Guides } from './piece.svelte';

const clamp = (v: number, most: number) => Math.max(0, Math.min(most, v));

function free(bench: Bench, e: PointerEvent | null): boolean {
  return !bench.snapping || !!e?.altKey;
}

/** In plan a point moves; in every other view it goes up and down. */
export function dragPoint(
  bench: Bench,
  eye: Eye,
  guides: Guides,
  bed: number,
  point: number,
  words: (mm: number) => string,
): Drag {
  const b = bench.composition.bed[bed] as Bed;
  const was = b.points[point] as BedPoint;
  const ground = bench.ground;
  const z = heightAt(ground, was[0], was[1]);
  const reach = reachOf(b, point);
  const grabbed: Xyz = [was[0], was[1], z];
  let now: BedPoint = [...was];
  return {
    move(x, y, e) {
      if (bench.view === 'plan') {
        const hit = eye.meet(x, y, grabbed, [0, 0, 1]);
        if (!hit) return;
        const grid = free(bench, e) ? 0.1 : GRID_MM;
        const [l, w] = bench.inside;
        now = [
          clamp(Math.round(hit[0] / grid) * grid, l),
          clamp(Math.round(hit[1] / grid) * grid, w),
          was[2],
        ];
        bench.bedDrag = { bed, point, at: now };
        return;
      }
      const hit = eye.meet(x, y, grabbed, eye.upright());
      if (!hit) return;
      const raw = was[2] + hit[2] - z;
      now = [was[0], was[1], Math.max(0, free(bench, e) ? raw : snapHeight(raw))];
      guides.words = `${b.by === 'top' ? 'top' : 'thickness'} ${words(now[2])}`;
      bench.bedDrag = { bed, point, at: now };
      if (ground) bench.groundPreview = heaped(ground, [was[0], was[1]], now[2] - was[2], reach, b);
    },
    end(moved, e) {
      guides.clear();
      bench.bedDrag = null;
      if (!moved) {
        bench.bedPoint = point;
        return;
      }
      if (e && now.some((v, i) => v !== was[i])) bench.edit({ do: 'bed-point', bed, point, to: now });
      else bench.groundPreview = null;
    },
  };
}

/** A corner of the region; a corner dropped on the middle of a side is a new one. */
export function dragCorner(bench: Bench, eye: Eye, bed: number, corner: number, fresh: boolean): Drag {
  const region = bench.composition.bed[bed]?.region;
  const [l, w] = bench.inside;
  if (!region || region === 'all') return { move() {}, end() {} };
  const put = (p: Xy): Xy[] =>
    fresh
      ? [...region.slice(0, corner), p, ...region.slice(corner)]
      : region.map((q, i) => (i === corner ? p : q));
  let now: Xy[] | null = null;
  return {
    move(x, y, e) {
      const hit = eye.meet(x, y, [0, 0, 0], [0, 0, 1]);
      if (!hit) return;
      const grid = free(bench, e) ? 0.1 : GRID_MM;
      now = put([clamp(Math.round(hit[0] / grid) * grid, l), clamp(Math.round(hit[1] / grid) * grid, w)]);
      bench.regionDrag = { bed, region: now };
    },
    end(moved, e) {
      bench.regionDrag = null;
      if (moved && e && now) bench.edit({ do: 'bed-region', bed, region: now });
    },
  };
}

/** What a click does with the ground tool: adds a corner of a region, or a height. */
export function clickGround(bench: Bench, eye: Eye, x: number, y: number): boolean {
  const hit = eye.world?.place(x, y);
  const [l, w] = bench.inside;
  if (!hit) return false;
  const at: Xy = [clamp(Math.round(hit.point[0] / 5) * 5, l), clamp(Math.round(hit.point[1] / 5) * 5, w)];
  if (bench.drawing) {
    bench.drawing = [...bench.drawing, at];
    return true;
  }
  if (!bench.addingPoint) return false;
  const bed = bench.composition.bed[bench.bed];
  if (!bed) return false;
  const top = heightAt(bench.ground, at[0], at[1]);
  const value = bed.by === 'top' ? Math.round(top) : Math.round(meanOf(bed));
  bench.edit({ do: 'bed-point-add', bed: bench.bed, to: [...at, value] });
  bench.bedPoint = bed.points.length;
  bench.addingPoint = false;
  return true;
}

export function meanOf(bed: Bed): number {
  return bed.points.reduce((s, p) => s + p[2], 0) / Math.max(1, bed.points.length);
}

/** Ends drawing a region; fewer than three corners are none. */
export function endRegion(bench: Bench, keep: boolean): void {
  const corners = bench.drawing;
  bench.drawing = null;
  if (!keep || !corners) return;
  if (corners.length < 3)
    bench.tell('A region needs at least three corners; nothing was changed.', 'warning');
  else bench.edit({ do: 'bed-region', bed: bench.bed, region: corners });
}
