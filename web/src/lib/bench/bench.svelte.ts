/** The bench's state: the layout, what is on its way to the server, what is chosen, how one looks at it. */

import { ApiError } from '$lib/api/client';
import type {
  Composition,
  Ground,
  Layout,
  LetDown,
  Piece,
  Placed,
  PlacedPiece,
  Reckoning,
} from '$lib/api/types';
import { live } from '$lib/live/live.svelte';
import { who } from '$lib/session/session.svelte';
import { toasts } from '$lib/ui/toast.svelte';
import { printLength } from '$lib/units/print';
import { AtHand } from './at-hand.svelte';
import type { Edit } from './edits';
import { alreadyDone, touched } from './edits';
import { released } from './edits/pieces';
import { latest } from './latest';
import { insideMm, type Pose, type Xy } from './model';
import { EditQueue, type Saving, type Step } from './queue';
import { remembered, rememberSteps } from './remembered';
import { Scans } from './scene/scans';
import { refusalOf, server, wordsOf } from './server';
import { caughtUp, movedTo, turnedBy } from './shown';

export class Bench extends AtHand {
  layout = $state.raw<Layout>() as Layout;
  composition = $state.raw<Composition>() as Composition;
  saving = $state<Saving>('saved');
  waiting = $state(0);
  undoLabel = $state<string | null>(null);
  redoLabel = $state<string | null>(null);
  ground = $state.raw<Ground | null>(null);
  reckoning = $state.raw<Reckoning | null>(null);
  /** Poses that differ from what the server last said: dragged, on its way, or in a motion. */
  poses = $state.raw<ReadonlyMap<string, Pose>>(new Map());

  readonly scans = new Scans(server.scan);
  private queue: EditQueue;
  /** Something was heard of while an edit was on its way: looked at when it has arrived. */
  private missed: (() => void) | null = null;
  private readonly details = new Map<string, Promise<Piece>>();
  private reckonTimer: ReturnType<typeof setTimeout> | undefined;
  private readonly quiet: (() => void)[] = [];
  /** What was last asked: an answer to an older question is brought to it. */
  private newest: PlacedPiece | null = null;
  private readonly preview: ReturnType<typeof latest<PlacedPiece, LetDown>>;

  constructor(layout: Layout) {
    super();
    this.queue = new EditQueue(
      layout,
      {
        put: (v, label, c) => server.put(layout.id, v, label, c),
        go: (way, v) => server.go(layout.id, way, v),
        take: () => server.layout(layout.id),
        refusal: refusalOf,
      },
      {
        changed: () => this.renew(),
        told: (words, severity) => this.tell(words, severity),
        wait: (ms) => new Promise((r) => setTimeout(r, ms)),
        remember: (steps: Step[]) => rememberSteps(layout.id, steps),
      },
    );
    this.preview = latest(
      (piece, signal) => {
        const i = this.layout.composition.piece.findIndex((p) => p.tag === piece.tag);
        return server.letDown(this.id, i < 0 ? null : i, piece, signal);
      },
      (answer, asked) => this.show(asked.tag, caughtUp(answer.pose, asked, this.newest ?? asked)),
    );
    this.renew();
    void this.refresh();
    this.quiet.push(live.on(['layout'], (e) => void this.hear(e.what, e.subject, e.who)));
    const left = remembered(layout.id).filter((s) => 'edit' in s && !alreadyDone(layout.composition, s.edit));
    for (const step of left) if ('edit' in step) this.queue.push(step.edit);
    if (left.length)
      this.tell('Changes that had not been saved when this window was closed go on now.', 'note');
    else rememberSteps(layout.id, []);
  }

  get id(): number {
    return this.layout.id;
  }

  get shownGround(): Ground | null {
    return this.groundPreview ?? this.ground;
  }

  get inside(): [number, number, number] {
    return insideMm(this.composition.tank);
  }

  get piece(): PlacedPiece | null {
    return this.composition.piece.find((p) => p.tag === this.chosen) ?? null;
  }

  placedOf(tag: string | null): Placed | null {
    return this.layout.placed.find((p) => p.tag === tag) ?? null;
  }

  poseOf(tag: string): Pose | null {
    return this.poses.get(tag) ?? this.placedOf(tag)?.pose ?? null;
  }

  detail(tag: string): Promise<Piece> {
    let d = this.details.get(tag);
    if (!d) {
      d = server.piece(tag);
      d.catch(() => this.details.delete(tag));
      this.details.set(tag, d);
    }
    return d;
  }

  /** Carries an edit out here at once and sends it; `linger` for nudges that may be followed by another. */
  edit(edit: Edit, linger = false): void {
    this.preview.stop();
    this.queue.push(edit, linger);
    if (linger && 'tag' in edit) {
      const piece = this.composition.piece.find((p) => p.tag === edit.tag);
      if (piece && !piece.held) this.ask(piece);
    }
  }

  go(way: 'undo' | 'redo'): void {
    const label = way === 'undo' ? this.undoLabel : this.redoLabel;
    this.queue.go(way);
    if (label) this.say(`${way === 'undo' ? 'Undone' : 'Done again'}: ${label}`);
  }

  flush(): Promise<void> {
    return this.queue.flush();
  }

  /** Shows a piece at a pose until the server has the last word. */
  show(tag: string, pose: Pose): void {
    this.poses = new Map(this.poses).set(tag, pose);
  }

  showAll(poses: ReadonlyMap<string, Pose>): void {
    this.poses = poses;
  }

  /** A piece shown moved in plan, keeping its height, and asked how it would come to rest there. */
  drag(tag: string, at_mm: Xy): void {
    const piece = this.composition.piece.find((p) => p.tag === tag);
    const pose = this.poseOf(tag);
    const from = this.dragFrom ?? piece?.at_mm;
    if (piece && pose && from) this.show(tag, movedTo(pose, from, at_mm));
    this.dragFrom = at_mm;
    this.held = tag;
    if (piece) this.ask({ ...piece, at_mm });
  }
  private dragFrom: Xy | null = null;

  /** A piece that isn't in the layout yet, held over a place. */
  carry(tag: string, at_mm: Xy): void {
    const pose = this.poses.get(tag);
    if (pose && this.dragFrom) this.show(tag, movedTo(pose, this.dragFrom, at_mm));
    this.dragFrom = at_mm;
    this.held = tag;
    this.ask({ tag, at_mm, turn_deg: 0, pose: 1, bury_mm: 0, lift_mm: 0 });
  }
  /** The piece in a hand: what the server says of others leaves it where it is held. */
  private held: string | null = null;

  /** A piece shown turned about the vertical through its middle. */
  spin(tag: string, by_deg: number, turn_deg: number): void {
    const piece = this.composition.piece.find((p) => p.tag === tag);
    const pose = this.poseOf(tag);
    if (piece && pose) this.show(tag, turnedBy(pose, piece.at_mm, by_deg));
    if (piece && !piece.held) this.ask({ ...piece, turn_deg });
  }

  /** Asks how a piece would lie; the newest question wins. */
  ask(piece: PlacedPiece): void {
    this.newest = released(piece);
    this.preview.ask(this.newest);
  }

  /** Forgets what was shown of a piece that was being dragged. */
  unshow(tag: string): void {
    this.preview.stop();
    this.dragFrom = null;
    const poses = new Map(this.poses);
    poses.delete(tag);
    this.poses = poses;
  }

  dropped(): void {
    this.dragFrom = null;
    this.held = null;
  }

  choose(tag: string | null): void {
    if (tag !== this.chosen) this.tipping = false;
    if (tag !== this.chosen && tag) this.say(this.describe(tag));
    this.chosen = tag;
    if (tag) this.chosenPlant = null;
  }

  chooseNext(step: 1 | -1): void {
    const tags = this.composition.piece.map((p) => p.tag);
    if (!tags.length) return;
    const i = this.chosen ? tags.indexOf(this.chosen) : step > 0 ? -1 : 0;
    this.choose(tags[(i + step + tags.length) % tags.length] ?? null);
  }

  describe(tag: string): string {
    const piece = this.composition.piece.find((p) => p.tag === tag);
    if (!piece) return tag;
    const length = (mm: number) => printLength(mm, who.units);
    return `${tag} chosen: middle ${length(piece.at_mm[0])} from the left glass, ${length(piece.at_mm[1])} from the front glass, turned ${Math.round(piece.turn_deg ?? 0)}°`;
  }

  tell(words: string, severity: 'note' | 'warning' = 'note'): void {
    if (severity === 'note') toasts.say(words);
    else toasts.refuse(new ApiError(422, { code: 'bench', path: '', message: words }));
  }

  say(words: string): void {
    this.heard = words;
  }

  /** Does something that changes the layout on the server outside the queue, after everything before it. */
  async after(work: (version: number) => Promise<Layout>): Promise<boolean> {
    try {
      await this.flush();
      this.queue.taken(await this.onNewest(work));
      return true;
    } catch (e) {
      this.tell(wordsOf(e), 'warning');
      return false;
    }
  }

  /** Once more on top of what somebody else changed meanwhile. */
  private async onNewest(work: (version: number) => Promise<Layout>): Promise<Layout> {
    try {
      return await work(this.layout.version);
    } catch (e) {
      if (refusalOf(e)?.status !== 409) throw e;
      this.queue.taken(await server.layout(this.id));
      return work(this.layout.version);
    }
  }

  end(): void {
    for (const q of this.quiet) q();
    clearTimeout(this.reckonTimer);
    this.preview.stop();
    this.scans.dispose();
  }

  private renew(): void {
    const before = this.layout;
    this.layout = this.queue.layout;
    this.composition = this.queue.composition;
    this.saving = this.queue.saving;
    this.waiting = this.queue.waiting.length;
    this.undoLabel = this.queue.undoLabel;
    this.redoLabel = this.queue.redoLabel;
    if (this.missed && this.waiting === 0 && this.saving === 'saved') {
      const look = this.missed;
      this.missed = null;
      setTimeout(look);
    }
    if (before && this.layout.version === before.version) return;
    const still = new Set(this.queue.waiting.flatMap((s) => ('edit' in s ? touched(s.edit) : [])));
    this.poses = new Map([...this.poses].filter(([tag]) => still.has(tag) || tag === this.held));
    if (this.chosen && !this.composition.piece.some((p) => p.tag === this.chosen)) this.chosen = null;
    if (before) void this.refresh();
  }

  private async refresh(): Promise<void> {
    const version = this.layout.version;
    try {
      const [ground, reckoning] = await Promise.all([server.ground(this.id), server.reckoning(this.id)]);
      if (version !== this.layout.version) return;
      if (!sameGround(ground, this.ground)) this.ground = ground;
      this.groundPreview = null;
      this.reckoning = reckoning;
    } catch (e) {
      if (refusalOf(e)) this.tell(wordsOf(e), 'warning');
    }
  }

  private async hear(what: string, subject: string, by: string | null): Promise<void> {
    if (what !== 'resumed' && subject !== String(this.id)) return;
    if (what === 'layout.reckoned') {
      clearTimeout(this.reckonTimer);
      this.reckonTimer = setTimeout(() => void this.refresh(), 30);
      return;
    }
    if (this.waiting > 0 || this.saving === 'saving') {
      this.missed = () => void this.hear(what, subject, by);
      return;
    }
    try {
      const now = await server.layout(this.id);
      if (now.version <= this.layout.version) {
        this.queue.noted(now);
        return;
      }
      const words = now.undo ? `${by ?? 'Somebody'}: ${now.undo}` : `${by ?? 'Somebody'} changed this layout`;
      this.queue.taken(now);
      this.tell(words, 'note');
      this.say(words);
    } catch {
      // The next event or edit brings it.
    }
  }
}

function sameGround(a: Ground, b: Ground | null): boolean {
  if (!b || a.nx !== b.nx || a.ny !== b.ny || a.heights_mm.length !== b.heights_mm.length) return false;
  if (a.colours.join() !== b.colours.join()) return false;
  return (
    a.heights_mm.every((h, i) => h === b.heights_mm[i]) && a.material.every((m, i) => m === b.material[i])
  );
}
