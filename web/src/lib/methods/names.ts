/** A key in words, its unit apart: `bulk_density_kg_m3` → `Bulk density`, `kg/m³`. */

/** Longest first: `_kg_m3` before `_m3`. */
const UNITS: [suffix: string, unit: string][] = [
  ['umol_m2_s', 'µmol/(m²·s)'],
  ['kg_m3', 'kg/m³'],
  ['kg_m2', 'kg/m²'],
  ['g_kg', 'g/kg'],
  ['us_cm', 'µS/cm'],
  ['meq_l', 'meq/L'],
  ['mg_l', 'mg/L'],
  ['l_day', 'L/day'],
  ['l_h', 'L/h'],
  ['fraction', ''],
  ['percent', '%'],
  ['kpa', 'kPa'],
  ['mpa', 'MPa'],
  ['dgh', '°dGH'],
  ['dkh', '°dKH'],
  ['deg', '°'],
  ['day', 'days'],
  ['mm3', 'mm³'],
  ['mm2', 'mm²'],
  ['cm2', 'cm²'],
  ['m2', 'm²'],
  ['m3', 'm³'],
  ['mm', 'mm'],
  ['kg', 'kg'],
  ['nm', 'N·m'],
  ['m', 'm'],
  ['l', 'L'],
  ['g', 'g'],
  ['c', '°C'],
  ['n', 'N'],
  ['w', 'W'],
  ['s', 's'],
  ['h', 'h'],
];

export interface KeyWords {
  words: string;
  unit: string;
}

export function wordsOf(key: string): KeyWords {
  for (const [suffix, unit] of UNITS) {
    if (key === suffix || key.endsWith(`_${suffix}`)) {
      const stem = key.slice(0, -suffix.length - 1);
      if (stem !== '') return { words: sentence(stem), unit };
    }
  }
  return { words: sentence(key), unit: '' };
}

function sentence(stem: string): string {
  const words = stem.replace(/_/g, ' ');
  return words.charAt(0).toUpperCase() + words.slice(1);
}

/** The keys within a sentence in words: `volume_l, size_mm of an open mesh` → `volume, size of an open mesh`. */
export function inWords(text: string): string {
  const plain = text.replace(/[a-z][a-z0-9]*(?:_[a-z0-9]+)+/g, (key) => wordsOf(key).words.toLowerCase());
  return plain.charAt(0).toUpperCase() + plain.slice(1).replaceAll('.', ' › ');
}

/** The parts of a short row of numbers, by what the key holds. */
export function partNames(key: string, length: number): string[] {
  if (key.startsWith('quaternion')) return ['w', 'x', 'y', 'z'];
  if (length === 2 || length === 3) return ['x', 'y', 'z'].slice(0, length);
  return Array.from({ length }, (_, i) => String(i + 1));
}

/** `item` of a list: `Materials` → `Material`. */
export function singular(words: string): string {
  if (words.endsWith('ies')) return `${words.slice(0, -3)}y`;
  return words.endsWith('s') ? words.slice(0, -1) : words;
}
