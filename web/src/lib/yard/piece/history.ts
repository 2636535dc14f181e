/** What happened to a piece, in plain sentences. */
import type { HistoryEvent, Money, Units } from '$lib/api/types';
import { printDay } from '$lib/time/time';
import { printMass, printMoney } from '$lib/units/print';
import { stateWords } from '$lib/yard/words';

/** What the server calls a deed, and what a person says. */
const DEEDS: Record<string, string> = {
  held: 'held it',
  'let go': 'let it go again',
  sold: 'sold it',
  photographed: 'added photographs',
  measured: 'had its scan measured anew',
};

type Fields = Record<string, unknown>;

/** The server adds `deed`, the change in a few words, to an event. */
export type PieceEvent = HistoryEvent & { deed?: string | null };

function fields(value: unknown): Fields {
  return value !== null && typeof value === 'object' && !Array.isArray(value) ? (value as Fields) : {};
}

function money(value: unknown): string | null {
  const it = value as Partial<Money> | null;
  if (it && typeof it === 'object' && typeof it.amount === 'number' && typeof it.currency === 'string')
    return printMoney(it.amount, it.currency);
  return null;
}

function quoted(value: unknown): string {
  return typeof value === 'string' && value !== '' ? value : 'nowhere';
}

function priced(was: Fields, is: Fields): string {
  const [from, to] = [money(was.price), money(is.price)];
  if (to === null) return 'took the price off';
  return from === null ? `priced it at ${to}` : `changed the price from ${from} to ${to}`;
}

function weighed(was: Fields, is: Fields, units: Units): string {
  if (typeof is.mass_kg !== 'number') return 'took the weighing back';
  const now = printMass(is.mass_kg, units);
  const before = typeof was.mass_kg === 'number' ? ` (before: ${printMass(was.mass_kg, units)})` : '';
  return `weighed it: ${now}${before}`;
}

function until(is: Fields): string {
  const hold = fields(is.hold);
  if (typeof hold.until_ms === 'number') return ` until ${printDay(hold.until_ms)}`;
  return typeof hold.until === 'string' ? ` until ${hold.until}` : '';
}

function held(is: Fields): string {
  const hold = fields(is.hold);
  if (Object.keys(hold).length === 0) return 'let the hold go';
  return `held it${until(is)}`;
}

/** One phrase for each field that changed, in the order in which people ask. */
function phrases(was: Fields, is: Fields, units: Units): string[] {
  const said: string[] = [];
  const changed = (key: string) => key in is || key in was;
  if (changed('state')) said.push(`made it ${stateWords(String(is.state))}`);
  if (changed('place')) said.push(`moved it from ${quoted(was.place)} to ${quoted(is.place)}`);
  if (changed('price') || changed('price_cents')) said.push(priced(was, is));
  if (changed('mass_kg')) said.push(weighed(was, is, units));
  if (changed('material')) said.push(`named the material ${String(is.material)}`);
  if (changed('density_kg_m3')) said.push(`set the density to ${String(is.density_kg_m3)} kg/m³`);
  if (changed('hold')) said.push(held(is));
  if (changed('notes')) said.push(is.notes ? 'wrote a note' : 'cleared the note');
  if (changed('photographs')) said.push('added photographs');
  return said;
}

function listed(parts: string[]): string {
  if (parts.length < 2) return parts.join('');
  return `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;
}

/** `Ilse moved it from shelf A to shelf B and priced it at €12.00.` */
export function sentence(event: PieceEvent, units: Units): string {
  const who = event.who && event.who !== '' ? event.who : 'Somebody';
  const was = fields(event.before);
  const is = fields(event.after);
  const isNew =
    event.before === null || event.before === undefined || /\.(taken_in|added|made)$/.test(event.what);
  if (isNew && Object.keys(was).length === 0 && !/photograph|hold/.test(event.what)) {
    const place = typeof is.place === 'string' && is.place !== '' ? ` and put it at ${is.place}` : '';
    if (/taken|made|added|new/.test(`${event.what} ${event.deed ?? ''}`)) return `${who} took it in${place}.`;
  }
  const plain = DEEDS[event.deed ?? ''];
  if (plain) return `${who} ${plain}${event.deed === 'held' ? until(is) : ''}.`;
  const said = phrases(was, is, units);
  if (said.length > 0) return `${who} ${listed(said)}.`;
  const deed = event.deed ?? event.what.replace(/^[a-z]+\./, '').replaceAll('_', ' ');
  return `${who}: ${deed}.`;
}

/** The day and time of an event as people say it, in the browser's own zone. */
export function when(at_ms: number, now_ms = Date.now()): string {
  const at = new Date(at_ms);
  const time = at.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  const day = (ms: number) => new Date(ms).toDateString();
  if (day(at_ms) === day(now_ms)) return `today, ${time}`;
  if (day(at_ms) === day(now_ms - 86_400_000)) return `yesterday, ${time}`;
  return `${at.toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' })}, ${time}`;
}
