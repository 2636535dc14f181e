/** Whether two values say the same: the order of keys doesn't matter, and a null key is an absent one. */
export function same(a: unknown, b: unknown): boolean {
  return canonical(a) === canonical(b);
}

function canonical(v: unknown): string {
  return JSON.stringify(v, (_key, value: unknown) => {
    if (value === null || typeof value !== 'object' || Array.isArray(value)) return value;
    const entries = Object.entries(value).filter(([, x]) => x !== null && x !== undefined);
    return Object.fromEntries(entries.sort(([p], [q]) => (p < q ? -1 : 1)));
  });
}
