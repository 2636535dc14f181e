/** A shop that answers in the browser's stead of a server: as many seeded pieces as a test asks for. For what the
 * demo workshop can't show: thousands of pieces, refusals, somebody quicker. */
import type { Page, Route } from '@playwright/test';
import { blob, scanGlb } from './grown';

export interface Shop {
  pieces: Record<string, unknown>[];
}

const STATES = ['ready', 'ready', 'ready', 'ready', 'held', 'in_preparation', 'sold', 'on_display'];
const STONES = ['Tarnholt clint', 'Bedded sandstone', 'River cobble', 'Blue slate'];
const WOODS = ['Moor root', 'Branch wood'];

export function seeded(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (Math.imul(s, 1664525) + 1013904223) >>> 0;
    return s / 4294967296;
  };
}

function pieceOf(i: number): Record<string, unknown> {
  const next = seeded(i * 7919 + 13);
  const wood = i % 5 === 4;
  const names = wood ? WOODS : STONES;
  const long = Math.round(wood ? 120 + 500 * next() ** 2 : 50 + 260 * next() ** 2);
  const height = Math.round(long * (0.3 + 0.5 * next()));
  const state = STATES[Math.floor(next() * STATES.length)] ?? 'ready';
  const grey = Math.round(90 + 90 * next());
  const hex = (v: number) => Math.round(v).toString(16).padStart(2, '0');
  return {
    tag: `${wood ? 'W' : 'S'}-${String(101 + i).padStart(4, '0')}`,
    kind: wood ? 'wood' : 'stone',
    material: names[Math.floor(next() * names.length)],
    state,
    place: `shelf ${'ABCD'[Math.floor(next() * 4)]}, row ${1 + Math.floor(next() * 3)}`,
    grade: long < 100 ? 'small' : long < 200 ? 'middle' : 'large',
    size_mm: { long, mid: Math.round(long * 0.7), short: Math.round(long * 0.5) },
    as_laid_mm: { width: long, depth: Math.round(long * 0.7), height },
    mass_kg: Math.round(long ** 3 * 0.7) / 1e6,
    mass_certainty: i % 3 === 0 ? 'estimated' : 'measured',
    price: i % 11 === 0 ? null : { amount: Math.round(long * 0.2 * 4) / 4, currency: 'EUR' },
    colour: wood
      ? `#${hex(grey * 0.85)}${hex(grey * 0.6)}${hex(grey * 0.42)}`
      : `#${hex(grey)}${hex(grey)}${hex(grey * 0.96)}`,
    outline: blob(i + 1, long, height, wood),
    has_picture: false,
    version: 1,
  };
}

function detailOf(card: Record<string, unknown>): Record<string, unknown> {
  const size = card.size_mm as { long: number };
  const laid = card.as_laid_mm as { width: number; depth: number; height: number };
  const figure = (key: string, label: string, value: number, unit: string, certainty: string) => ({
    key,
    label,
    value,
    unit,
    certainty,
    relation: 'sum over the closed mesh',
    source: 'Mirtich 1996',
  });
  return {
    ...card,
    density_kg_m3: 2620,
    friction: 0.6,
    notes: 'Best face has a pale seam.',
    received_at_ms: 1760000000000,
    volume_l: size.long ** 3 / 4e6,
    area_cm2: size.long ** 2 / 30,
    closed: true,
    approximate: false,
    figures: [
      figure('mass_kg', 'Mass', card.mass_kg as number, 'kg', card.mass_certainty as string),
      figure('volume_l', 'Volume', size.long ** 3 / 4e6, 'l', 'estimated'),
      figure('area_cm2', 'Surface', size.long ** 2 / 30, 'cm2', 'estimated'),
      figure('density_kg_m3', 'Density', 2620, 'kg/m3', 'assumed'),
    ],
    repairs: [
      { kind: 'welded', count: 1204, detail: '' },
      { kind: 'hole_closed', count: 1, detail: '' },
    ],
    cautions: [
      {
        code: 'sharp',
        severity: 'note',
        text: 'The mass was not weighed; it follows from the density of the material.',
      },
    ],
    resting_poses: [
      {
        number: 1,
        quaternion: [1, 0, 0, 0],
        probability: 0.55,
        tip_angle_deg: 31,
        support_mm2: 5200,
        width_mm: laid.width,
        depth_mm: laid.depth,
        height_mm: laid.height,
      },
      {
        number: 2,
        quaternion: [Math.SQRT1_2, Math.SQRT1_2, 0, 0],
        probability: 0.3,
        tip_angle_deg: 18,
        support_mm2: 2800,
        width_mm: laid.width,
        depth_mm: laid.height,
        height_mm: laid.depth,
      },
      {
        number: 3,
        quaternion: [Math.SQRT1_2, 0, Math.SQRT1_2, 0],
        probability: 0.08,
        tip_angle_deg: 8,
        support_mm2: 900,
        width_mm: laid.depth,
        depth_mm: laid.height,
        height_mm: laid.width,
      },
    ],
    centre_of_mass_mm: [0, 0, 0],
    photographs: [],
    hold: card.state === 'held' ? { commission: 3, until: '2026-12-20' } : null,
    history: [
      {
        id: 2,
        what: 'piece.changed',
        at_ms: 1760500000000,
        who: 'Ilse',
        deed: 'moved',
        before: { place: 'bench' },
        after: { place: card.place },
      },
      {
        id: 1,
        what: 'piece.changed',
        at_ms: 1760000000000,
        who: 'Ilse',
        deed: 'taken in',
        before: null,
        after: card,
      },
    ],
    layouts: [{ id: 1, title: 'Rimless 90' }],
  };
}

function facets(pieces: Record<string, unknown>[]): Record<string, unknown> {
  const count = (key: string) => {
    const counts = new Map<string, { name: string; count: number; kind?: unknown }>();
    for (const piece of pieces) {
      const name = String(piece[key] ?? '');
      const old = counts.get(name);
      if (old) old.count += 1;
      else counts.set(name, { name, count: 1, kind: piece.kind });
    }
    return [...counts.values()].sort((a, b) => a.name.localeCompare(b.name));
  };
  return {
    materials: count('material'),
    places: count('place'),
    states: count('state'),
    grades: count('grade'),
  };
}

function listed(shop: Shop, query: URLSearchParams): Record<string, unknown> {
  const text = (query.get('text') ?? '').toLowerCase();
  const least = Number(query.get('long_min_mm') ?? 0);
  const most = Number(query.get('long_max_mm') ?? 1e9);
  const found = shop.pieces.filter((piece) => {
    for (const key of ['kind', 'material', 'state', 'place', 'grade'])
      if (query.get(key) && piece[key] !== query.get(key)) return false;
    const long = (piece.size_mm as { long: number }).long;
    if (long < least || long > most) return false;
    return text === '' || `${piece.tag} ${piece.material} ${piece.place}`.toLowerCase().includes(text);
  });
  if (query.get('sort') === 'long')
    found.sort((a, b) => (b.size_mm as { long: number }).long - (a.size_mm as { long: number }).long);
  const offset = Number(query.get('offset') ?? 0);
  const limit = Number(query.get('limit') ?? 200);
  return { total: found.length, pieces: found.slice(offset, offset + limit), facets: facets(found) };
}

function fitted(
  shop: Shop,
  body: { box_mm?: { width: number; depth: number; height: number }; outline_mm?: [number, number][] },
): Record<string, unknown> {
  const [width, height] = body.box_mm
    ? [body.box_mm.width, body.box_mm.height]
    : [
        Math.max(...(body.outline_mm ?? []).map((p) => p[0])) -
          Math.min(...(body.outline_mm ?? []).map((p) => p[0])),
        Math.max(...(body.outline_mm ?? []).map((p) => p[1])) -
          Math.min(...(body.outline_mm ?? []).map((p) => p[1])),
      ];
  const left = body.outline_mm ? Math.min(...body.outline_mm.map((p) => p[0])) : 0;
  const low = body.outline_mm ? Math.min(...body.outline_mm.map((p) => p[1])) : 0;
  const matches = shop.pieces
    .map((piece) => {
      const laid = piece.as_laid_mm as { width: number; depth: number; height: number };
      const outline = (piece.outline as [number, number][]).map(([x, z]) => [
        left + (width - laid.width) / 2 + x,
        low + z,
      ]);
      return {
        tag: piece.tag,
        pose: 1,
        turn_deg: 20,
        mirrored: false,
        fill: (laid.width * laid.height) / (width * height),
        width_mm: laid.width,
        depth_mm: laid.depth,
        height_mm: laid.height,
        outline,
        words: 'lies as it mostly does, turned 20°',
      };
    })
    .filter((m) => m.width_mm <= width && m.height_mm <= height)
    .sort((a, b) => b.fill - a.fill)
    .slice(0, 60);
  return { took_ms: 1.8, n_considered: shop.pieces.length, matches };
}

async function answer(shop: Shop, route: Route): Promise<void> {
  const request = route.request();
  const url = new URL(request.url());
  const json = (body: unknown, status = 200) => route.fulfill({ status, json: body });
  const path = url.pathname.replace('/api', '');
  if (path === '/session')
    return json({
      signed_in: true,
      user: { name: 'demo', role: 'owner' },
      first_start: false,
      demo: true,
      shop: { name: 'Werkplaats Ovenwade', currency: 'EUR' },
      units: 'metric',
    });
  if (path === '/events') return; // Quiet, and open.
  if (path === '/pieces') return json(listed(shop, url.searchParams));
  if (path === '/fit') return json(fitted(shop, request.postDataJSON()));
  if (path === '/lots')
    return json([
      {
        id: 1,
        kind: 'stone',
        material: 'River cobble',
        grade: '60–100 mm',
        mass_kg: 84.5,
        price_per_kg: { amount: 2.4, currency: 'EUR' },
        place: 'crate 3',
        version: 1,
      },
      {
        id: 2,
        kind: 'wood',
        material: 'Branch wood',
        grade: 'thin',
        mass_kg: 6.2,
        price_per_kg: null,
        place: 'loft',
        version: 1,
      },
    ]);
  if (path === '/layouts') return json([]);
  if (path === '/commissions') return json([]);
  const tag = /^\/pieces\/([SW]-\d+)$/.exec(path)?.[1];
  if (tag) {
    const piece = shop.pieces.find((one) => one.tag === tag);
    if (!piece) return json(refuse('not_found', '', `No piece has the tag ${tag}.`), 404);
    if (request.method() === 'PATCH' && request.postDataJSON().version !== piece.version)
      return json(refuse('stale', '', 'Somebody changed this piece meanwhile.'), 409);
    if (request.method() === 'PATCH')
      Object.assign(piece, request.postDataJSON(), { version: (piece.version as number) + 1 });
    return json(detailOf(piece));
  }
  if (path.endsWith('/scan.glb')) {
    const piece = shop.pieces.find((one) => path.includes(String(one.tag)));
    const laid = piece?.as_laid_mm as { width: number; depth: number; height: number };
    return route.fulfill({
      contentType: 'model/gltf-binary',
      body: scanGlb(7, laid.width, laid.depth, laid.height),
    });
  }
  return json(refuse('not_found', '', 'Not in this shop.'), 404);
}

/** A refusal in the server's one shape. */
export function refuse(code: string, path: string, message: string, hint?: string) {
  return { error: { code, path, message, hint } };
}

/** Opens the shop in a page. */
export async function openShop(page: Page, n_pieces: number): Promise<Shop> {
  const shop = { pieces: Array.from({ length: n_pieces }, (_, i) => pieceOf(i)) };
  await page.route(/^[^/]+\/\/[^/]+\/api\//, (route) => answer(shop, route));
  return shop;
}
