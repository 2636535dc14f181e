/** What every field of a method's form needs to know of the whole. */
import { getContext, setContext } from 'svelte';
import type { Node } from './schema';
import type { Bound, Json } from './types';

export interface FormContext {
  bound(pointer: string): Bound | undefined;
  /** The words of a refusal that belong at this field. */
  error(pointer: string): string | null;
  /** Says that a field is on the screen; the answer takes it back. */
  show(pointer: string): () => void;
}

const KEY = Symbol('method form');

export function provideForm(context: FormContext): void {
  setContext(KEY, context);
}

export function useForm(): FormContext {
  return getContext(KEY);
}

export interface FieldProps<Kind extends Node['kind'] = Node['kind']> {
  node: Extract<Node, { kind: Kind }>;
  /** The key that its words and unit come from. */
  name: string;
  label: string;
  pointer: string;
  value: Json | undefined;
  onchange: (value: Json | undefined) => void;
}

/** The values that must be given and aren't. */
export function missing(node: Node, value: Json | undefined, pointer = ''): string[] {
  if (value === undefined || value === null || value === '') {
    return node.optional ? [] : [pointer];
  }
  if (node.kind === 'object' && typeof value === 'object' && !Array.isArray(value)) {
    return node.fields.flatMap(({ key, node: field }) => missing(field, value[key], `${pointer}/${key}`));
  }
  if ((node.kind === 'list' || node.kind === 'tuple') && Array.isArray(value)) {
    return value.flatMap((item, i) => missing(node.item, item, `${pointer}/${i}`));
  }
  return [];
}
