/** What differs between two states of a layout, in sentences. */
import type { Composition, Placed, Reckoning } from '$lib/api/types';

export interface Compared {
  composition: Composition;
  placed: readonly Placed[];
  reckoning?: Reckoning | null;
}

export function differences(a: Compared, b: Compared, length: (mm: number) => string): string[] {
  return [
    ...tankLines(a, b),
    ...pieceLines(a, b, length),
    ...groundLines(a, b),
    ...plantLines(a, b),
    ...figureLines(a, b),
  ];
}

function tankLines(a: Compared, b: Compared): string[] {
  return JSON.stringify(a.composition.tank) === JSON.stringify(b.composition.tank)
    ? []
    : ['The tank is another one.'];
}

function pieceLines(a: Compared, b: Compared, length: (mm: number) => string): string[] {
  const before = new Map(a.placed.map((p) => [p.tag, p]));
  const after = new Map(b.placed.map((p) => [p.tag, p]));
  const lines: string[] = [];
  const gone = [...before.keys()].filter((t) => !after.has(t));
  const come = [...after.keys()].filter((t) => !before.has(t));
  if (come.length) lines.push(`${list(come)} came in.`);
  if (gone.length) lines.push(`${list(gone)} went out.`);
  for (const [tag, p] of before) {
    const q = after.get(tag);
    const words = q && movement(p, q, length);
    if (words) lines.push(`${tag} ${words}.`);
  }
  return lines;
}

function movement(p: Placed, q: Placed, length: (mm: number) => string): string | null {
  const [dx, dy, dz] = [0, 1, 2].map((i) => (q.pose.centre_mm[i] ?? 0) - (p.pose.centre_mm[i] ?? 0)) as [
    number,
    number,
    number,
  ];
  const dot = Math.abs(p.pose.quaternion.reduce((s, v, i) => s + v * (q.pose.quaternion[i] ?? 0), 0));
  const turned_deg = (2 * Math.acos(Math.min(1, dot)) * 180) / Math.PI;
  const parts: string[] = [];
  if (Math.abs(dx) >= 1) parts.push(`${length(Math.abs(dx))} to the ${dx > 0 ? 'right' : 'left'}`);
  if (Math.abs(dy) >= 1) parts.push(`${length(Math.abs(dy))} ${dy > 0 ? 'back' : 'forward'}`);
  if (Math.abs(dz) >= 1) parts.push(`${length(Math.abs(dz))} ${dz > 0 ? 'up' : 'down'}`);
  const moved = parts.length ? `moved ${list(parts)}` : '';
  const turned = turned_deg >= 1 ? `turned ${Math.round(turned_deg)}°` : '';
  return [moved, turned].filter(Boolean).join(' and ') || null;
}

function groundLines(a: Compared, b: Compared): string[] {
  if (JSON.stringify(a.composition.bed) === JSON.stringify(b.composition.bed)) return [];
  const [n, m] = [a.composition.bed.length, b.composition.bed.length];
  return [
    n === m
      ? 'The ground is shaped otherwise.'
      : `The ground has ${m} ${m === 1 ? 'bed' : 'beds'} instead of ${n}.`,
  ];
}

function plantLines(a: Compared, b: Compared): string[] {
  const before = new Map((a.composition.plant ?? []).map((p) => [p.name, p]));
  const after = new Map((b.composition.plant ?? []).map((p) => [p.name, p]));
  const lines: string[] = [];
  const come = [...after.keys()].filter((k) => !before.has(k));
  const gone = [...before.keys()].filter((k) => !after.has(k));
  const other = [...after]
    .filter(([k, p]) => before.has(k) && JSON.stringify(before.get(k)) !== JSON.stringify(p))
    .map(([k]) => k);
  if (come.length) lines.push(`Planted: ${list(come)}.`);
  if (gone.length) lines.push(`No longer planted: ${list(gone)}.`);
  if (other.length) lines.push(`Planted otherwise: ${list(other)}.`);
  return lines;
}

/** The main figure of each group where both sides have it and it differs by what a person would see. */
function figureLines(a: Compared, b: Compared): string[] {
  const lines: string[] = [];
  for (const group of b.reckoning?.groups ?? []) {
    const before = a.reckoning?.groups.find((g) => g.name === group.name);
    for (const f of group.figures) {
      const old = before?.figures.find((x) => x.key === f.key);
      if (!old || old.value === null || f.value === null) continue;
      const change = f.value - old.value;
      if (Math.abs(change) < Math.max(0.05, Math.abs(old.value) * 0.002)) continue;
      lines.push(`${f.label}: ${rounded(old.value)} → ${rounded(f.value)} ${f.unit}.`);
    }
  }
  return lines;
}

function rounded(v: number): string {
  return Math.abs(v) >= 100 ? v.toFixed(0) : v.toFixed(1);
}

function list(words: readonly string[]): string {
  if (words.length <= 1) return words[0] ?? '';
  return `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}
