// A stand-in for the server while it doesn't exist: node dev/mock.mjs [port]. Deleted when the server lands.
import { execFileSync, spawnSync } from 'node:child_process';
import { createServer } from 'node:http';

const LENTIC = process.env.LENTIC_BIN ?? '/work/main/target/debug/lentic';
const port = Number(process.argv[2] ?? 7420);
const signIn = process.env.MOCK_SIGN_IN; // 'first' or 'yes'
const empty = process.env.MOCK_EMPTY === '1';
let session = {
  signed_in: !signIn, user: signIn ? null : { name: 'demo', role: 'owner' }, first_start: signIn === 'first',
  demo: !signIn, shop: { name: 'Werkplaats Ovenwade', currency: 'EUR' }, units: 'metric',
};
let eventId = 1;
const hearers = new Set();
function tell(what, subject) {
  const event = { id: eventId++, what, subject: String(subject), at_ms: Date.now(), who: 'demo' };
  for (const res of hearers) res.write(`id: ${event.id}\ndata: ${JSON.stringify(event)}\n\n`);
  return event;
}
function rand(seed) { let s = seed * 2654435761 % 4294967296; return () => ((s = (s * 1664525 + 1013904223) % 4294967296) / 4294967296); }
const MATS = [['Tarnholt clint', 'stone', '#9a9c98'], ['Brunfell scree', 'stone', '#6f625a'], ['Harrow slate', 'stone', '#4a5257'], ['Moor root', 'wood', '#6b4a33'], ['Fen willow', 'wood', '#8d6f52']];
const pieces = [];
for (let i = 0; i < (empty ? 0 : 5000); i++) {
  const r = rand(i + 1);
  const [material, kind, colour] = MATS[Math.floor(r() * MATS.length)];
  const long = 60 + r() * r() * 500, w = long, h = long * (0.3 + r() * 0.5), d = long * (0.3 + r() * 0.5);
  const outline = [];
  for (let k = 0; k < 28; k++) { const a = (k / 28) * 2 * Math.PI; const q = 0.8 + 0.2 * r(); outline.push([w / 2 + Math.cos(a) * w / 2 * q, h / 2 + Math.sin(a) * h / 2 * q]); }
  const x0 = Math.min(...outline.map((p) => p[0])), z0 = Math.min(...outline.map((p) => p[1]));
  for (const p of outline) { p[0] = +(p[0] - x0).toFixed(1); p[1] = +(p[1] - z0).toFixed(1); }
  const mass = (w * d * h * 0.5e-9) * (kind === 'stone' ? 2600 : 900);
  pieces.push({
    tag: `${kind === 'stone' ? 'S' : 'W'}-${String(101 + i).padStart(4, '0')}`, kind, material,
    state: ['ready', 'ready', 'ready', 'in preparation', 'held', 'on display'][Math.floor(r() * 6)],
    place: `shelf ${'ABCD'[Math.floor(r() * 4)]}, row ${1 + Math.floor(r() * 3)}`, grade: ['S', 'M', 'L', null][Math.floor(r() * 4)],
    size_mm: { long: w, mid: Math.max(d, h), short: Math.min(d, h) }, as_laid_mm: { width: w, depth: d, height: h },
    mass_kg: mass, mass_certainty: r() < 0.7 ? 'measured' : 'estimated', price: r() < 0.9 ? { amount: +(4 + mass * 8).toFixed(2), currency: 'EUR' } : null,
    colour, outline, has_picture: false, version: 1,
  });
}
const figure = (key, label, value, unit, certainty, relation, source) => ({ key, label, value, unit, certainty, relation, source });
function detail(p) {
  return {
    ...p, density_kg_m3: 2620, friction: 0.6, notes: '', received_at_ms: Date.now() - 9e8, volume_l: p.mass_kg / 2.62, area_cm2: 640, closed: true, approximate: false,
    figures: [
      figure('mass_kg', 'Mass', p.mass_kg, 'kg', p.mass_certainty, 'from the scale', 'weighed on taking in'),
      figure('volume_l', 'Volume', p.mass_kg / 2.62, 'L', 'measured', 'sum of signed tetrahedra', 'B. Mirtich, 1996'),
      figure('friction', 'Friction', 0.6, '', 'assumed', 'rough stone on stone', 'common practice, no source'),
    ],
    repairs: [{ kind: 'welded', count: 12, detail: '12 corners welded' }], cautions: [],
    resting_poses: [1, 2, 3].map((n) => ({ number: n, quaternion: [1, 0, 0, 0], probability: [0.6, 0.3, 0.1][n - 1], tip_angle_deg: 34 - 7 * n, support_mm2: 3000, width_mm: p.size_mm.long, depth_mm: p.size_mm.mid, height_mm: p.size_mm.short })),
    centre_of_mass_mm: [0, 0, 40], photographs: [], hold: null,
    history: [{ id: 1, what: 'piece.taken_in', at_ms: Date.now() - 9e8, who: 'demo' }], layouts: [{ id: 1, title: 'Still pool' }],
  };
}
const tank = { outside_mm: [600, 360, 360], glass_mm: 8, water_line_mm: 320, water_c: 24 };
const day = 864e5;
const layouts = empty ? [] : [
  { id: 1, title: 'Still pool', commission: 1, pieces: 7, changed_at_ms: Date.now() - 2 * 36e5, stands: true, picture: '/api/mock/1.svg' },
  { id: 2, title: 'Ledge above the bend', commission: 1, pieces: 11, changed_at_ms: Date.now() - day, stands: false, picture: '/api/mock/2.svg' },
  { id: 3, title: 'Two roots', commission: null, pieces: 4, changed_at_ms: Date.now() - 3 * day, stands: null, picture: null },
];
const commissions = empty ? [] : [
  { id: 1, number: '2026-014', customer: 'Family Ostrander-Vliet', contact: 'ostrander@example.org\n+31 555 0148', state: 'composing', version: 1,
    brief: { wish: 'A quiet pool under a ledge, seen from the sofa. Low plants, nothing that has to be trimmed each week.', budget: { amount: 1200, currency: 'EUR' }, tank, notes: 'Stands on an oak floor, upstairs.' },
    history: [{ id: 9, what: 'commission.changed', at_ms: Date.now() - day, who: 'demo' }, { id: 4, what: 'commission.made', at_ms: Date.now() - 5 * day, who: 'demo' }] },
  { id: 2, number: '2026-015', customer: 'Praktijk De Wijk', contact: '', state: 'enquiry', version: 1, brief: { wish: 'Something for the waiting room.' }, history: [{ id: 6, what: 'commission.made', at_ms: Date.now() - 3 * day, who: 'demo' }] },
  { id: 3, number: '2026-009', customer: 'M. Harkema', contact: 'by the door on Saturdays', state: 'handed_over', version: 4, brief: { wish: 'Slate steps.', tank }, history: [] },
];
const full = (c) => ({ ...c, layouts: layouts.filter((l) => l.commission === c.id) });
const cardOf = (c) => ({ id: c.id, number: c.number, customer: c.customer, state: c.state, title: c.brief.wish.slice(0, 60), layouts: full(c).layouts.length, changed_at_ms: c.history[0]?.at_ms ?? Date.now() });
let grades = { version: 1, rules: [{ kind: 'stone', name: 'S', measure: 'long_mm', from: 0, below: 120 }, { kind: 'stone', name: 'M', measure: 'long_mm', from: 120, below: 250 }, { kind: 'stone', name: 'L', measure: 'long_mm', from: 250, below: 600 }, { kind: 'wood', name: 'branch', measure: 'mass_kg', from: 0, below: 1 }] };
let groundVersion = 1;
let ground = [{ name: 'River sand', bulk_density_kg_m3: 1550, grain_density_kg_m3: 2650, grain_mm: 0.8, repose_deg: 33, bag_l: 8, price: 9.5, colour: '#cbb994' }, { name: 'Dark soil', bulk_density_kg_m3: 900, grain_density_kg_m3: null, grain_mm: 3, repose_deg: 36, bag_l: 9, price: 24, colour: '#3c332c' }];
const lots = [{ id: 1, kind: 'stone', material: 'Brunfell scree', grade: 'pebbles', mass_kg: 84, price_per_kg: { amount: 2.4, currency: 'EUR' }, place: 'bin 3', version: 1 }];
const methods = Object.fromEntries(execFileSync(LENTIC, ['method', 'list'], { encoding: 'utf8' }).trim().split('\n').map((l) => l.split(/\s{2,}/)).map(([name]) => [name, JSON.parse(execFileSync(LENTIC, ['method', 'show', '--format', 'json', name], { encoding: 'utf8' }))]));

const refusal = (status, code, message, path = '', hint = null) => ({ status, body: { error: { code, path, message, hint } } });
const pic = (n) => `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 600 360"><rect width="600" height="360" fill="#e8ebe6"/><path d="M0 300q150-40 300-20t300-10v90H0z" fill="#b8a685"/><path d="M${120 + n * 40} 300l60-${120 + n * 20} 80 30 30 95z" fill="#777b78"/><path d="M330 300l30-70 60 10 40 55z" fill="#8e918d"/></svg>`;

const routes = [
  ['GET', /^\/api\/session$/, () => session],
  ['POST', /^\/api\/first-start$/, (_, b) => (b.password.length < 8 ? refusal(422, 'too_short', 'the password has fewer than 8 characters', '/password', 'Take a few words that only you would put together.') : (session = { ...session, signed_in: true, first_start: false, user: { name: b.name, role: 'owner' } }))],
  ['POST', /^\/api\/session$/, (_, b) => (b.password !== 'still water' ? refusal(401, 'wrong', 'name and password don’t belong together') : (session = { ...session, signed_in: true, user: { name: b.name, role: 'owner' } }))],
  ['DELETE', /^\/api\/session$/, () => (session = { ...session, signed_in: false, user: null })],
  ['PUT', /^\/api\/preferences$/, (_, b) => (session = { ...session, ...b })],
  ['GET', /^\/api\/today$/, () => ({ items: empty ? [] : [
    { kind: 'layout', title: 'Ledge above the bend doesn’t stand', text: 'S-0142 slides off the ledge when let go.', href: '/bench/2', at_ms: Date.now() - day },
    { kind: 'hold', title: 'The hold on S-0148 lapses tomorrow', text: 'Set aside for commission 2026-014, Family Ostrander-Vliet.', href: '/yard/S-0148', at_ms: Date.now() - 5 * 36e5 },
    { kind: 'preparation', title: '3 pieces in preparation', text: 'W-0207 and two more have soaked for 21 days.', href: '/yard?state=in%20preparation' },
    { kind: 'weigh', title: '12 pieces were never weighed', text: 'Their masses are estimated from the scan.', href: '/yard' },
    { kind: 'job', title: 'A scan couldn’t be measured', text: 'rock-7.ply: the file ends in the middle of a triangle.', href: '/yard/taking-in', at_ms: Date.now() - 36e5 },
  ] })],
  ['GET', /^\/api\/pieces$/, (q) => { let list = pieces; for (const k of ['kind', 'material', 'state', 'place', 'grade']) if (q.get(k)) list = list.filter((p) => p[k] === q.get(k)); if (q.get('text')) list = list.filter((p) => `${p.tag} ${p.material} ${p.place}`.toLowerCase().includes(q.get('text').toLowerCase())); const count = (k) => Object.entries(list.reduce((a, p) => ({ ...a, [p[k]]: (a[p[k]] ?? 0) + 1 }), {})).map(([name, count]) => ({ name, count })); const o = Number(q.get('offset') ?? 0), l = Number(q.get('limit') ?? 5000); return { total: list.length, pieces: list.slice(o, o + l), facets: { materials: count('material').map((m) => ({ ...m, kind: MATS.find((x) => x[0] === m.name)[1] })), places: count('place'), states: count('state'), grades: count('grade').filter((g) => g.name !== 'null') } }; }],
  ['GET', /^\/api\/pieces\/([SW]-\d+)$/, (_, __, [tag]) => { const p = pieces.find((x) => x.tag === tag); return p ? detail(p) : refusal(404, 'unknown_piece', `no piece ${tag}`); }],
  ['PATCH', /^\/api\/pieces\/([SW]-\d+)$/, (_, b, [tag]) => { const p = pieces.find((x) => x.tag === tag); Object.assign(p, b, { version: p.version + 1 }); tell('piece.changed', tag); return detail(p); }],
  ['POST', /^\/api\/fit$/, (_, b) => ({ took_ms: 3.1, n_considered: pieces.length, matches: pieces.filter((p) => p.as_laid_mm.width <= (b.box_mm?.width ?? 200) && p.as_laid_mm.height <= (b.box_mm?.height ?? 200)).slice(0, 60).map((p, i) => ({ tag: p.tag, pose: 1, turn_deg: 0, mirrored: false, fill: 0.9 - i * 0.01, width_mm: p.as_laid_mm.width, depth_mm: p.as_laid_mm.depth, height_mm: p.as_laid_mm.height, outline: p.outline, words: 'lies on its broad side' })) })],
  ['GET', /^\/api\/grades$/, () => grades],
  ['PUT', /^\/api\/grades$/, (_, b) => { if (b.version !== grades.version) return refusal(409, 'stale', 'somebody changed the rules meanwhile'); const bad = b.rules.findIndex((r) => r.from >= r.below); if (bad >= 0) return refusal(422, 'empty_grade', 'a grade that ends below its beginning', `/rules/${bad}/below`); grades = { version: b.version + 1, rules: b.rules }; tell('grades.changed', ''); return grades; }],
  ['GET', /^\/api\/ground-materials$/, () => ({ version: groundVersion, materials: ground })],
  ['PUT', /^\/api\/ground-materials$/, (_, b) => { ground = b.materials; groundVersion += 1; return { version: groundVersion, materials: ground }; }],
  ['GET', /^\/api\/lots$/, () => lots],
  ['GET', /^\/api\/commissions$/, () => commissions.map(cardOf)],
  ['POST', /^\/api\/commissions$/, (_, b) => { if (!b.customer?.trim()) return refusal(422, 'empty', 'a commission needs a customer', '/customer'); const c = { id: commissions.length + 1, number: `2026-0${15 + commissions.length}`, customer: b.customer, contact: b.contact ?? '', state: 'enquiry', version: 1, brief: b.brief, history: [{ id: 99, what: 'commission.made', at_ms: Date.now(), who: 'demo' }] }; commissions.unshift(c); tell('commission.changed', c.id); return full(c); }],
  ['GET', /^\/api\/commissions\/(\d+)$/, (_, __, [id]) => { const c = commissions.find((x) => x.id === +id); return c ? full(c) : refusal(404, 'unknown', `no commission ${id}`, '', 'It may have been removed.'); }],
  ['PATCH', /^\/api\/commissions\/(\d+)$/, (_, b, [id]) => { const c = commissions.find((x) => x.id === +id); if (b.version !== c.version) return refusal(409, 'stale', 'somebody else changed this commission'); Object.assign(c, b, { version: c.version + 1 }); tell('commission.changed', id); return full(c); }],
  ['GET', /^\/api\/layouts$/, () => layouts],
  ['POST', /^\/api\/layouts$/, (_, b) => { const l = { id: layouts.length + 1, title: b.title, commission: b.commission ?? null, pieces: 0, changed_at_ms: Date.now(), stands: null, picture: null }; layouts.push(l); return { ...l, version: 1, composition: { title: b.title, tank: b.tank ?? tank, material: ground, bed: [], piece: [], plant: [] }, placed: [], inside_mm: [584, 344, 352], undo: null, redo: null, revisions: [] }; }],
  ['GET', /^\/api\/layouts\/(\d+)$/, (_, __, [id]) => { const l = layouts.find((x) => x.id === +id); return l ? { ...l, version: 1, composition: { title: l.title, tank, material: ground, bed: [{ material: 'River sand', region: 'all', by: 'thickness', points: [[10, 10, 30], [10, 330, 70]] }], piece: [], plant: [] }, placed: [], inside_mm: [584, 344, 352], undo: null, redo: null, revisions: [] } : refusal(404, 'unknown', 'no such layout'); }],
  ['GET', /^\/api\/layouts\/\d+\/ground$/, () => ({ nx: 59, ny: 35, cell_mm: 10, heights_mm: Array.from({ length: 59 * 35 }, (_, i) => 30 + Math.floor(i / 59)), colours: ['#cbb994'], material: Array(59 * 35).fill(0) })],
  ['GET', /^\/api\/layouts\/\d+\/reckoning$/, () => ({ version: 1, groups: [{ name: 'water', title: 'Water', stale: false, verdict: null, figures: [figure('free_water_l', 'Free water', 54.2, 'L', 'estimated', 'tank − ground − pieces', 'balance of volumes')], rows: [], findings: [], cautions: [] }] })],
  ['GET', /^\/api\/mock\/(\d)\.svg$/, (_, __, [n]) => ({ svg: pic(+n) })],
  ['GET', /^\/api\/jobs$/, () => []],
  ['GET', /^\/api\/methods$/, () => Object.values(methods).map(({ name, purpose }) => ({ name, purpose }))],
  ['GET', /^\/api\/methods\/([\w.]+)$/, (_, __, [n]) => methods[n] ?? refusal(404, 'unknown_method', `no method ${n}`)],
  ['POST', /^\/api\/methods\/([\w.]+)$/, (_, b, [n]) => { const r = spawnSync(LENTIC, ['method', 'run', n], { input: JSON.stringify(b), encoding: 'utf8', maxBuffer: 1e9 }); if (r.status === 0) return JSON.parse(r.stdout); return { status: 422, body: JSON.parse(r.stderr.trim().split('\n').at(-1)) }; }],
];

createServer(async (req, res) => {
  const url = new URL(req.url, 'http://x');
  if (url.pathname === '/api/events') {
    res.writeHead(200, { 'Content-Type': 'text/event-stream', 'Cache-Control': 'no-store' }); res.write(': hello\n\n'); hearers.add(res); req.on('close', () => hearers.delete(res)); return;
  }
  const chunks = []; for await (const c of req) chunks.push(c);
  const text = Buffer.concat(chunks).toString();
  let body; try { body = text ? JSON.parse(text) : undefined; } catch { body = text; }
  for (const [method, re, act] of routes) {
    const m = req.method === method && re.exec(url.pathname);
    if (!m) continue;
    const out = act(url.searchParams, body, m.slice(1));
    if (out?.svg) { res.writeHead(200, { 'Content-Type': 'image/svg+xml' }); res.end(out.svg); return; }
    const status = out?.body?.error ? out.status : 200;
    res.writeHead(status, { 'Content-Type': 'application/json' }); res.end(JSON.stringify(status === 200 ? out : out.body)); return;
  }
  res.writeHead(404, { 'Content-Type': 'application/json' }); res.end(JSON.stringify({ error: { code: 'unknown', path: '', message: `nothing at ${url.pathname}`, hint: null } }));
}).listen(port, '127.0.0.1', () => console.log(`mock on ${port}`));
