/** The nouns as the server says them, by the names that the screens use. Their shapes come from the server's own
 * description: `docs/openapi.json` → `schema.d.ts` by `npm run schema`. Lengths mm, masses kg, angles degrees. */
import type { components } from './schema';

type S = components['schemas'];

/** The description marks what may be null as optional; in answers the key is always there. */
type Full<T> = { [K in keyof T]-?: Exclude<T[K], undefined> };

/** As `Full`, with some keys of another type. */
type With<T, Keys> = Full<Omit<T, keyof Keys>> & Keys;

export type Kind = S['KindWord'];
export type Certainty = S['Certainty'];
export type Severity = S['Severity'];
export type Units = S['UnitsWord'];
export type PieceState = S['PieceState'];
export type Vec2 = [number, number];
export type Vec3 = [number, number, number];
/** [w, x, y, z] */
export type Quaternion = [number, number, number, number];

export type Money = S['Money'];
export type Figure = Full<S['Figure']>;
export type Caution = S['Caution'];

/** Why something was refused; `path` is the JSON pointer of the value, `""` for the whole. */
export type Refusal = Omit<S['Told'], 'hint' | 'current_version'> & { hint?: string | null };

export type Session = Full<S['Session']>;

/** One line of the live view. */
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
export type HistoryEvent = Pick<S['HistoryLine'], 'id' | 'what' | 'at_ms'> & {
  who: string | null;
  deed?: string;
  before?: unknown;
  after?: unknown;
};

// Yard

export type PieceCard = Full<S['PieceCard']>;
export type RestingPose = S['Resting'];
export type Piece = With<
  S['PieceView'],
  { figures: Figure[]; hold: Full<S['HoldView']> | null; history: HistoryEvent[] }
>;
export type FacetCount = { name: string; count: number; kind?: Kind };
export type PieceList = With<S['PiecePage'], { pieces: PieceCard[] }>;
export type FitMatch = Full<S['MatchView']>;
export type FitAnswer = Full<S['Answer']>;
export type GradeRule = Full<S['RuleView']>;
export type Grades = With<S['GradesView'], { rules: GradeRule[] }>;
export type Lot = Full<S['LotView']>;
export type Upload = S['UploadView'];

// Layouts

export type Tank = S['TankMeasures'];
export type GroundMaterial = S['GroundKind'];
export type GroundMaterials = S['GroundMaterials'];
export type Bed = Omit<S['BedShape'], 'region'> & { region: 'all' | Vec2[] };
export type Held = S['HeldPose'];
export type PlacedPiece = S['PieceAt'];
export type Plant = S['Plant'];
export type Composition = Omit<S['Composition'], 'bed'> & { bed: Bed[] };
export type LayoutCard = Full<S['LayoutCardView']>;
export type Placed = S['PlacedView'];
export type Revision = Full<S['RevisionView']>;
export type Layout = With<S['LayoutView'], { composition: Composition; revisions: Revision[] }>;
export type LetDown = S['Preview'];
export type Ground = S['GroundView'];
export type Finding = S['Finding'];
export type ReckoningGroup = With<
  S['Group'],
  { name: string; verdict?: string | null; figures: Figure[]; rows: { tag: string; figures: Figure[] }[] }
>;
export type Reckoning = With<S['ReckoningView'], { groups: ReckoningGroup[] }>;

/** x, y, z in mm, then w, x, y, z of the quaternion. */
export type FramePose = [number, number, number, number, number, number, number];

/** What the job of letting go answers. */
export interface Settled {
  stands: boolean;
  words: string;
  dt_s: number;
  tags: string[];
  frames: FramePose[][];
  final: { tag: string; pose: Held; moved_mm: number; turned_deg: number; at_rest: boolean }[];
}

// Commissions

export type CommissionState = S['CommissionState'];
export type CommissionCard = S['CommissionCard'];
export type Brief = S['Brief'];
export type Commission = With<S['CommissionView'], { layouts: LayoutCard[]; history: HistoryEvent[] }>;

// Jobs, today, methods

export type JobState = S['JobState'];
export type Job<T = unknown> = Pick<S['JobView'], 'id' | 'kind' | 'state' | 'progress' | 'step'> & {
  result?: T | null;
  error?: Refusal | string | null;
};
export type TodayItem = S['Item'];
export type MethodCard = S['MethodCard'];
