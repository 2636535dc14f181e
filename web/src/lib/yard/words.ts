/** The yard's states and kinds in words. */
import type { Kind, RestingPose } from '$lib/api/types';

export const STATES = ['in_preparation', 'ready', 'held', 'sold', 'on_display'] as const;
export type StateKey = (typeof STATES)[number];

/** `in_preparation` → `in preparation`; words that the client doesn't know yet read on as they came. */
export function stateWords(state: string): string {
  return state.replaceAll('_', ' ');
}

/** One key for a state however it is spelt. */
export function stateKey(state: string): string {
  return state.trim().toLowerCase().replaceAll(' ', '_').replaceAll('-', '_');
}

/** What a state means for the person who holds the piece in the hand. */
export const STATE_MEANING: Record<StateKey, string> = {
  in_preparation: 'being washed, soaked or cured; not fit to sell yet',
  ready: 'may be placed, held or sold',
  held: 'set aside for one commission',
  sold: 'gone or waiting to be packed',
  on_display: 'stands in a tank or window of the house',
};

export function kindWord(kind: Kind, n = 1): string {
  if (kind === 'stone') return n === 1 ? 'stone' : 'stones';
  return n === 1 ? 'piece of wood' : 'pieces of wood';
}

export function counted(n: number, one: string, many = `${one}s`): string {
  return `${n.toLocaleString('en').replaceAll(',', '\u2009')} ${n === 1 ? one : many}`;
}

/** How often a piece dropped at random comes to lie so, in words. */
export function likelihood(pose: RestingPose): string {
  const percent = Math.round(pose.probability * 100);
  return percent < 1 ? 'under 1 % of drops' : `${percent} % of drops`;
}

/** What a tip angle means when you nudge the piece. Steps: common practice, no source. */
export function steadiness(tip_deg: number): string {
  if (tip_deg < 5) return 'barely stands';
  if (tip_deg < 12) return 'unsteady';
  if (tip_deg < 25) return 'fairly steady';
  return 'steady';
}
