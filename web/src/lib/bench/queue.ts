// Edits on their way to the server: shown at once, sent in order, never lost, the server's answer is the truth.

import { applied, type Edit, Gone, labelled, merged } from './edits';
import type { Composition, Layout } from './model';
import { same } from './same';

export type Step = { edit: Edit } | { go: 'undo' | 'redo' };
export type Saving = 'saved' | 'saving' | 'offline';

export interface Refusal {
  status: number;
  message: string;
  hint?: string | null;
}

export interface Transport {
  put(version: number, label: string, composition: Composition): Promise<Layout>;
  go(way: 'undo' | 'redo', version: number): Promise<Layout>;
  take(): Promise<Layout>;
  /** What kind of failure this is: a refusal of the server, or null when it wasn't reached. */
  refusal(e: unknown): Refusal | null;
}

export interface Surroundings {
  changed(): void;
  told(words: string, severity: 'note' | 'warning'): void;
  wait(ms: number): Promise<void>;
  remember(steps: Step[]): void;
}

/** A nudge waits this long for the next one, so that ten of them are one step of the undo. */
export const LINGER_MS = 450;
const LONGEST_WAIT_MS = 8000;

export class EditQueue {
  saving: Saving = 'saved';
  private steps: Step[] = [];
  private running = false;
  private lingering: { step: Step } | null = null;
  private shown: Composition;

  constructor(
    public layout: Layout,
    private readonly transport: Transport,
    private readonly around: Surroundings,
  ) {
    this.shown = layout.composition;
  }

  /** The server's composition with everything that is still on its way. */
  get composition(): Composition {
    return this.shown;
  }

  get waiting(): readonly Step[] {
    return this.steps;
  }

  get undoLabel(): string | null {
    const last = this.steps.at(-1);
    if (last && 'edit' in last) return labelled(last.edit);
    return last ? null : this.layout.undo;
  }

  get redoLabel(): string | null {
    return this.steps.length ? null : this.layout.redo;
  }

  push(edit: Edit, linger = false): void {
    const last = this.steps.at(-1);
    const held = this.lingering && last === this.lingering.step ? this.lingering.step : null;
    const one = held && 'edit' in held ? merged(held.edit, edit) : null;
    if (one) this.steps.pop();
    const step: Step = { edit: one ?? edit };
    this.steps.push(step);
    this.lingering = linger ? { step } : null;
    this.renew();
    void this.send();
  }

  go(way: 'undo' | 'redo'): void {
    this.lingering = null;
    this.steps.push({ go: way });
    this.renew();
    void this.send();
  }

  /** Takes in what somebody else changed; what is on its way stays on top. */
  taken(layout: Layout): void {
    if (layout.version < this.layout.version) return;
    this.layout = layout;
    this.renew();
  }

  /** Takes what changed beside the composition, such as a revision's picture. */
  noted(layout: Layout): void {
    if (layout.version !== this.layout.version || this.steps.length) return;
    this.layout = layout;
    this.renew();
  }

  /** Sends what lingers at once; resolves when everything has arrived or the server can't be reached. */
  async flush(): Promise<void> {
    this.lingering = null;
    await this.send();
    while (this.running && this.saving !== 'offline') await this.around.wait(30);
  }

  private async send(): Promise<void> {
    if (this.running) return;
    this.running = true;
    let failures = 0;
    try {
      while (this.steps.length) {
        const step = this.steps[0] as Step;
        if (await this.lingers(step)) continue;
        this.say(failures ? 'offline' : 'saving');
        const reached = await this.attempt(step);
        failures = reached ? 0 : failures + 1;
        if (!reached) {
          this.say('offline');
          await this.around.wait(Math.min(LONGEST_WAIT_MS, 500 * 2 ** (failures - 1)));
        }
      }
    } finally {
      this.running = false;
      this.say('saved');
    }
  }

  private async lingers(step: Step): Promise<boolean> {
    if (this.lingering?.step !== step) return false;
    this.say('saving');
    await this.around.wait(LINGER_MS);
    if (this.lingering?.step === step) this.lingering = null;
    return true;
  }

  /** One attempt at the first step. False when the server wasn't reached. */
  private async attempt(step: Step): Promise<boolean> {
    let sent: Composition | null = null;
    try {
      if ('go' in step) {
        this.done(step, await this.transport.go(step.go, this.layout.version));
        return true;
      }
      sent = applied(this.layout.composition, step.edit);
      this.done(step, await this.transport.put(this.layout.version, labelled(step.edit), sent));
      return true;
    } catch (e) {
      if (e instanceof Gone) {
        this.drop(step, `${e.message}, so “${'edit' in step ? labelled(step.edit) : step.go}” was left out.`);
        return true;
      }
      const refusal = this.transport.refusal(e);
      if (!refusal || refusal.status >= 500 || refusal.status === 429) return false;
      if (refusal.status === 409) return this.overtaken(step, sent);
      this.drop(step, [refusal.message, refusal.hint].filter(Boolean).join(' '));
      return true;
    }
  }

  /** The layout moved on meanwhile: take it, and put the step on top of it. */
  private async overtaken(step: Step, sent: Composition | null): Promise<boolean> {
    try {
      const now = await this.transport.take();
      const moved = now.version !== this.layout.version;
      this.layout = now;
      if (sent && same(sent, now.composition)) {
        this.done(step, now);
        return true;
      }
      if (!moved) {
        this.drop(step, 'go' in step ? `There is nothing to ${step.go}.` : 'The server refused this step.');
        return true;
      }
      this.around.told(
        'The layout had changed meanwhile; it was taken in, and your step was made on top of it.',
        'note',
      );
      this.renew();
      return true;
    } catch {
      return false;
    }
  }

  private done(step: Step, layout: Layout): void {
    this.layout = layout;
    this.remove(step);
    this.renew();
  }

  private drop(step: Step, words: string): void {
    this.remove(step);
    this.renew();
    this.around.told(words, 'warning');
  }

  private remove(step: Step): void {
    this.steps = this.steps.filter((s) => s !== step);
  }

  private renew(): void {
    let c = this.layout.composition;
    for (const s of this.steps) {
      if (!('edit' in s)) continue;
      try {
        c = applied(c, s.edit);
      } catch {
        // Told when its turn comes.
      }
    }
    this.shown = c;
    this.around.remember(this.steps);
    this.around.changed();
  }

  private say(saving: Saving): void {
    if (saving === this.saving) return;
    this.saving = saving;
    this.around.changed();
  }
}
