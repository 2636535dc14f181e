/** What was mended in a scan, in words for the person who scanned it. */

const WORDS: Record<string, (n: number) => string> = {
  welded: (n) => `${many(n, 'point')} that lay on each other ${were(n)} joined`,
  degenerate_dropped: (n) => `${many(n, 'triangle')} without area ${were(n)} left out`,
  doubled_dropped: (n) => `${many(n, 'triangle')} that came twice ${were(n)} left out`,
  flipped: (n) => `${many(n, 'triangle')} facing the wrong way ${were(n)} turned`,
  turned_out: () => 'the whole scan was inside out and was turned outwards',
  hole_closed: (n) => `${many(n, 'small hole')} ${were(n)} closed`,
  dust_dropped: (n) => `${many(n, 'loose speck')} beside the piece ${were(n)} left out`,
  inner_shell: (n) => `${many(n, 'shell')} inside the piece ${were(n)} ignored`,
  hollow: (n) => `${many(n, 'hollow')} inside ${were(n)} taken off the volume`,
  union: (n) => `${many(n, 'part')} that cut into each other ${were(n)} made one`,
};

function many(n: number, one: string): string {
  return `${n.toLocaleString('en').replaceAll(',', '\u2009')} ${one}${n === 1 ? '' : 's'}`;
}

function were(n: number): string {
  return n === 1 ? 'was' : 'were';
}

export function repairWords(repair: { kind: string; count: number; detail: string }): string {
  const words = WORDS[repair.kind];
  if (words) return words(repair.count);
  return repair.detail || repair.kind.replaceAll('_', ' ');
}
