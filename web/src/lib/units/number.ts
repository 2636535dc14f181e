/** Numbers as people type them: `2`, `0,5`, `3 1/2`, `½`, `3½`. */

const VULGAR: Record<string, string> = {
  '¼': '1/4',
  '½': '1/2',
  '¾': '3/4',
  '⅛': '1/8',
  '⅜': '3/8',
  '⅝': '5/8',
  '⅞': '7/8',
  '⅓': '1/3',
  '⅔': '2/3',
};

/** Plain spaces and marks for the many that keyboards and copied text bring. */
export function plainText(text: string): string {
  return (
    text
      .replace(/[¼½¾⅛⅜⅝⅞⅓⅔]/g, (sign) => ` ${VULGAR[sign] ?? sign}`)
      // Thousands as we print them ourselves: 12 345 with a thin space.
      .replace(/(\d)[\u2009\u202f](?=\d{3})/g, '$1')
      .replace(/[\u00a0\u2009\u202f\s]+/g, ' ')
      .replace(/[′’‘]/g, "'")
      .replace(/[″”“]|''/g, '"')
      .replace(/⁄/g, '/')
      .replace(/[−–]/g, '-')
      .trim()
      .toLowerCase()
  );
}

/** Matches one number of `readNumber` inside a longer pattern (no groups of its own). */
export const NUMBER = String.raw`[+-]?(?:\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+(?:[.,]\d+)?|[.,]\d+)`;

/** A comma before exactly three digits can be read two ways: 1,200. */
export function isAmbiguous(text: string): boolean {
  return /^[+-]?[1-9]\d{0,2},\d{3}$/.test(text);
}

/** Null when it isn't a number. Mixed numbers carry their sign through: `-1 1/2` is −1.5. */
export function readNumber(text: string): number | null {
  const match = /^([+-]?)(?:(\d+)\s+)?(\d+)\s*\/\s*(\d+)$/.exec(text);
  if (match) {
    const below = Number(match[4]);
    if (below === 0) return null;
    const value = Number(match[2] ?? 0) + Number(match[3]) / below;
    return match[1] === '-' ? -value : value;
  }
  if (!/^[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)$/.test(text)) return null;
  const value = Number(text.replace(',', '.'));
  return Number.isFinite(value) ? value : null;
}
