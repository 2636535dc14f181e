/** Choosing pieces: one, or all from the last one to this. */
export function choose(
  chosen: ReadonlySet<string>,
  order: readonly string[],
  tag: string,
  from: string,
): ReadonlySet<string> {
  const next = new Set(chosen);
  const a = from === '' ? -1 : order.indexOf(from);
  const b = order.indexOf(tag);
  if (a >= 0 && b >= 0 && a !== b) {
    for (const one of order.slice(Math.min(a, b), Math.max(a, b) + 1)) next.add(one);
  } else if (!next.delete(tag)) next.add(tag);
  return next;
}
