/** A gap that wants a piece: a box, or an outline drawn on the tank's front and the depth behind it. */
import type { Kind, Vec2 } from '$lib/api/types';
import { crossesItself, readOutline, signedArea, writeOutline } from '$lib/yard/outline';

export interface Box {
  width: number;
  depth: number;
  height: number;
}

export interface Question {
  by: 'box' | 'outline';
  box: Box;
  /** Points on the front, mm from its inside bottom left, z up; null until something is drawn. */
  outline: Vec2[] | null;
  depth_mm: number;
  /** Inside of the tank's front that the outline is drawn on. */
  front: { length: number; height: number };
  kind: '' | Kind;
  /** Only what may be placed at once: ready or on display; otherwise held and in preparation too. */
  ready: boolean;
}

export const MOST_MM = 3000;

/** A gap such as one meets in a 60 cm tank, so that the page starts with an answer. */
export function firstQuestion(): Question {
  return {
    by: 'box',
    box: { width: 150, depth: 120, height: 110 },
    outline: null,
    depth_mm: 150,
    front: { length: 584, height: 352 },
    kind: '',
    ready: true,
  };
}

function length(query: URLSearchParams, key: string, otherwise: number): number {
  const text = query.get(key);
  const value = text === null || text === '' ? Number.NaN : Number(text);
  return Number.isFinite(value) && value > 0 && value <= MOST_MM ? value : otherwise;
}

export function readQuestion(query: URLSearchParams): Question {
  const start = firstQuestion();
  const outline = readOutline(query.get('outline'));
  return {
    by: query.has('outline') ? 'outline' : 'box',
    box: {
      width: length(query, 'w', start.box.width),
      depth: length(query, 'd', start.box.depth),
      height: length(query, 'h', start.box.height),
    },
    outline,
    depth_mm: length(query, 'depth', start.depth_mm),
    front: {
      length: length(query, 'length', start.front.length),
      height: length(query, 'height', start.front.height),
    },
    kind: query.get('kind') === 'stone' ? 'stone' : query.get('kind') === 'wood' ? 'wood' : '',
    ready: query.get('all') === null,
  };
}

/** The whole of it in an address, so that the way back from a piece leads to the same answers. */
export function writeQuestion(q: Question): Record<string, string | number | null> {
  const outline = q.by === 'outline';
  return {
    w: outline ? null : q.box.width,
    d: outline ? null : q.box.depth,
    h: outline ? null : q.box.height,
    outline: outline ? (q.outline ? writeOutline(q.outline) : 'draw') : null,
    depth: outline ? q.depth_mm : null,
    length: outline ? q.front.length : null,
    height: outline ? q.front.height : null,
    kind: q.kind === '' ? null : q.kind,
    all: q.ready ? null : 1,
  };
}

/** Why this can't be asked yet, in words; null when it can. */
export function questionTrouble(q: Question): string | null {
  if (q.by === 'box') return null;
  if (!q.outline) return 'Draw the gap on the front.';
  if (crossesItself(q.outline)) return 'The outline crosses itself: move a point, or draw it anew.';
  if (Math.abs(signedArea(q.outline)) < 400) return 'The outline holds nothing: draw it larger.';
  return null;
}

/** What the server is asked. Outlines go round to the left. */
export function bodyOf(q: Question): Record<string, unknown> {
  const narrowed: Record<string, unknown> = {};
  if (q.kind !== '') narrowed.kind = q.kind;
  narrowed.states = q.ready ? ['ready', 'on_display'] : ['ready', 'on_display', 'held', 'in_preparation'];
  if (q.by === 'box') return { box_mm: q.box, ...narrowed };
  const outline = q.outline ?? [];
  const left = signedArea(outline) < 0 ? [...outline].reverse() : outline;
  return { outline_mm: left, depth_mm: q.depth_mm, ...narrowed };
}

/** The gap's own front outline, as the results are drawn in it. */
export function gapOf(q: Question): Vec2[] {
  if (q.by === 'outline') return q.outline ?? [];
  const { width, height } = q.box;
  return [
    [0, 0],
    [width, 0],
    [width, height],
    [0, height],
  ];
}
