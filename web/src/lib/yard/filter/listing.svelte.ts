/** The pieces that match, in the order asked for: the first screen at once, the rest behind it in parts, so that
 * neither the network nor the reading of a large answer makes the shelf stutter. */
import { ApiError, api } from '$lib/api/client';
import type { PieceCard, PieceList } from '$lib/api/types';
import { type Filters, writeFilters } from './filters';

const FIRST = 200;
const PART = 1000;
/** Beyond this the shelf waits until somebody scrolls there. */
const AHEAD = 5000;

export class Listing {
  pieces = $state.raw<PieceCard[]>([]);
  total = $state(0);
  facets = $state.raw<PieceList['facets'] | null>(null);
  /** Until the first answer to the question that stands. */
  waiting = $state(true);
  error = $state.raw<ApiError | undefined>();

  #query: Record<string, string | number | null> = {};
  #stop: AbortController | undefined;
  #under: Promise<void> | null = null;

  /** Asks a new question; an older answer never overwrites a newer one. */
  async ask(filters: Filters): Promise<void> {
    this.#query = { ...writeFilters(filters), sort: filters.sort };
    this.waiting = true;
    await this.#begin(FIRST);
  }

  /** Something in the yard changed: looks again without losing the place. */
  async again(): Promise<void> {
    await this.#begin(Math.min(AHEAD, Math.max(FIRST, this.pieces.length)));
  }

  /** The end of what is here comes into sight: fetches the next part, or waits for the one under way. */
  more(): Promise<void> {
    const stop = this.#stop;
    if (!stop || stop.signal.aborted || this.pieces.length >= this.total) return Promise.resolve();
    this.#under ??= this.#next(stop).finally(() => {
      this.#under = null;
    });
    return this.#under;
  }

  async #next(stop: AbortController): Promise<void> {
    try {
      const part = await this.#part(this.pieces.length, PART, stop.signal);
      if (stop !== this.#stop) return;
      if (part.pieces.length === 0) this.total = this.pieces.length;
      else this.pieces = [...this.pieces, ...part.pieces];
    } catch (cause) {
      this.#refuse(cause, stop);
    }
  }

  end(): void {
    this.#stop?.abort();
  }

  async #begin(n: number): Promise<void> {
    this.#stop?.abort();
    const stop = new AbortController();
    this.#stop = stop;
    try {
      const first = await this.#part(0, n, stop.signal);
      if (stop !== this.#stop) return;
      this.pieces = first.pieces;
      this.total = first.total;
      this.facets = first.facets;
      this.error = undefined;
      this.waiting = false;
      while (!stop.signal.aborted && this.pieces.length < Math.min(this.total, AHEAD)) await this.more();
    } catch (cause) {
      this.#refuse(cause, stop);
    }
  }

  #part(offset: number, limit: number, signal: AbortSignal): Promise<PieceList> {
    return api.get<PieceList>('/api/pieces', { ...this.#query, offset, limit }, signal);
  }

  #refuse(cause: unknown, stop: AbortController): void {
    if (stop !== this.#stop || stop.signal.aborted) return;
    if (!(cause instanceof ApiError)) throw cause;
    this.error = cause;
    this.waiting = false;
    // Without this the parts behind would be asked for again and again.
    this.total = Math.min(this.total, this.pieces.length);
  }
}
