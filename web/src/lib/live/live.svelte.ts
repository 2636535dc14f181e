/** The live view: one event stream for the whole window; parts of it subscribe by word. */
import type { LiveEvent } from '$lib/api/types';

type Hear = (event: LiveEvent) => void;

class Live {
  /** The stream is open. Null before the first try. */
  connected = $state<boolean | null>(null);
  /** The newest event of any kind. */
  last = $state.raw<LiveEvent | null>(null);

  #source: EventSource | undefined;
  #hearers = new Map<Hear, readonly string[]>();
  #dropped = false;

  /** Hears events whose `what` starts with one of `words`; the answer stops it (fits `$effect`). */
  on(words: readonly string[], hear: Hear): () => void {
    if (words.length > 0) this.#hearers.set(hear, words);
    return () => this.#hearers.delete(hear);
  }

  start(): void {
    if (this.#source) return;
    const source = new EventSource('/api/events');
    this.#source = source;
    source.onopen = () => {
      this.connected = true;
      // The browser resumes by Last-Event-ID, but a restarted server may have forgotten: look anew once.
      if (this.#dropped) this.#tellAll();
      this.#dropped = false;
    };
    source.onerror = () => {
      this.connected = false;
      this.#dropped = true;
      if (source.readyState === EventSource.CLOSED) {
        this.stop();
        setTimeout(() => this.start(), 3000);
      }
    };
    source.onmessage = (message) => this.#take(String(message.data));
  }

  stop(): void {
    this.#source?.close();
    this.#source = undefined;
  }

  #take(data: string): void {
    let event: LiveEvent;
    try {
      event = JSON.parse(data) as LiveEvent;
    } catch {
      return;
    }
    this.last = event;
    for (const [hear, words] of this.#hearers) {
      if (words.some((word) => event.what.startsWith(word))) hear(event);
    }
  }

  #tellAll(): void {
    const event: LiveEvent = { id: 0, what: 'resumed', subject: '', at_ms: 0, who: null };
    for (const hear of this.#hearers.keys()) hear(event);
  }
}

export const live = new Live();
