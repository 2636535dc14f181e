/** Something of the server's that a page shows: loads, reloads when the live view says that it changed. */
import { live } from '$lib/live/live.svelte';
import { ApiError } from './client';

export interface Resource<T> {
  readonly value: T | undefined;
  readonly error: ApiError | undefined;
  /** True until the first answer. */
  readonly waiting: boolean;
  reload(): Promise<void>;
  /** Takes an answer that a change brought back, without asking again. */
  set(value: T): void;
}

/**
 * Call while a component is set up. `load` runs again when anything reactive that it reads changes, and
 * when a live event comes whose `what` starts with one of `on` (give the word, such as `piece` or
 * `layout.changed`). An older answer never overwrites a newer one.
 */
export function resource<T>(load: (signal: AbortSignal) => Promise<T>, on: string[] = []): Resource<T> {
  let value = $state.raw<T | undefined>();
  let error = $state.raw<ApiError | undefined>();
  let waiting = $state(true);
  let turn = 0;
  let stop: AbortController | undefined;

  async function take(promise: Promise<T>, mine: number): Promise<void> {
    try {
      const got = await promise;
      if (mine !== turn) return;
      value = got;
      error = undefined;
    } catch (cause) {
      if (mine !== turn || (cause instanceof DOMException && cause.name === 'AbortError')) return;
      if (!(cause instanceof ApiError)) throw cause;
      error = cause;
    } finally {
      if (mine === turn) waiting = false;
    }
  }

  function begin(): Promise<void> {
    stop?.abort();
    stop = new AbortController();
    turn += 1;
    return take(load(stop.signal), turn);
  }

  $effect(() => {
    void begin();
    return () => stop?.abort();
  });
  $effect(() => live.on(on, () => void begin()));

  return {
    get value() {
      return value;
    },
    get error() {
      return error;
    },
    get waiting() {
      return waiting;
    },
    reload: begin,
    set(next: T) {
      turn += 1;
      value = next;
      error = undefined;
      waiting = false;
    },
  };
}
