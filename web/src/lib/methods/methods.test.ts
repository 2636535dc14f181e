import { describe, expect, it } from 'vitest';
import { inWords, wordsOf } from './names';
import { join, matches, nearest } from './pointer';
import { formOf, readSchema, start } from './schema';

describe('wordsOf', () => {
  it.each([
    ['bulk_density_kg_m3', 'Bulk density', 'kg/m³'],
    ['length_mm', 'Length', 'mm'],
    ['water_l', 'Water', 'L'],
    ['slope_x_deg', 'Slope x', '°'],
    ['temperature_c', 'Temperature', '°C'],
    ['name', 'Name', ''],
    ['nx', 'Nx', ''],
    ['price', 'Price', ''],
  ])('%s', (key, words, unit) => expect(wordsOf(key)).toEqual({ words, unit }));
});

describe('inWords', () => {
  it('says keys', () =>
    expect(inWords('materials.mass_kg, volume_l of an open mesh')).toBe(
      'Materials › mass, volume of an open mesh',
    ));
});

describe('pointers', () => {
  // RFC 6901, section 3: ~ is ~0 and / is ~1.
  it('escapes', () => expect(join('/a', 'b/c~d')).toBe('/a/b~1c~0d'));
  it('matches any item', () =>
    expect(matches('/beds/*/points/*/value_mm', '/beds/0/points/12/value_mm')).toBe(true));
  it('does not match a longer one', () => expect(matches('/beds/*', '/beds/0/region')).toBe(false));
  it('finds the closest field', () =>
    expect(nearest('/beds/0/region/1', new Set(['/beds/0/region']))).toBe('/beds/0/region'));
  it('falls to the whole', () => expect(nearest('/other', new Set(['/beds']))).toBe(''));
});

const schema = {
  $defs: {
    Up: {
      oneOf: [
        { const: 'z', description: 'Up.' },
        { const: 'y', description: 'The file’s y.' },
      ],
    },
    Mesh: { anyOf: [{ type: 'string' }, { properties: { object: { type: 'string' } }, type: 'object' }] },
    Region: {
      anyOf: [
        { enum: ['all'], type: 'string' },
        { type: 'array', items: { type: 'array', items: { type: 'number' }, minItems: 2, maxItems: 2 } },
        { type: 'array', items: { type: 'object', properties: { x_mm: { type: 'number' } } } },
      ],
    },
  },
  type: 'object',
  required: ['tank', 'rows'],
  properties: {
    cell_mm: { type: 'number', default: 5 },
    tank: { type: 'object', required: ['length_mm'], properties: { length_mm: { type: 'number' } } },
    rows: {
      type: 'array',
      items: { type: 'object', properties: { region: { $ref: '#/$defs/Region', default: 'all' } } },
    },
    up: { anyOf: [{ $ref: '#/$defs/Up' }, { type: 'null' }] },
    scan: { anyOf: [{ $ref: '#/$defs/Mesh' }, { type: 'null' }] },
    box_mm: { type: ['array', 'null'], items: { type: 'number' }, minItems: 3, maxItems: 3 },
  },
};

describe('a form from a schema', () => {
  const node = readSchema(schema);
  const fields = new Map(node.kind === 'object' ? node.fields.map((field) => [field.key, field.node]) : []);
  it('puts what must be given first', () => expect([...fields.keys()].slice(0, 2)).toEqual(['tank', 'rows']));
  it('knows a scan', () => expect(fields.get('scan')).toMatchObject({ kind: 'scan', optional: true }));
  it('knows a choice', () => expect(fields.get('up')).toMatchObject({ kind: 'choice', optional: true }));
  it('knows a row of three', () =>
    expect(fields.get('box_mm')).toMatchObject({ kind: 'tuple', length: 3, optional: true }));
  it('begins with defaults and one item', () =>
    expect(start(node)).toEqual({ tank: {}, rows: [{ region: 'all' }], cell_mm: 5 }));
  it('tells the forms of a region apart', () => {
    const rows = fields.get('rows');
    const item = rows?.kind === 'list' && rows.item.kind === 'object' ? rows.item.fields[0]?.node : undefined;
    if (item?.kind !== 'either') throw new Error('a region has several forms');
    expect([formOf(item, 'all'), formOf(item, [[1, 2]]), formOf(item, [{ x_mm: 1 }])]).toEqual([0, 1, 2]);
  });
});
