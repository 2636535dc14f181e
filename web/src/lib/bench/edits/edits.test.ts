import { describe, expect, it } from 'vitest';
import type { Composition } from '../model';
import { alreadyDone, applied, type Edit, Gone, labelled, merged } from '.';

const tank = { outside_mm: [600, 360, 360] as [number, number, number], glass_mm: 8, water_line_mm: 320 };
const sand = { name: 'pale sand', bulk_density_kg_m3: 1550, repose_deg: 32 };
const empty: Composition = { title: 'Still pool', tank, material: [sand], bed: [], piece: [], plant: [] };

function after(...edits: Edit[]): Composition {
  return edits.reduce(applied, empty);
}
const placed = after({ do: 'place', tag: 'S-0103', at_mm: [200, 150] });
const held = applied(placed, {
  do: 'keep',
  poses: [
    {
      tag: 'S-0103',
      at_mm: [204, 150],
      pose: { centre_mm: [205, 151, 60], quaternion: [Math.SQRT1_2, 0, 0, Math.SQRT1_2] },
    },
  ],
});

describe('pieces', () => {
  it('leaves the composition that it was given as it was', () => {
    const before = JSON.stringify(placed);
    applied(placed, { do: 'move', tag: 'S-0103', at_mm: [1, 2] });
    expect(JSON.stringify(placed)).toBe(before);
  });
  it('places on top of what is there, in the order of placing', () => {
    const c = after(
      { do: 'place', tag: 'S-0103', at_mm: [1, 1] },
      { do: 'place', tag: 'S-0104', at_mm: [2, 2] },
      { do: 'place', tag: 'S-0103', at_mm: [3, 3] },
    );
    expect(c.piece.map((p) => p.tag)).toEqual(['S-0104', 'S-0103']);
  });
  it('moves to tenths of a millimetre', () => {
    const c = applied(placed, { do: 'move', tag: 'S-0103', at_mm: [10.04999, 20.06] });
    expect(c.piece[0]?.at_mm).toEqual([10, 20.1]);
  });
  it('keeps turns within half a turn both ways', () => {
    const c = applied(placed, { do: 'turn', tag: 'S-0103', turn_deg: 190 });
    expect(c.piece[0]?.turn_deg).toBe(-170);
  });
  it('is either buried or lifted', () => {
    const lifted = applied(placed, { do: 'lift', tag: 'S-0103', lift_mm: 12 });
    const buried = applied(lifted, { do: 'bury', tag: 'S-0103', bury_mm: 5 });
    expect([lifted.piece[0]?.bury_mm, lifted.piece[0]?.lift_mm]).toEqual([0, 12]);
    expect([buried.piece[0]?.bury_mm, buried.piece[0]?.lift_mm]).toEqual([5, 0]);
  });
  it('a chosen side takes the place of a free turn', () => {
    const tipped = applied(placed, { do: 'tip', tag: 'S-0103', quaternion: [1, 1, 0, 0] });
    expect(tipped.piece[0]?.pose).toBeUndefined();
    expect(Math.hypot(...(tipped.piece[0]?.quaternion ?? []))).toBeCloseTo(1, 12);
    const laid = applied(tipped, { do: 'pose', tag: 'S-0103', pose: 2 });
    expect(laid.piece[0]?.quaternion).toBeUndefined();
    expect(laid.piece[0]?.pose).toBe(2);
  });
  it('says when the piece is gone', () => {
    expect(() => applied(empty, { do: 'move', tag: 'S-0999', at_mm: [0, 0] })).toThrow(Gone);
  });
});

describe('held pieces', () => {
  it('stay exactly where they came to rest', () => {
    expect(held.piece[0]?.held?.centre_mm).toEqual([205, 151, 60]);
    expect(held.piece[0]?.at_mm).toEqual([204, 150]);
  });
  it('are let down anew when moved, lying as they were held', () => {
    const c = applied(held, { do: 'move', tag: 'S-0103', at_mm: [300, 100] });
    expect(c.piece[0]?.held).toBeUndefined();
    expect(c.piece[0]?.quaternion?.[3]).toBeCloseTo(Math.SQRT1_2, 4);
  });
  it('go up and down by the difference', () => {
    const up = applied(held, { do: 'lift', tag: 'S-0103', lift_mm: 7 });
    expect(up.piece[0]?.held?.centre_mm[2]).toBe(67);
    const down = applied(up, { do: 'bury', tag: 'S-0103', bury_mm: 3 });
    expect(down.piece[0]?.held?.centre_mm[2]).toBe(57);
  });
});

describe('ground', () => {
  const bed = {
    material: 'dark grain',
    region: 'all' as const,
    by: 'top' as const,
    points: [[0, 0, 40]] as [number, number, number][],
  };
  const dark = { name: 'dark grain', bulk_density_kg_m3: 900, repose_deg: 34 };
  const laid = applied(empty, { do: 'bed-add', material: dark, bed });

  it('brings the material with the first bed and takes it with the last', () => {
    expect(laid.material.map((m) => m.name)).toEqual(['pale sand', 'dark grain']);
    const two = applied(laid, { do: 'bed-add', material: dark, bed });
    expect(two.material).toHaveLength(2);
    const one = applied(two, { do: 'bed-remove', bed: 0 });
    expect(one.material).toHaveLength(2);
    expect(applied(one, { do: 'bed-remove', bed: 0 }).material.map((m) => m.name)).toEqual(['pale sand']);
  });
  it('never lets a height go below the bottom', () => {
    const c = applied(laid, { do: 'bed-point', bed: 0, point: 0, to: [10, 10, -3] });
    expect(c.bed[0]?.points[0]).toEqual([10, 10, 0]);
  });
  it('keeps the last height of a bed', () => {
    expect(() => applied(laid, { do: 'bed-point-remove', bed: 0, point: 0 })).toThrow(Gone);
  });
});

describe('plants', () => {
  const fern = {
    name: 'fern',
    form: 'fern' as const,
    at_mm: [1, 2] as [number, number],
    height_mm: 90,
    spread_mm: 80,
    colour: '#335533',
  };
  it('are told apart by place in the list and name', () => {
    const c = applied(empty, { do: 'plant', plant: fern });
    expect(() => applied(c, { do: 'plant-remove', index: 0, name: 'moss' })).toThrow(Gone);
    expect(applied(c, { do: 'plant-remove', index: 0, name: 'fern' }).plant).toEqual([]);
  });
});

describe('labels', () => {
  it.each<[Edit, string]>([
    [{ do: 'place', tag: 'S-0103', at_mm: [0, 0] }, 'Place S-0103'],
    [{ do: 'remove', tag: 'W-0203' }, 'Remove W-0203'],
    [{ do: 'pose', tag: 'S-0103', pose: 2 }, 'Lay S-0103 on side 2'],
    [{ do: 'bed-point', bed: 0, point: 1, to: [0, 0, 0] }, 'Shape the ground'],
  ])('%j is called %s', (edit, label) => expect(labelled(edit)).toBe(label));
});

describe('one step to a person', () => {
  it('two nudges of one piece are one', () => {
    const a: Edit = { do: 'move', tag: 'S-0103', at_mm: [1, 1] };
    const b: Edit = { do: 'move', tag: 'S-0103', at_mm: [2, 1] };
    expect(merged(a, b)).toEqual(b);
  });
  it('a nudge and a turn, or two pieces, stay two', () => {
    const a: Edit = { do: 'move', tag: 'S-0103', at_mm: [1, 1] };
    expect(merged(a, { do: 'turn', tag: 'S-0103', turn_deg: 5 })).toBeNull();
    expect(merged(a, { do: 'move', tag: 'S-0104', at_mm: [1, 1] })).toBeNull();
  });
});

describe('after a reload', () => {
  const edits: Edit[] = [
    { do: 'place', tag: 'S-0103', at_mm: [200, 150] },
    { do: 'move', tag: 'S-0103', at_mm: [210, 150] },
    {
      do: 'plant',
      plant: { name: 'fern', form: 'fern', at_mm: [1.04, 2], height_mm: 9, spread_mm: 8, colour: '#335533' },
    },
    {
      do: 'bed-add',
      material: sand,
      bed: { material: 'pale sand', region: 'all', by: 'top', points: [[0, 0, 4]] },
    },
  ];
  it.each(edits)('knows whether $do has arrived', (edit) => {
    const before = edit.do === 'move' ? placed : empty;
    expect(alreadyDone(before, edit)).toBe(false);
    expect(alreadyDone(applied(before, edit), edit)).toBe(true);
  });
});
