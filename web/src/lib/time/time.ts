/** Times as people say them. */

const STEPS: [Intl.RelativeTimeFormatUnit, number][] = [
  ['year', 365.25 * 864e5],
  ['month', 30.44 * 864e5],
  ['week', 7 * 864e5],
  ['day', 864e5],
  ['hour', 36e5],
  ['minute', 6e4],
];

const relative = new Intl.RelativeTimeFormat('en', { numeric: 'auto' });
const day = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
const moment = new Intl.DateTimeFormat('en-GB', {
  day: 'numeric',
  month: 'short',
  year: 'numeric',
  hour: '2-digit',
  minute: '2-digit',
});

/** `3 hours ago`, `yesterday`, `just now`. */
export function ago(at_ms: number, now_ms: number = Date.now()): string {
  const past = at_ms - now_ms;
  for (const [unit, size] of STEPS) {
    if (Math.abs(past) >= size) return relative.format(Math.trunc(past / size), unit);
  }
  return 'just now';
}

export function printDay(at_ms: number): string {
  return day.format(at_ms);
}

export function printMoment(at_ms: number): string {
  return moment.format(at_ms);
}

/** For `<time datetime>`. */
export function iso(at_ms: number): string {
  return new Date(at_ms).toISOString();
}
