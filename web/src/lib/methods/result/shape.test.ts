import { describe, expect, it } from 'vitest';
import { basisOf, part, shapeOf } from './shape';

const basis = [
  { quantity: 'volume_l, centre_of_mass_mm', relation: 'a', source: '' },
  { quantity: 'materials.mass_kg', relation: 'b', source: '' },
  { quantity: 'pieces.pose', relation: 'c', source: '' },
];

describe('basisOf', () => {
  it('finds one of several', () => expect(basisOf('centre_of_mass_mm', basis)?.relation).toBe('a'));
  it('finds a nested one', () => expect(basisOf('materials.3.mass_kg', basis)?.relation).toBe('b'));
  it('takes the group’s for its parts', () =>
    expect(basisOf('pieces.0.pose.centre_mm', basis)?.relation).toBe('c'));
  it('knows none', () => expect(basisOf('price', basis)).toBeUndefined());
});

describe('shapeOf', () => {
  it.each([
    [null, 'none'],
    [[], 'none'],
    [3, 'figure'],
    [[1, 2, 3], 'row'],
    [[{ a: 1, at: [1, 2] }], 'table'],
    [[{ a: { b: 1 } }], 'items'],
    [
      [
        [1, 2],
        [3, 4],
      ],
      'many',
    ],
    [{ a: 1 }, 'group'],
  ] as const)('%j is %s', (value, shape) => expect(shapeOf(structuredClone(value) as never)).toBe(shape));
});

describe('part', () => {
  const root = {
    $defs: { A: { properties: { x: { type: 'integer' } } } },
    properties: { list: { items: { anyOf: [{ $ref: '#/$defs/A' }, { type: 'null' }] } } },
  };
  it('goes through references', () =>
    expect(part(part(part(root, 'list', root), 0, root), 'x', root)).toEqual({ type: 'integer' }));
});
