/** JSON pointers (RFC 6901) of values in a form. */

export function join(pointer: string, key: string | number): string {
  return `${pointer}/${String(key).replace(/~/g, '~0').replace(/\//g, '~1')}`;
}

/** Whether a bound's path, in which `*` is any step, names this value. */
export function matches(path: string, pointer: string): boolean {
  const want = path.split('/');
  const got = pointer.split('/');
  return want.length === got.length && want.every((step, i) => step === '*' || step === got[i]);
}

/** The field nearest to a refused value: itself, or the closest one round it that is on the screen. */
export function nearest(pointer: string, shown: ReadonlySet<string>): string {
  let at = pointer;
  while (at !== '' && !shown.has(at)) at = at.slice(0, at.lastIndexOf('/'));
  return at;
}
