/** The papers that the sheets are drawn for. */

import { address } from '$lib/api/client';
import type { Units } from '$lib/api/types';

export const PAPERS = [
  { value: 'a4', label: 'A4, tiled' },
  { value: 'a3', label: 'A3, tiled' },
  { value: 'letter', label: 'Letter, tiled' },
  { value: 'sheet', label: 'One sheet, for a plotter' },
] as const;

export type Paper = (typeof PAPERS)[number]['value'];

export function defaultPaper(units: Units): Paper {
  return units === 'us' ? 'letter' : 'a4';
}

export function settingOut(layout: number, paper: Paper, units: Units): string {
  return address(`/api/layouts/${layout}/setting-out.pdf`, { paper, units });
}

export function buildSheet(layout: number, paper: Paper, units: Units): string {
  return address(`/api/layouts/${layout}/build-sheet.pdf`, { paper, units });
}
