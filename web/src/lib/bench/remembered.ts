/** Steps that had not reached the server when the window was closed, kept in this browser until they have. */
import type { Step } from './queue';

const key = (id: number) => `lentic.bench.${id}`;

export function rememberSteps(id: number, steps: readonly Step[]): void {
  try {
    const edits = steps.filter((s) => 'edit' in s);
    if (edits.length) localStorage.setItem(key(id), JSON.stringify(edits));
    else localStorage.removeItem(key(id));
  } catch {
    // A browser without storage still has the queue while the window is open.
  }
}

export function remembered(id: number): Step[] {
  try {
    const steps: unknown = JSON.parse(localStorage.getItem(key(id)) ?? '[]');
    return Array.isArray(steps) ? (steps.filter((s) => s?.edit?.do) as Step[]) : [];
  } catch {
    return [];
  }
}
