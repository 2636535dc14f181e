/** A JSON Schema, as far as the methods' inputs use it, read into what a form can draw. */
import type { Json } from './types';

export interface JsonSchema {
  $ref?: string;
  $defs?: Record<string, JsonSchema>;
  type?: string | string[];
  title?: string;
  description?: string;
  default?: Json;
  properties?: Record<string, JsonSchema>;
  required?: string[];
  items?: JsonSchema;
  prefixItems?: JsonSchema[];
  minItems?: number;
  maxItems?: number;
  anyOf?: JsonSchema[];
  oneOf?: JsonSchema[];
  enum?: Json[];
  const?: Json;
  minimum?: number;
  additionalProperties?: boolean | JsonSchema;
}

export interface Choice {
  value: Json;
  words: string;
}

interface Said {
  /** Words for a person, from the schema. */
  words: string;
  /** May be left out. */
  optional: boolean;
  fallback?: Json;
}

export type Node = Said &
  (
    | { kind: 'number'; whole: boolean }
    | { kind: 'text' }
    | { kind: 'yes_no' }
    | { kind: 'choice'; choices: Choice[] }
    | { kind: 'scan' }
    | { kind: 'object'; fields: { key: string; node: Node }[] }
    | { kind: 'tuple'; item: Node; length: number }
    | { kind: 'list'; item: Node }
    | { kind: 'either'; forms: Node[] }
    | { kind: 'constant'; value: Json }
  );

type Context = { defs: Record<string, JsonSchema>; key: string };

function resolve(schema: JsonSchema, defs: Record<string, JsonSchema>): JsonSchema {
  let found = schema;
  for (let depth = 0; found.$ref && depth < 16; depth += 1) {
    const name = found.$ref.replace(/^#\/\$defs\//, '');
    const { $ref: _, ...beside } = found;
    found = { ...defs[name], ...beside };
  }
  return found;
}

function isNull(schema: JsonSchema): boolean {
  return schema.type === 'null' || schema.const === null;
}

/** One member of a union that is a scan by its id, whatever its other forms are. */
function isScan(schema: JsonSchema, defs: Record<string, JsonSchema>): boolean {
  const names = Object.keys(resolve(schema, defs).properties ?? {});
  return names.length === 1 && names[0] === 'object';
}

/** The type without `null`, and whether `null` was allowed. */
function typeOf(schema: JsonSchema): { type: string | undefined; nullable: boolean } {
  const types = Array.isArray(schema.type) ? schema.type : schema.type ? [schema.type] : [];
  return { type: types.find((type) => type !== 'null'), nullable: types.includes('null') };
}

function union(members: JsonSchema[], said: Said, context: Context): Node {
  const solid = members.map((member) => resolve(member, context.defs)).filter((member) => !isNull(member));
  if (solid.some((member) => isScan(member, context.defs))) return { ...said, kind: 'scan' };
  if (solid.every((member) => member.const !== undefined)) {
    const choices = solid.map((member) => ({
      value: member.const ?? null,
      words: member.description ?? String(member.const),
    }));
    return { ...said, kind: 'choice', choices };
  }
  const forms = solid.map((member) => read(member, context, said.optional));
  const [only] = forms;
  if (forms.length === 1 && only) return { ...only, ...said, words: said.words || only.words };
  return { ...said, kind: 'either', forms };
}

function read(raw: JsonSchema, context: Context, optional: boolean): Node {
  const schema = resolve(raw, context.defs);
  const { type, nullable } = typeOf(schema);
  const members = schema.anyOf ?? schema.oneOf;
  const said: Said = {
    words: schema.description ?? '',
    optional: optional || nullable || (members?.some(isNull) ?? false),
    fallback: schema.default,
  };
  if (context.key === 'mesh') return { ...said, kind: 'scan' };
  if (schema.const !== undefined) return { ...said, kind: 'constant', value: schema.const };
  if (schema.enum) {
    const choices = schema.enum
      .filter((value) => value !== null)
      .map((value) => ({ value, words: String(value) }));
    const [only] = choices;
    if (choices.length === 1 && only) return { ...said, kind: 'constant', value: only.value };
    return { ...said, kind: 'choice', choices };
  }
  if (members) return union(members, said, context);
  switch (type) {
    case 'number':
    case 'integer':
      return { ...said, kind: 'number', whole: type === 'integer' };
    case 'boolean':
      return { ...said, kind: 'yes_no' };
    case 'object':
      return { ...said, kind: 'object', fields: fieldsOf(schema, context) };
    case 'array': {
      const item = read(schema.items ?? schema.prefixItems?.[0] ?? {}, { ...context, key: '' }, false);
      const length = schema.maxItems;
      if (length !== undefined && length === schema.minItems) return { ...said, kind: 'tuple', item, length };
      return { ...said, kind: 'list', item };
    }
    default:
      return { ...said, kind: 'text' };
  }
}

function fieldsOf(schema: JsonSchema, context: Context): { key: string; node: Node }[] {
  const required = schema.required ?? [];
  const fields = Object.entries(schema.properties ?? {}).map(([key, property]) => ({
    key,
    node: read(property, { ...context, key }, !required.includes(key)),
  }));
  // Properties come in the alphabet's order; `required` keeps the one in which they were thought of.
  const place = (key: string) => (required.includes(key) ? required.indexOf(key) : required.length);
  return fields.sort((a, b) => place(a.key) - place(b.key));
}

export function readSchema(schema: JsonSchema): Node {
  return read(schema, { defs: schema.$defs ?? {}, key: '' }, false);
}

/** What a fresh form holds: defaults, one item where a list must be given, `undefined` where nothing is known. */
export function start(node: Node): Json | undefined {
  if (node.fallback !== undefined && node.fallback !== null) return structuredClone(node.fallback);
  if (node.kind === 'constant') return node.value;
  if (node.optional) return undefined;
  switch (node.kind) {
    case 'object': {
      const value: Record<string, Json> = {};
      for (const { key, node: field } of node.fields) {
        const begin = start(field);
        if (begin !== undefined) value[key] = begin;
      }
      return value;
    }
    case 'list': {
      const first = start(node.item);
      return first === undefined ? [] : [first];
    }
    case 'tuple':
      return Array.from({ length: node.length }, () => start(node.item) ?? null);
    case 'either':
      return node.forms[0] ? start(node.forms[0]) : undefined;
    case 'yes_no':
      return false;
    default:
      return undefined;
  }
}

/** Which form of an `either` a value is in. */
export function formOf(node: Extract<Node, { kind: 'either' }>, value: Json | undefined): number {
  const fits = node.forms.findIndex((form) => {
    if (value === undefined || value === null) return false;
    if (form.kind === 'constant') return value === form.value;
    if (form.kind === 'choice') return form.choices.some((choice) => choice.value === value);
    if (form.kind === 'number') return typeof value === 'number';
    if (form.kind === 'text') return typeof value === 'string';
    if (form.kind === 'list' || form.kind === 'tuple') {
      if (!Array.isArray(value)) return false;
      const [first] = value;
      if (first === undefined) return true;
      return Array.isArray(first) === (form.item.kind === 'tuple' || form.item.kind === 'list');
    }
    return form.kind === 'object' && typeof value === 'object' && !Array.isArray(value);
  });
  return Math.max(fits, 0);
}
