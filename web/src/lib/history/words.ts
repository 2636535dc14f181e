/** An event in plain words: `piece.state_changed` with before and after → `State changed: ready → held`. */
import type { HistoryEvent } from '$lib/api/types';

/** Keys that change with every step and tell a person nothing. */
const SILENT = new Set(['version', 'changed_at_ms', 'at_ms', 'id']);

function spaced(word: string): string {
  const words = word.replace(/[._]/g, ' ').trim();
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function short(value: unknown): string | null {
  if (value === null || value === undefined || value === '') return 'none';
  if (typeof value === 'string') return value.replace(/_/g, ' ');
  if (typeof value === 'number' || typeof value === 'boolean') return String(value);
  if (isRecord(value) && typeof value.amount === 'number')
    return `${value.amount} ${value.currency ?? ''}`.trim();
  return null;
}

/** What changed between before and after, the short values in full. */
export function changes(event: HistoryEvent): string[] {
  const { before, after } = event;
  if (!isRecord(after) || !isRecord(before)) return [];
  const lines: string[] = [];
  for (const [key, now] of Object.entries(after)) {
    if (SILENT.has(key) || JSON.stringify(before[key]) === JSON.stringify(now)) continue;
    const [was, is] = [short(before[key]), short(now)];
    const name = spaced(key.replace(/_(mm|kg|ms|l|deg)$/, ''));
    lines.push(was === null || is === null ? name : `${name}: ${was} → ${is}`);
  }
  return lines;
}

export function eventWords(event: HistoryEvent): string {
  if (event.deed) return spaced(event.deed);
  const verb = event.what.split('.').slice(1).join('.') || event.what;
  return spaced(verb);
}
