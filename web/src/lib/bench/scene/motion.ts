// Playing a settling back: which pose every piece has at a moment.

import type { Settled } from '$lib/api/types';
import type { Pose, Turn } from '../model';

/** Seconds that the whole motion takes as it was computed. */
export function length_s(s: Settled): number {
  return Math.max(0, s.frames.length - 1) * s.dt_s;
}

/** Poses at a time, between the two frames round it. */
export function posesAt(s: Settled, t_s: number): Map<string, Pose> {
  const poses = new Map<string, Pose>();
  const last = s.frames.length - 1;
  if (last < 0) return poses;
  const u = Math.max(0, Math.min(last, t_s / (s.dt_s || 1)));
  const i = Math.floor(u);
  const a = s.frames[i];
  const b = s.frames[Math.min(last, i + 1)];
  s.tags.forEach((tag, k) => {
    const from = a?.[k];
    const to = b?.[k];
    if (from && to) poses.set(tag, between(from, to, u - i));
  });
  return poses;
}

function between(a: number[], b: number[], t: number): Pose {
  const at = (k: number) => (a[k] ?? 0) + ((b[k] ?? 0) - (a[k] ?? 0)) * t;
  const dot = [3, 4, 5, 6].reduce((sum, k) => sum + (a[k] ?? 0) * (b[k] ?? 0), 0);
  const sign = dot < 0 ? -1 : 1;
  const q = [3, 4, 5, 6].map((k) => (a[k] ?? 0) * (1 - t) + sign * (b[k] ?? 0) * t);
  const length = Math.hypot(...q) || 1;
  return { centre_mm: [at(0), at(1), at(2)], quaternion: q.map((v) => v / length) as Turn };
}

/** What moved, in a sentence for each piece that did. */
export function movedWords(s: Settled, length: (mm: number) => string): string[] {
  return s.final
    .filter((p) => p.moved_mm >= 1 || p.turned_deg >= 1 || !p.at_rest)
    .sort((a, b) => b.moved_mm - a.moved_mm)
    .map((p) => {
      const turn = p.turned_deg >= 1 ? ` and turned ${Math.round(p.turned_deg)}°` : '';
      const rest = p.at_rest ? '' : ', and has not come to rest';
      return `${p.tag} moved ${length(p.moved_mm)}${turn}${rest}`;
    });
}
