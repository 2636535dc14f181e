/** Asks the fit search while the gap is being shaped: the newest question only, and never two at once. */
import { ApiError, api } from '$lib/api/client';
import type { FitAnswer, PieceCard } from '$lib/api/types';
import { bodyOf, type Question } from './question';

const PAUSE_MS = 90;
const CARDS_AT_ONCE = 4;

export class Asking {
  answer = $state.raw<FitAnswer | null>(null);
  /** The question that the answer answers: the gap to draw it in. */
  answered = $state.raw<Question | null>(null);
  error = $state.raw<ApiError | null>(null);
  waiting = $state(false);
  /** Cards of the pieces found, as they come in: price, colour and place aren't in the answer. */
  cards = $state.raw<ReadonlyMap<string, PieceCard>>(new Map());

  #stop: AbortController | undefined;
  #timer: ReturnType<typeof setTimeout> | undefined;

  ask(question: Question): void {
    clearTimeout(this.#timer);
    this.waiting = true;
    this.#timer = setTimeout(() => void this.#send(question), PAUSE_MS);
  }

  clear(): void {
    this.end();
    this.answer = null;
    this.answered = null;
    this.error = null;
    this.waiting = false;
  }

  end(): void {
    clearTimeout(this.#timer);
    this.#stop?.abort();
  }

  async #send(question: Question): Promise<void> {
    this.#stop?.abort();
    const stop = new AbortController();
    this.#stop = stop;
    try {
      const answer = await api.post<FitAnswer>('/api/fit', bodyOf(question), stop.signal);
      if (stop.signal.aborted) return;
      this.answer = answer;
      this.answered = question;
      this.error = null;
      this.waiting = false;
      await this.#fetchCards(
        answer.matches.map((match) => match.tag),
        stop.signal,
      );
    } catch (cause) {
      if (stop.signal.aborted) return;
      if (!(cause instanceof ApiError)) throw cause;
      this.error = cause;
      this.waiting = false;
    }
  }

  async #fetchCards(tags: string[], signal: AbortSignal): Promise<void> {
    const missing = tags.filter((tag) => !this.cards.has(tag));
    const one = async () => {
      for (let tag = missing.shift(); tag !== undefined && !signal.aborted; tag = missing.shift()) {
        const card = await api.get<PieceCard>(`/api/pieces/${tag}`, {}, signal).catch(() => null);
        if (card) this.cards = new Map(this.cards).set(tag, card);
      }
    };
    await Promise.all(Array.from({ length: CARDS_AT_ONCE }, one));
  }
}
