/** Methods by subject: the first word of their names. */
import type { MethodCard } from '$lib/api/types';

const TITLES: Record<string, string> = {
  solid: 'Pieces',
  scape: 'Layouts',
  glass: 'Glass',
  stand: 'Stands',
  pack: 'Packing',
  water: 'Water',
  gas: 'Gas',
  heat: 'Heat',
  flow: 'Flow',
  light: 'Light',
  life: 'Life',
  care: 'Care',
};

export interface Subject {
  title: string;
  methods: MethodCard[];
}

/** In the order in which their first method comes. */
export function groupsOf(methods: readonly MethodCard[]): Subject[] {
  const groups = new Map<string, Subject>();
  for (const method of methods) {
    const word = method.name.split('.')[0] ?? '';
    const group = groups.get(word) ?? { title: TITLES[word] ?? word, methods: [] };
    group.methods.push(method);
    groups.set(word, group);
  }
  return [...groups.values()];
}
