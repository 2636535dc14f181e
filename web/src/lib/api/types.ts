/** The nouns as the server says them. Lengths mm, masses kg, angles degrees; keys carry their units. */

export type Kind = 'stone' | 'wood';
export type Certainty = 'measured' | 'estimated' | 'assumed';
export type Severity = 'note' | 'warning' | 'danger';
export type PieceState = string;
export type Units = 'metric' | 'us';
export type Vec2 = [number, number];
export type Vec3 = [number, number, number];
/** [w, x, y, z] */
export type Quaternion = [number, number, number, number];

export interface Money {
  amount: number;
  currency: string;
}

export interface Figure {
  key: string;
  label: string;
  value: number | null;
  unit: string;
  certainty: Certainty;
  relation: string;
  source: string;
}

export interface Caution {
  code: string;
  severity: Severity;
  text: string;
}

export interface Refusal {
  code: string;
  /** JSON pointer to the value that was refused; `""` for the whole. */
  path: string;
  message: string;
  hint?: string | null;
}

export interface Session {
  signed_in: boolean;
  user: { name: string; role: string } | null;
  first_start: boolean;
  demo: boolean;
  shop: { name: string; currency: string };
  units: Units;
}

export interface LiveEvent {
  id: number;
  what: string;
  subject: string;
  at_ms: number;
  who: string | null;
  /** What was done, for a person. */
  deed?: string;
}

/** One line of a history. */
export interface HistoryEvent {
  id: number;
  what: string;
  at_ms: number;
  who: string | null;
  /** What was done, for a person. */
  deed?: string;
  before?: unknown;
  after?: unknown;
}

// Yard

export interface PieceCard {
  tag: string;
  kind: Kind;
  material: string;
  state: PieceState;
  place: string;
  grade: string | null;
  size_mm: { long: number; mid: number; short: number };
  as_laid_mm: { width: number; depth: number; height: number };
  mass_kg: number;
  mass_certainty: Certainty;
  price: Money | null;
  colour: string;
  outline: Vec2[];
  has_picture: boolean;
  version: number;
}

export interface RestingPose {
  number: number;
  quaternion: Quaternion;
  probability: number;
  tip_angle_deg: number;
  support_mm2: number;
  width_mm: number;
  depth_mm: number;
  height_mm: number;
}

export interface Piece extends PieceCard {
  density_kg_m3: number;
  friction: number;
  notes: string;
  received_at_ms: number;
  volume_l: number;
  area_cm2: number;
  closed: boolean;
  approximate: boolean;
  figures: Figure[];
  repairs: { kind: string; count: number; detail: string }[];
  cautions: Caution[];
  resting_poses: RestingPose[];
  centre_of_mass_mm: Vec3;
  photographs: { id: number; name: string }[];
  hold: { commission: number; until: string } | null;
  history: HistoryEvent[];
  layouts: { id: number; title: string }[];
}

export interface FacetCount {
  name: string;
  count: number;
  kind?: Kind;
}

export interface PieceList {
  total: number;
  pieces: PieceCard[];
  facets: { materials: FacetCount[]; places: FacetCount[]; states: FacetCount[]; grades: FacetCount[] };
}

export interface FitMatch {
  tag: string;
  pose: number;
  turn_deg: number;
  mirrored: boolean;
  fill: number;
  width_mm: number;
  depth_mm: number;
  height_mm: number;
  outline: Vec2[];
  words: string;
}

export interface FitAnswer {
  took_ms: number;
  n_considered: number;
  matches: FitMatch[];
}

export interface GradeRule {
  kind: Kind;
  name: string;
  measure: 'long_mm' | 'mass_kg';
  /** At least this; null for no least. */
  from: number | null;
  /** Less than this; null for no most. */
  below: number | null;
}

export interface Grades {
  version: number;
  rules: GradeRule[];
}

export interface Lot {
  id: number;
  kind: Kind;
  material: string;
  grade: string;
  mass_kg: number;
  price_per_kg: Money | null;
  place: string;
  version: number;
}

export interface Upload {
  id: number;
  name: string;
  bytes: number;
  kind: 'scan' | 'photograph';
}

// Layouts

export interface Tank {
  outside_mm: Vec3;
  glass_mm: number;
  base_mm?: number | null;
  water_line_mm: number;
  water_c?: number | null;
  empty_mass_kg?: number | null;
}

export interface GroundMaterial {
  name: string;
  bulk_density_kg_m3: number;
  grain_density_kg_m3?: number | null;
  grain_mm?: number | null;
  repose_deg: number;
  bag_l?: number | null;
  price?: number | null;
  colour?: string | null;
}

/** What the owner lets builders lay. */
export interface GroundMaterials {
  version: number;
  materials: GroundMaterial[];
}

export interface Bed {
  material: string;
  region: 'all' | Vec2[];
  by: 'thickness' | 'top';
  points: Vec3[];
}

export interface Held {
  centre_mm: Vec3;
  quaternion: Quaternion;
}

export interface PlacedPiece {
  tag: string;
  at_mm: Vec2;
  turn_deg: number;
  pose?: number | null;
  quaternion?: Quaternion | null;
  bury_mm: number;
  lift_mm: number;
  held?: Held | null;
}

export interface Plant {
  name: string;
  form: 'rosette' | 'stem' | 'carpet' | 'fern' | 'moss';
  at_mm: Vec2;
  height_mm: number;
  spread_mm: number;
  colour: string;
}

export interface Composition {
  title: string;
  currency?: string | null;
  tank: Tank;
  material: GroundMaterial[];
  bed: Bed[];
  piece: PlacedPiece[];
  plant: Plant[];
}

export interface LayoutCard {
  id: number;
  title: string;
  commission: number | null;
  pieces: number;
  changed_at_ms: number;
  stands: boolean | null;
  picture: string | null;
}

export interface Placed {
  tag: string;
  pose: Held;
  width_mm: number;
  depth_mm: number;
  height_mm: number;
  low_mm: number;
  high_mm: number;
  n_poses: number;
  held: boolean;
}

export interface Revision {
  number: number;
  note: string;
  at_ms: number;
  version: number;
  picture: string | null;
}

export interface Layout {
  id: number;
  title: string;
  commission: number | null;
  version: number;
  composition: Composition;
  placed: Placed[];
  inside_mm: Vec3;
  undo: string | null;
  redo: string | null;
  revisions: Revision[];
}

export interface LetDown {
  pose: Held;
  low_mm: number;
  high_mm: number;
  supports: string[];
}

export interface Ground {
  nx: number;
  ny: number;
  cell_mm: number;
  heights_mm: number[];
  colours: string[];
  material: number[];
}

export interface Finding {
  rule: string;
  severity: Severity;
  text: string;
  tag?: string | null;
}

export interface ReckoningGroup {
  name: string;
  title: string;
  stale: boolean;
  verdict?: string | null;
  figures: Figure[];
  rows: { tag: string; figures: Figure[] }[];
  findings: Finding[];
  cautions: Caution[];
}

export interface Reckoning {
  version: number;
  groups: ReckoningGroup[];
}

/** x, y, z in mm, then w, x, y, z of the quaternion. */
export type FramePose = [number, number, number, number, number, number, number];

export interface Settled {
  stands: boolean;
  words: string;
  dt_s: number;
  tags: string[];
  frames: FramePose[][];
  final: { tag: string; pose: Held; moved_mm: number; turned_deg: number; at_rest: boolean }[];
}

// Commissions

export type CommissionState = 'enquiry' | 'composing' | 'agreed' | 'building' | 'handed_over';

export interface CommissionCard {
  id: number;
  number: string;
  customer: string;
  state: CommissionState;
  title: string;
  layouts: number;
  changed_at_ms: number;
}

export interface Brief {
  wish: string;
  budget?: Money | null;
  tank?: Tank | null;
  notes?: string | null;
}

export interface Commission {
  id: number;
  number: string;
  customer: string;
  contact: string;
  state: CommissionState;
  brief: Brief;
  layouts: LayoutCard[];
  history: HistoryEvent[];
  version: number;
}

// Jobs, today, methods

export type JobState = 'waiting' | 'running' | 'done' | 'failed' | 'cancelled';

export interface Job<T = unknown> {
  id: number;
  kind: string;
  state: JobState;
  progress: number;
  step: string;
  result?: T | null;
  error?: Refusal | string | null;
}

export interface TodayItem {
  kind: string;
  title: string;
  text: string;
  href: string;
  at_ms?: number | null;
}

export interface MethodCard {
  name: string;
  purpose: string;
}
