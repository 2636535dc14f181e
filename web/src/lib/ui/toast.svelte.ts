/** Short words about what just happened, at the bottom of the window. */
import { ApiError } from '$lib/api/client';

export interface ToastWords {
  id: number;
  text: string;
  hint?: string;
  warm: boolean;
  action?: { label: string; act: () => void };
}

class Toasts {
  list = $state<ToastWords[]>([]);
  #next = 1;

  say(text: string, action?: ToastWords['action']): void {
    this.#add({ id: this.#next++, text, warm: false, action }, 5000);
  }

  /** Says why something was refused and what to do; stays until it is closed. */
  refuse(cause: unknown): void {
    if (cause instanceof DOMException && cause.name === 'AbortError') return;
    if (!(cause instanceof ApiError)) console.error(cause);
    const text = cause instanceof ApiError ? cause.refusal.message : 'Something went wrong on this screen.';
    const hint = cause instanceof ApiError ? (cause.refusal.hint ?? undefined) : undefined;
    this.#add({ id: this.#next++, text, hint, warm: true }, 20000);
  }

  close(id: number): void {
    this.list = this.list.filter((toast) => toast.id !== id);
  }

  #add(toast: ToastWords, stay_ms: number): void {
    // The same words twice are one toast.
    this.list = [...this.list.filter((old) => old.text !== toast.text), toast].slice(-4);
    setTimeout(() => this.close(toast.id), stay_ms);
  }
}

export const toasts = new Toasts();
