// Asking while something is dragged: one question at a time, the newest next, older ones never asked.

/** Wraps a question so that at most one is under way and only the newest waits. Answers come in order. */
export function latest<Q, A>(ask: (q: Q, signal: AbortSignal) => Promise<A>, answer: (a: A, q: Q) => void) {
  let waiting: { q: Q } | null = null;
  let running: AbortController | null = null;
  let generation = 0;

  async function next(): Promise<void> {
    if (running || !waiting) return;
    const { q } = waiting;
    waiting = null;
    const control = new AbortController();
    running = control;
    const mine = generation;
    try {
      const a = await ask(q, control.signal);
      if (mine === generation) answer(a, q);
    } catch {
      // A preview that fails shows nothing; the drop itself tells what is wrong.
    } finally {
      if (running === control) running = null;
      void next();
    }
  }

  return {
    ask(q: Q): void {
      waiting = { q };
      void next();
    },
    /** Forgets what is under way and what waits. */
    stop(): void {
      generation += 1;
      waiting = null;
      running?.abort();
      running = null;
    },
  };
}
