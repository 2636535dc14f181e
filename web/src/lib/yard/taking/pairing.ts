/** Which files belong together: a scan and the photographs of the same piece, by their names and order. */

export const SCAN_TYPES = ['ply', 'obj', 'stl', 'glb', 'gltf'] as const;
export const PHOTOGRAPH_TYPES = ['jpg', 'jpeg', 'png', 'webp'] as const;
export const SCAN_LIMIT_BYTES = 512 * 1024 * 1024;
export const PHOTOGRAPH_LIMIT_BYTES = 40 * 1024 * 1024;

export type FileKind = 'scan' | 'photograph' | 'unknown';

export function endingOf(name: string): string {
  return /\.([a-z0-9]+)$/i.exec(name)?.[1]?.toLowerCase() ?? '';
}

export function fileKind(name: string, type = ''): FileKind {
  const ending = endingOf(name);
  if ((SCAN_TYPES as readonly string[]).includes(ending)) return 'scan';
  if ((PHOTOGRAPH_TYPES as readonly string[]).includes(ending)) return 'photograph';
  return /^image\/(jpeg|png|webp)$/.test(type) ? 'photograph' : 'unknown';
}

/** glTF says its unit and its up itself. */
export function knowsItsUnit(name: string): boolean {
  return ['glb', 'gltf'].includes(endingOf(name));
}

/** Why a file can't be taken, in words; null when it can. */
export function fileTrouble(file: { name: string; size: number; type?: string }): string | null {
  const kind = fileKind(file.name, file.type);
  if (kind === 'unknown')
    return /\.(heic|heif)$/i.test(file.name)
      ? 'HEIC photographs can’t be read here: set the camera to JPEG, or save it as JPEG.'
      : 'neither a scan (PLY, OBJ, STL, GLB) nor a photograph (JPEG, PNG, WebP)';
  if (file.size === 0) return 'the file is empty';
  const limit = kind === 'scan' ? SCAN_LIMIT_BYTES : PHOTOGRAPH_LIMIT_BYTES;
  if (file.size > limit) return `larger than ${limit / 1024 / 1024} MB`;
  return null;
}

function stem(name: string): string {
  return name
    .replace(/\.[^.]+$/, '')
    .toLowerCase()
    .replace(/[\s_-]+/g, '-');
}

/** For each photograph the index of the scan that it shows: the longest scan name that begins its own; the only
 * scan when there is just one; else null, and a person says. */
export function pairPhotographs(scans: readonly string[], photographs: readonly string[]): (number | null)[] {
  const stems = scans.map(stem);
  return photographs.map((name) => {
    const mine = stem(name);
    let best: number | null = scans.length === 1 ? 0 : null;
    let longest = 0;
    for (const [i, one] of stems.entries()) {
      const rest = mine.slice(one.length);
      if (one.length > longest && mine.startsWith(one) && (rest === '' || /^[^a-z0-9]/.test(rest))) {
        best = i;
        longest = one.length;
      }
    }
    return best;
  });
}

export function printBytes(bytes: number): string {
  if (bytes < 1024 * 1024) return `${Math.max(1, Math.round(bytes / 1024))} kB`;
  return `${(bytes / 1024 / 1024).toFixed(bytes < 10 * 1024 * 1024 ? 1 : 0)} MB`;
}
