/** What an output's value looks like on the screen, and what explains it. */
import type { Figure } from '$lib/api/types';
import { wordsOf } from '../names';
import type { JsonSchema } from '../schema';
import type { Equation, Json } from '../types';

export type Shape = 'figure' | 'words' | 'yes_no' | 'row' | 'table' | 'items' | 'group' | 'many' | 'none';

function isRecord(value: Json): value is { [key: string]: Json } {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isScalar(value: Json): boolean {
  return value === null || typeof value !== 'object';
}

function isRow(value: Json): boolean {
  return Array.isArray(value) && value.length <= 4 && value.every((part) => typeof part === 'number');
}

export function shapeOf(value: Json): Shape {
  if (value === null) return 'none';
  if (typeof value === 'number') return 'figure';
  if (typeof value === 'boolean') return 'yes_no';
  if (typeof value === 'string') return 'words';
  if (isRecord(value)) return 'group';
  if (value.length === 0) return 'none';
  if (isRow(value)) return 'row';
  if (value.every(isRecord)) {
    const flat = value.every(
      (item) => isRecord(item) && Object.values(item).every((part) => isScalar(part) || isRow(part)),
    );
    return flat ? 'table' : 'items';
  }
  return 'many';
}

/** The schema of a part of an output, through references and unions with null. */
export function part(schema: JsonSchema, key: string | number, root: JsonSchema): JsonSchema {
  const here = settle(schema, root);
  const next = typeof key === 'number' ? here.items : here.properties?.[key];
  return next ? settle(next, root) : {};
}

function settle(schema: JsonSchema, root: JsonSchema): JsonSchema {
  let found = schema;
  for (let depth = 0; depth < 16; depth += 1) {
    if (found.$ref) {
      const { $ref, ...beside } = found;
      found = { ...root.$defs?.[$ref.replace('#/$defs/', '')], ...beside };
      continue;
    }
    const solid = found.anyOf?.find((member) => member.type !== 'null');
    if (!solid) return found;
    const { anyOf: _, ...beside } = found;
    found = { ...solid, ...beside };
  }
  return found;
}

/** The relation behind a figure: `quantity` names output keys, several with commas, nested with dots. */
export function basisOf(path: string, basis: readonly Equation[]): Equation | undefined {
  const steps = path.split('.').filter((step) => !/^\d+$/.test(step));
  for (let from = 0; from < steps.length; from += 1) {
    for (let to = steps.length; to > from; to -= 1) {
      const name = steps.slice(from, to).join('.');
      const found = basis.find((one) =>
        one.quantity.split(/[,;]\s*|\s+of\s+|\s+and\s+/).some((word) => word.trim() === name),
      );
      if (found) return found;
    }
  }
  return undefined;
}

/** A computed number as a figure that explains itself. Counts are exact; the rest is as good as what was typed. */
export function figureOf(
  key: string,
  path: string,
  value: number,
  schema: JsonSchema,
  basis: readonly Equation[],
): Figure {
  const { words, unit } = wordsOf(key);
  const found = basisOf(path, basis);
  const types = Array.isArray(schema.type) ? schema.type : [schema.type];
  const relation = [schema.description?.replace(/,\s*[^,\s]{1,6}\.$/, '.'), found?.relation]
    .filter(Boolean)
    .join(' ');
  return {
    key,
    label: words,
    value,
    unit,
    certainty: types.includes('integer') ? 'measured' : 'estimated',
    relation,
    source: found?.source ?? '',
  };
}
