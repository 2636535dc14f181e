import { describe, expect, it } from 'vitest';
import { differences } from './differences';
import { dimensionsOf } from './dimensions';
import { loudest } from './findings';
import { holds } from './heap';
import { commandOf, KEYS } from './keys';
import { latest } from './latest';
import { partsOf, spacingOf } from './measure';
import type { Composition, Placed, Turn, Xyz } from './model';
import { nudgeOf } from './nudge';
import { panesOf } from './scene/glass';
import { heightAt } from './scene/ground';
import { posesAt } from './scene/motion';
import { Rig } from './scene/rig';
import { turnedBy } from './shown';
import { linesOf, snapMove } from './snap/move';
import { snapTurn } from './snap/turn';
import { about, between, compose, turned, wrapped_deg } from './turns';

const near = (a: readonly number[], b: readonly number[], digits = 9) =>
  a.forEach((v, i) => {
    expect(v).toBeCloseTo(b[i] ?? Number.NaN, digits);
  });

describe('turns', () => {
  it('a quarter about the vertical takes right to back', () =>
    near(turned(about([0, 0, 1], 90), [1, 0, 0]), [0, 1, 0]));
  it('does the second turn after the first', () => {
    const q = compose(about([1, 0, 0], 90), about([0, 0, 1], 90));
    near(turned(q, [1, 0, 0]), turned(about([1, 0, 0], 90), turned(about([0, 0, 1], 90), [1, 0, 0])));
  });
  it.each<[Xyz, Xyz]>([
    [
      [1, 0, 0],
      [0, 0, 1],
    ],
    [
      [0, 0, 1],
      [0, 0, -1],
    ],
    [
      [0.6, 0.8, 0],
      [0.6, 0.8, 0],
    ],
  ])('between %j and %j there is one that takes the first to the second', (a, b) =>
    near(turned(between(a, b), a), b),
  );
  it('wraps angles', () => expect([181, -180, 540, -30].map(wrapped_deg)).toEqual([-179, 180, 180, -30]));
  it('turning a pose keeps its distance from the axis and its height', () => {
    const pose = { centre_mm: [130, 100, 40] as Xyz, quaternion: [1, 0, 0, 0] as Turn };
    near(turnedBy(pose, [100, 100], 90).centre_mm, [100, 130, 40]);
  });
});

describe('snapping', () => {
  const lines = linesOf([600, 300, 300], [{ tag: 'S-1', at_mm: [251, 99] }]);
  it('prefers a line within reach to the grid', () => {
    const s = snapMove([298, 97], lines, 6);
    expect(s.at_mm).toEqual([300, 99]);
    expect(s.lines.map((l) => l.words)).toContain('middle of the tank');
  });
  it('goes to the grid where no line is near', () =>
    expect(snapMove([133, 44], lines, 3).at_mm).toEqual([130, 40]));
  it('comes to multiples of fifteen when near, else to whole degrees', () => {
    expect([43, 47.6, 37.4, -92].map((d) => snapTurn(d))).toEqual([45, 45, 37, -90]);
  });
});

describe('keys', () => {
  const press = (key: string, how: Partial<Record<'shiftKey' | 'ctrlKey' | 'altKey', boolean>> = {}) =>
    commandOf({ key, shiftKey: false, ctrlKey: false, metaKey: false, altKey: false, ...how });
  it('no two commands share a key', () => {
    const strokes = KEYS.map((k) => [k.key, k.shift, k.ctrl, k.alt].join());
    expect(new Set(strokes).size).toBe(strokes.length);
  });
  it('every key in the table gives its own command', () => {
    for (const k of KEYS) {
      expect(press(k.key, { shiftKey: !!k.shift, ctrlKey: !!k.ctrl, altKey: !!k.alt })?.command).toBe(
        k.command,
      );
    }
  });
  it('Shift makes an arrow fine', () =>
    expect(press('ArrowLeft', { shiftKey: true })).toEqual({ command: 'move.left', fine: true }));
  it('Ctrl Z undoes and a bare Z does nothing', () => {
    expect(press('z', { ctrlKey: true })?.command).toBe('undo');
    expect(press('Z', { ctrlKey: true, shiftKey: true })?.command).toBe('redo');
    expect(press('z')).toBeNull();
  });
});

describe('nudging', () => {
  it('follows the axes of the view', () => {
    expect(nudgeOf('right', 'front', 0, 5)).toEqual({ by_mm: [5, 0] });
    expect(nudgeOf('up', 'front', 0, 5)).toEqual({ up_mm: 5 });
    expect(nudgeOf('right', 'side', 90, 5)).toEqual({ by_mm: [0, 5] });
    expect(nudgeOf('up', 'plan', 0, 1)).toEqual({ by_mm: [0, 1] });
  });
  it('in free view goes along the side that lies across the eye', () => {
    expect(nudgeOf('right', 'free', -24, 5)).toEqual({ by_mm: [5, 0] });
    expect(nudgeOf('right', 'free', 90, 5)).toEqual({ by_mm: [0, 5] });
    expect(nudgeOf('up', 'free', 180, 5)).toEqual({ by_mm: [0, -5] });
  });
});

describe('measuring', () => {
  it('takes a way apart along the axes', () => {
    const parts = partsOf([0, 0, 0], [30, 0, 40]);
    expect(parts.map((p) => [p.axis, p.length_mm])).toEqual([
      ['x', 30],
      ['z', 40],
    ]);
    expect(parts[1]?.a).toEqual([30, 0, 0]);
  });
  it('divides rules by 1, 2 and 5', () => {
    expect(spacingOf(1)).toBe(100);
    expect(spacingOf(0.5)).toBe(200);
    expect(spacingOf(1.2)).toBe(50);
  });
  const tank = { outside_mm: [600, 360, 360] as Xyz, glass_mm: 8, base_mm: 10, water_line_mm: 320 };
  it('from the front: the lengths add up to the inside', () => {
    const marks = dimensionsOf(tank, { min: [100, 50, 40], max: [260, 150, 130] }, 'front');
    const of = (key: string) => marks.find((m) => m.key === key)?.length_mm ?? Number.NaN;
    expect(of('length')).toBe(600);
    expect(of('height')).toBe(360);
    expect(of('left') + of('wide') + of('right')).toBe(584);
    expect(of('foot')).toBe(40);
  });
});

describe('the tank', () => {
  it('is made of panes that fill its walls once: glass volume by closed form', () => {
    const [l, w, h, t, b] = [900, 450, 450, 10, 12];
    const panes = panesOf({ outside_mm: [l, w, h], glass_mm: t, base_mm: b, water_line_mm: 400 });
    const volume = panes.reduce(
      (s, p) => s + p.to_mm.reduce((v, to, i) => v * (to - (p.from_mm[i] ?? 0)), 1),
      0,
    );
    expect(volume).toBeCloseTo(l * w * h - (l - 2 * t) * (w - 2 * t) * (h - b), 6);
  });
  it('gives the ground’s height between nodes', () => {
    const g = {
      nx: 2,
      ny: 2,
      cell_mm: 10,
      heights_mm: [0, 10, 20, 30],
      colours: ['#fff'],
      material: [0, 0, 0, 0],
    };
    expect(heightAt(g, 5, 5)).toBeCloseTo(15, 4);
    expect(heightAt(g, 0, 10)).toBeCloseTo(20, 3);
  });
  it('knows inside from outside of a region', () => {
    const l: [number, number][] = [
      [0, 0],
      [10, 0],
      [10, 4],
      [4, 4],
      [4, 10],
      [0, 10],
    ];
    expect(holds(l, [2, 8])).toBe(true);
    expect(holds(l, [8, 8])).toBe(false);
  });
});

describe('the eye', () => {
  function rig(view: 'front' | 'side' | 'plan' | 'free') {
    const r = new Rig();
    r.holdBox([-8, -8, -8], [592, 352, 352]);
    r.resize(1000, 700);
    r.look(view, true);
    return r;
  }
  it('sees x to the right and z up from the front', () => {
    const r = rig('front');
    const a = r.project([0, 0, 0]);
    const b = r.project([100, 0, 100]);
    expect(b.x - a.x).toBeCloseTo(100 * r.pxPerMm, 6);
    expect(a.y - b.y).toBeCloseTo(100 * r.pxPerMm, 6);
  });
  it('sees y to the right from the side, and y up in plan', () => {
    const side = rig('side');
    expect(side.project([0, 100, 0]).x).toBeGreaterThan(side.project([0, 0, 0]).x);
    const plan = rig('plan');
    expect(plan.project([0, 100, 0]).y).toBeLessThan(plan.project([0, 0, 0]).y);
    expect(plan.project([100, 0, 0]).x).toBeGreaterThan(plan.project([0, 0, 0]).x);
  });
  it.each(['front', 'side', 'plan', 'free'] as const)('sees the whole tank in %s view', (view) => {
    const r = rig(view);
    for (const x of [-8, 592])
      for (const y of [-8, 352])
        for (const z of [-8, 352]) {
          const p = r.project([x, y, z]);
          expect(p.x).toBeGreaterThan(0);
          expect(p.x).toBeLessThan(1000);
          expect(p.y).toBeGreaterThan(0);
          expect(p.y).toBeLessThan(700);
        }
  });
  it('finds back a place from where it lies on the screen', () => {
    const r = rig('free');
    const on = r.project([123, 45, 0]);
    near(r.meet(on.x, on.y, [0, 0, 0], [0, 0, 1])?.toArray() ?? [], [123, 45, 0], 3);
  });
  it('zooms about the pointer', () => {
    const r = rig('front');
    const before = r.meet(300, 200, [0, 0, 0], [0, 1, 0]);
    r.zoomAt(2, 300, 200);
    r.jump();
    near(r.meet(300, 200, [0, 0, 0], [0, 1, 0])?.toArray() ?? [], before?.toArray() ?? [], 4);
  });
});

describe('playing a settling', () => {
  it('goes through the frames and ends at the last', () => {
    const s = {
      stands: true,
      words: '',
      dt_s: 0.1,
      tags: ['S-1'],
      final: [],
      frames: [[[0, 0, 100, 1, 0, 0, 0]], [[0, 0, 50, 1, 0, 0, 0]], [[0, 0, 0, -1, 0, 0, 0]]] as [
        number,
        number,
        number,
        number,
        number,
        number,
        number,
      ][][],
    };
    expect(posesAt(s, 0.05).get('S-1')?.centre_mm[2]).toBeCloseTo(75, 9);
    expect(posesAt(s, 9).get('S-1')?.centre_mm[2]).toBe(0);
    expect(Math.abs(posesAt(s, 0.15).get('S-1')?.quaternion[0] ?? 0)).toBeCloseTo(1, 9);
  });
});

describe('asking while dragging', () => {
  it('asks the first and the newest, never those between', async () => {
    const asked: number[] = [];
    const answered: number[] = [];
    let let_go: () => void = () => {};
    const l = latest<number, number>(
      (q) => {
        asked.push(q);
        return new Promise((r) => {
          let_go = () => r(q);
        });
      },
      (a) => answered.push(a),
    );
    for (const q of [1, 2, 3]) l.ask(q);
    let_go();
    for (let i = 0; i < 8; i++) await Promise.resolve();
    let_go();
    for (let i = 0; i < 8; i++) await Promise.resolve();
    expect(asked).toEqual([1, 3]);
    expect(answered).toEqual([1, 3]);
  });
});

describe('two revisions', () => {
  const tank = { outside_mm: [600, 360, 360] as Xyz, glass_mm: 8, water_line_mm: 320 };
  const composition: Composition = { title: 't', tank, material: [], bed: [], piece: [], plant: [] };
  const at = (tag: string, centre_mm: Xyz): Placed => ({
    tag,
    pose: { centre_mm, quaternion: [1, 0, 0, 0] },
    width_mm: 1,
    depth_mm: 1,
    height_mm: 1,
    low_mm: 0,
    high_mm: 1,
    n_poses: 1,
    held: false,
  });
  it('are told apart in words', () => {
    const a = { composition, placed: [at('S-1', [100, 100, 10]), at('S-2', [0, 0, 0])] };
    const b = { composition, placed: [at('S-1', [130, 80, 10]), at('S-3', [0, 0, 0])] };
    expect(differences(a, b, (mm) => `${mm} mm`)).toEqual([
      'S-3 came in.',
      'S-2 went out.',
      'S-1 moved 30 mm to the right and 20 mm forward.',
    ]);
  });
  it('that are the same differ in nothing', () => {
    const a = { composition, placed: [at('S-1', [1, 2, 3])] };
    expect(differences(a, a, String)).toEqual([]);
  });
});

it('the loudest finding comes first, and each but once', () => {
  const f = (severity: 'note' | 'warning' | 'danger', text: string) => ({ rule: text, severity, text });
  const group = (findings: ReturnType<typeof f>[]) => ({
    name: 'g',
    title: 'G',
    stale: false,
    figures: [],
    rows: [],
    findings,
    cautions: [],
  });
  const all = loudest([
    group([f('note', 'a'), f('danger', 'b')]),
    group([f('warning', 'c'), f('note', 'a')]),
  ]);
  expect(all.map((x) => x.text)).toEqual(['b', 'c', 'a']);
});
