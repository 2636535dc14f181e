/** The pieces that are being taken in: files sent as they are, measured by a job, each to its end or to a refusal that
 * can be mended without sending anything again. */
import { ApiError, api, upload } from '$lib/api/client';
import { cancelJob, followJob } from '$lib/api/job.svelte';
import type { Piece, Refusal } from '$lib/api/types';
import { fileKind, pairPhotographs } from './pairing';
import {
  bodyOf,
  likelyUp,
  missing,
  type Own,
  type Settings,
  settingsFor,
  startingSettings,
} from './settings';

export type Phase = 'ready' | 'waiting' | 'sending' | 'measuring' | 'done' | 'failed';

export class Entry {
  phase = $state<Phase>('ready');
  progress = $state(0);
  step = $state('');
  own = $state.raw<Own>({});
  photographs = $state.raw<File[]>([]);
  refusal = $state.raw<Refusal | null>(null);
  piece = $state.raw<Piece | null>(null);
  /** Ids of what has been sent, so that a second try sends nothing again. */
  sent = new Map<File, number>();
  job: number | null = null;
  stop = new AbortController();

  constructor(
    readonly id: number,
    readonly scan: File,
  ) {
    this.own = { up: likelyUp(scan.name) };
  }

  get busy(): boolean {
    return this.phase === 'waiting' || this.phase === 'sending' || this.phase === 'measuring';
  }
}

const AT_ONCE = 2;

export class Queue {
  entries = $state.raw<Entry[]>([]);
  common = $state.raw<Settings>(startingSettings());
  /** Photographs that belong to no scan yet. */
  loose = $state.raw<File[]>([]);
  #next = 1;
  #running = 0;

  /** Takes files in; the answer lists what isn't a scan or photograph. */
  add(files: readonly File[]): void {
    const scans = files.filter((file) => fileKind(file.name, file.type) === 'scan');
    const added = scans.map((file) => new Entry(this.#next++, file));
    this.entries = [...this.entries, ...added];
    const pictures = files.filter((file) => fileKind(file.name, file.type) === 'photograph');
    const open = this.entries.filter((entry) => entry.phase === 'ready' || entry.phase === 'failed');
    const names = open.map((entry) => entry.scan.name);
    const loose: File[] = [];
    for (const [i, owner] of pairPhotographs(
      names,
      pictures.map((file) => file.name),
    ).entries()) {
      const picture = pictures[i];
      const entry = owner === null ? undefined : open[owner];
      if (!picture) continue;
      if (entry) entry.photographs = [...entry.photographs, picture];
      else loose.push(picture);
    }
    this.loose = [...this.loose, ...loose];
  }

  give(picture: File, entry: Entry): void {
    this.loose = this.loose.filter((file) => file !== picture);
    entry.photographs = [...entry.photographs, picture];
  }

  /** Takes a photograph from its piece again. */
  loosen(picture: File, entry: Entry): void {
    entry.photographs = entry.photographs.filter((file) => file !== picture);
    this.loose = [...this.loose, picture];
  }

  remove(entry: Entry): void {
    this.halt(entry);
    this.entries = this.entries.filter((one) => one !== entry);
  }

  settings(entry: Entry): Settings & Own {
    return settingsFor(this.common, entry.own);
  }

  get startable(): Entry[] {
    return this.entries.filter((entry) => entry.phase === 'ready' && this.complete(entry));
  }

  get busy(): boolean {
    return this.entries.some((entry) => entry.busy);
  }

  complete(entry: Entry): boolean {
    return Object.keys(missing(this.settings(entry))).length === 0;
  }

  start(entry: Entry): void {
    if (entry.busy || entry.phase === 'done' || !this.complete(entry)) return;
    entry.refusal = null;
    entry.stop = new AbortController();
    entry.phase = 'waiting';
    entry.step = 'Waiting for its turn';
    this.#turn();
  }

  halt(entry: Entry): void {
    entry.stop.abort();
    if (entry.job !== null) void cancelJob(entry.job).catch(() => {});
    if (entry.busy) entry.phase = 'ready';
  }

  #turn(): void {
    const next = this.entries.find((entry) => entry.phase === 'waiting');
    if (!next || this.#running >= AT_ONCE) return;
    this.#running += 1;
    void this.#take(next).finally(() => {
      this.#running -= 1;
      this.#turn();
    });
    this.#turn();
  }

  async #take(entry: Entry): Promise<void> {
    const { signal } = entry.stop;
    // No longer waiting from here on, whether anything must be sent or not.
    entry.phase = 'sending';
    try {
      const scan = await send(entry, entry.scan, signal);
      const pictures: number[] = [];
      for (const picture of entry.photographs) pictures.push(await send(entry, picture, signal));
      entry.phase = 'measuring';
      entry.progress = 0;
      entry.step = 'Measuring';
      const body = bodyOf(entry.scan.name, this.settings(entry), scan, pictures);
      const { job } = await api.post<{ job: number }>('/api/taking-in', body, signal);
      entry.job = job;
      const { tag } = await followJob<{ tag: string }>(
        job,
        (state) => {
          entry.progress = state.progress;
          entry.step = state.step || 'Measuring';
        },
        signal,
      );
      entry.piece = await api.get<Piece>(`/api/pieces/${tag}`);
      entry.phase = 'done';
    } catch (cause) {
      if (signal.aborted) return;
      if (!(cause instanceof ApiError)) throw cause;
      entry.refusal = cause.refusal;
      entry.phase = 'failed';
    } finally {
      entry.job = null;
    }
  }
}

async function send(entry: Entry, file: File, signal: AbortSignal): Promise<number> {
  const before = entry.sent.get(file);
  if (before !== undefined) return before;
  entry.phase = 'sending';
  entry.progress = 0;
  entry.step = `Sending ${file.name}`;
  const sent = await upload(
    file,
    (done) => {
      entry.progress = done;
    },
    signal,
  );
  entry.sent.set(file, sent.id);
  return sent.id;
}
