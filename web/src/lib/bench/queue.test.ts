import { describe, expect, it } from 'vitest';
import type { Edit } from './edits';
import type { Composition, Layout } from './model';
import { EditQueue, type Refusal, type Step, type Transport } from './queue';

const tank = { outside_mm: [600, 360, 360] as [number, number, number], glass_mm: 8, water_line_mm: 320 };
function layoutOf(version: number, composition: Composition, undo: string | null = null): Layout {
  return {
    id: 1,
    title: 't',
    commission: null,
    version,
    composition,
    placed: [],
    inside_mm: [584, 344, 352],
    undo,
    redo: null,
    revisions: [],
  };
}
const empty: Composition = { title: 't', tank, material: [], bed: [], piece: [], plant: [] };

class Failure extends Error {
  constructor(readonly refusal: Refusal | null) {
    super();
  }
}

/** A server that keeps one layout by the contract's rules and can be told to fail. */
class Shelf implements Transport {
  now = layoutOf(1, empty);
  labels: string[] = [];
  failures: (Refusal | null)[] = [];
  lostAnswers = 0;

  async put(version: number, label: string, composition: Composition): Promise<Layout> {
    this.mayFail();
    if (version !== this.now.version) throw new Failure({ status: 409, message: 'stale' });
    // A server writes keys in its own order.
    const turned = JSON.parse(JSON.stringify(composition), (_k, v) =>
      v && typeof v === 'object' && !Array.isArray(v) ? Object.fromEntries(Object.entries(v).reverse()) : v,
    );
    this.now = layoutOf(version + 1, turned, label);
    this.labels.push(label);
    if (this.lostAnswers-- > 0) throw new Failure(null);
    return this.now;
  }
  async go(way: 'undo' | 'redo', version: number): Promise<Layout> {
    this.mayFail();
    this.labels.push(way);
    this.now = layoutOf(version + 1, empty);
    return this.now;
  }
  async take(): Promise<Layout> {
    return this.now;
  }
  refusal(e: unknown): Refusal | null {
    return e instanceof Failure ? e.refusal : null;
  }
  private mayFail(): void {
    const f = this.failures.shift();
    if (f !== undefined) throw new Failure(f);
  }
}

function bench(shelf: Shelf) {
  const told: string[] = [];
  const seen: string[] = [];
  const waits: (() => void)[] = [];
  let steps: Step[] = [];
  const queue: EditQueue = new EditQueue(shelf.now, shelf, {
    changed: () => seen.push(queue?.saving ?? 'saved'),
    told: (words) => told.push(words),
    wait: () => new Promise((go) => waits.push(go)),
    remember: (s) => {
      steps = [...s];
    },
  });
  /** Lets everything run that can, time included. */
  async function rest(): Promise<void> {
    for (let i = 0; i < 60; i++) {
      await Promise.resolve();
      if (i % 6 === 5) waits.shift()?.();
    }
  }
  return { queue, told, seen, rest, steps: () => steps };
}
const place = (tag: string): Edit => ({ do: 'place', tag, at_mm: [100, 100] });

describe('the queue of edits', () => {
  it('shows an edit before the server has answered', () => {
    const { queue } = bench(new Shelf());
    queue.push(place('S-0103'));
    expect(queue.composition.piece.map((p) => p.tag)).toEqual(['S-0103']);
    expect(queue.undoLabel).toBe('Place S-0103');
  });
  it('sends edits one after the other, each with the version before it', async () => {
    const shelf = new Shelf();
    const { queue, rest } = bench(shelf);
    queue.push(place('S-0103'));
    queue.push(place('S-0104'));
    await rest();
    expect(shelf.labels).toEqual(['Place S-0103', 'Place S-0104']);
    expect(shelf.now.composition.piece).toHaveLength(2);
    expect(queue.saving).toBe('saved');
  });
  it('makes one step of nudges that follow each other', async () => {
    const shelf = new Shelf();
    const { queue, rest } = bench(shelf);
    queue.push(place('S-0103'));
    await rest();
    for (const x of [105, 110, 115]) queue.push({ do: 'move', tag: 'S-0103', at_mm: [x, 100] }, true);
    await rest();
    expect(shelf.labels).toEqual(['Place S-0103', 'Move S-0103']);
    expect(shelf.now.composition.piece[0]?.at_mm).toEqual([115, 100]);
  });
  it('puts an edit on top of what somebody else changed meanwhile, and says so', async () => {
    const shelf = new Shelf();
    const { queue, told, rest } = bench(shelf);
    shelf.now = layoutOf(2, {
      ...empty,
      piece: [{ tag: 'W-0203', at_mm: [1, 1], turn_deg: 0, bury_mm: 0, lift_mm: 0 }],
    });
    queue.push(place('S-0103'));
    await rest();
    expect(shelf.now.composition.piece.map((p) => p.tag)).toEqual(['W-0203', 'S-0103']);
    expect(told).toHaveLength(1);
  });
  it('leaves an edit out whose piece somebody else took away, and says so', async () => {
    const shelf = new Shelf();
    const { queue, told, rest } = bench(shelf);
    queue.push(place('S-0103'));
    await rest();
    shelf.now = layoutOf(9, empty);
    queue.push({ do: 'move', tag: 'S-0103', at_mm: [5, 5] });
    await rest();
    expect(queue.composition.piece).toEqual([]);
    expect(told.join(' ')).toContain('S-0103 is no longer in this layout');
    expect(queue.waiting).toHaveLength(0);
  });
  it('waits and tries again while the server is away, and keeps what waits', async () => {
    const shelf = new Shelf();
    shelf.failures = [null, null];
    const { queue, seen, rest, steps } = bench(shelf);
    queue.push(place('S-0103'));
    await Promise.resolve();
    await Promise.resolve();
    await Promise.resolve();
    expect(steps()).toHaveLength(1);
    await rest();
    expect(seen).toContain('offline');
    expect(shelf.labels).toEqual(['Place S-0103']);
    expect(queue.saving).toBe('saved');
    expect(steps()).toHaveLength(0);
  });
  it('does not do twice what arrived although its answer was lost', async () => {
    const shelf = new Shelf();
    shelf.lostAnswers = 1;
    const { queue, rest } = bench(shelf);
    queue.push({
      do: 'plant',
      plant: { name: 'fern', form: 'fern', at_mm: [1, 1], height_mm: 9, spread_mm: 9, colour: '#fff' },
    });
    await rest();
    expect(shelf.now.composition.plant).toHaveLength(1);
    expect(queue.waiting).toHaveLength(0);
  });
  it('takes back what the server refuses, with its words', async () => {
    const shelf = new Shelf();
    shelf.failures = [{ status: 422, message: 'S-0103 does not fit between the glasses.', hint: 'Turn it.' }];
    const { queue, told, rest } = bench(shelf);
    queue.push(place('S-0103'));
    await rest();
    expect(queue.composition.piece).toEqual([]);
    expect(told).toEqual(['S-0103 does not fit between the glasses. Turn it.']);
  });
});
