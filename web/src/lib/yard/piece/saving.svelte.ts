/** Keeps one edited field of a piece; when somebody was quicker, asks only if both changed the same thing. */
import { ApiError, api } from '$lib/api/client';
import type { Piece } from '$lib/api/types';
import { toasts } from '$lib/ui/toast.svelte';
import { type Editable, editableOf, FIELD_WORDS, type Field, whenStale } from './edit';

export interface Choice {
  field: Field;
  mine: unknown;
  theirs: unknown;
}

export class Saving {
  busy = $state<Field | null>(null);
  /** Two people changed the same thing: a person chooses. */
  choice = $state.raw<Choice | null>(null);
  /** What the server refused, by field. */
  refused = $state.raw<{ field: Field; error: ApiError } | null>(null);

  constructor(private readonly take: (piece: Piece) => void) {}

  /** True when it is kept (or nothing is left to do). */
  async keep<F extends Field>(piece: Piece, field: F, mine: Editable[F]): Promise<boolean> {
    this.busy = field;
    this.refused = null;
    try {
      this.take(await patch(piece.tag, piece.version, field, mine));
      return true;
    } catch (cause) {
      if (!(cause instanceof ApiError)) throw cause;
      if (cause.stale) return await this.#stale(piece, field, mine);
      this.refused = { field, error: cause };
      return false;
    } finally {
      this.busy = null;
    }
  }

  async #stale(base: Piece, field: Field, mine: unknown): Promise<boolean> {
    const current = await api.get<Piece>(path(base.tag));
    this.take(current);
    const outcome = whenStale(editableOf(base), editableOf(current), field, mine);
    if (outcome.kind === 'choose') {
      this.choice = { field, mine, theirs: outcome.theirs };
      return false;
    }
    if (outcome.kind === 'again') {
      this.take(await patch(base.tag, current.version, field, mine));
      const also = outcome.also.map((one) => FIELD_WORDS[one]).join(', ');
      toasts.say(also === '' ? 'Kept.' : `Kept. Meanwhile somebody changed its ${also}.`);
    }
    return true;
  }

  /** The answer to the choice. */
  async choose(current: Piece, mine: boolean): Promise<void> {
    const choice = this.choice;
    this.choice = null;
    if (choice && mine) await this.keep(current, choice.field, choice.mine as never);
  }
}

function path(tag: string): string {
  return `/api/pieces/${encodeURIComponent(tag)}`;
}

function patch(tag: string, version: number, field: Field, value: unknown): Promise<Piece> {
  return api.patch<Piece>(path(tag), { version, [field]: value });
}
