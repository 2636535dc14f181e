/** Which page answers an address. A page's folder under routes/ is its pattern: `yard/[tag]` answers
 * `/yard/S-0148`; a fixed word wins over `[tag]`. */

export type Params = Record<string, string>;

export interface Match {
  pattern: string;
  params: Params;
}

/** `./routes/yard/[tag]/Page.svelte` → `/yard/[tag]`. */
export function patternOf(file: string): string {
  const path = file.replace(/^.*\/routes/, '').replace(/\/Page\.svelte$/, '');
  return path === '' ? '/' : path;
}

function parts(path: string): string[] {
  return path.split('/').filter((part) => part !== '');
}

function paramsFor(pattern: string, path: string): Params | null {
  const wanted = parts(pattern);
  const got = parts(path);
  if (wanted.length !== got.length) return null;
  const params: Params = {};
  for (const [i, want] of wanted.entries()) {
    const word = got[i] ?? '';
    const name = /^\[(.+)\]$/.exec(want)?.[1];
    if (name === undefined) {
      if (want !== word) return null;
      continue;
    }
    try {
      params[name] = decodeURIComponent(word);
    } catch {
      return null;
    }
  }
  return params;
}

/** How many words of a pattern are fixed: more is better. */
function fixed(pattern: string): number {
  return parts(pattern).filter((part) => !part.startsWith('[')).length;
}

export function matchPath(patterns: readonly string[], path: string): Match | null {
  let best: Match | null = null;
  for (const pattern of patterns) {
    const params = paramsFor(pattern, path);
    if (params && (best === null || fixed(pattern) > fixed(best.pattern))) best = { pattern, params };
  }
  return best;
}
