/** What a person is looking for in the yard. It lives in the address, so that a search can be kept, sent and
 * gone back to. */

export const SORTS = ['tag', 'long', 'mass', 'price', 'newest'] as const;
export type Sort = (typeof SORTS)[number];

export const SORT_WORDS: Record<Sort, string> = {
  tag: 'By tag',
  long: 'Longest first',
  mass: 'Heaviest first',
  price: 'Dearest first',
  newest: 'Newest first',
};

/** Words that are taken as they are, and numbers in mm, kg and the shop's currency. */
export const WORD_KEYS = ['kind', 'material', 'state', 'place', 'grade', 'text'] as const;
export const NUMBER_KEYS = [
  'long_min_mm',
  'long_max_mm',
  'mass_min_kg',
  'mass_max_kg',
  'price_min',
  'price_max',
] as const;

export type WordKey = (typeof WORD_KEYS)[number];
export type NumberKey = (typeof NUMBER_KEYS)[number];

export type Filters = { [key in WordKey]: string } & { [key in NumberKey]: number | null } & { sort: Sort };

export function noFilters(): Filters {
  return {
    kind: '',
    material: '',
    state: '',
    place: '',
    grade: '',
    text: '',
    long_min_mm: null,
    long_max_mm: null,
    mass_min_kg: null,
    mass_max_kg: null,
    price_min: null,
    price_max: null,
    sort: 'tag',
  };
}

/** Reads an address; what makes no sense there counts as not asked for. */
export function readFilters(query: URLSearchParams): Filters {
  const filters = noFilters();
  for (const key of WORD_KEYS) filters[key] = (query.get(key) ?? '').slice(0, 2000);
  if (filters.kind !== 'stone' && filters.kind !== 'wood') filters.kind = '';
  for (const key of NUMBER_KEYS) {
    const text = query.get(key);
    const value = text === null || text.trim() === '' ? Number.NaN : Number(text);
    filters[key] = Number.isFinite(value) && value >= 0 ? value : null;
  }
  const sort = query.get('sort') as Sort;
  if (SORTS.includes(sort)) filters.sort = sort;
  return filters;
}

/** The part of an address that says these filters; what is not asked for is empty, to clear it there. */
export function writeFilters(filters: Filters): Record<string, string | number | null> {
  const words: Record<string, string | number | null> = {};
  for (const key of WORD_KEYS) words[key] = filters[key] === '' ? null : filters[key];
  for (const key of NUMBER_KEYS) words[key] = filters[key];
  words.sort = filters.sort === 'tag' ? null : filters.sort;
  return words;
}

/** Several answers to one question stand in one word, joined by `|`, as the server reads them. */
export function answersOf(word: string): string[] {
  return word.split('|').filter((answer) => answer !== '');
}

/** Adds an answer, or takes it away again. */
export function toggled(word: string, answer: string): string {
  const answers = answersOf(word);
  const rest = answers.filter((one) => one !== answer);
  return (rest.length < answers.length ? rest : [...answers, answer]).join('|');
}

/** How many questions narrow the yard; text and sort are seen elsewhere. */
export function narrowing(filters: Filters): number {
  const words = (['kind', 'material', 'state', 'place', 'grade'] as const).filter((key) => filters[key]);
  const pairs = [
    ['long_min_mm', 'long_max_mm'],
    ['mass_min_kg', 'mass_max_kg'],
    ['price_min', 'price_max'],
  ] as const;
  const ranges = pairs.filter(([least, most]) => filters[least] !== null || filters[most] !== null);
  return words.length + ranges.length;
}

/** A range whose ends stand the wrong way round, in words; null when all is well. */
export function rangeTrouble(least: number | null, most: number | null): string | null {
  return least !== null && most !== null && least > most ? 'The least is more than the most.' : null;
}
