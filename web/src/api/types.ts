/** What docs/formats/api.json says comes back; of results, the members that the page reads. Lengths are in mm. */

export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  errors: {what: string; expected: string; pointer?: string}[];
}
export type Right = "look" | "counter" | "bench" | "owner";
export interface Me {
  alone: boolean;
  logged_in: boolean;
  person?: string;
  name?: string;
  right?: Right;
  csrf?: string;
  enrolled?: boolean;
  people?: {person: string; name: string}[];
  /** Of who is logged in. News after `as_of` are not known yet. */
  shop?: {as_of: number; time_zone: string; paper: string};
}
export interface Slip<Body = Record<string, unknown>> {
  id: string;
  kind: string;
  at: string;
  by?: string;
  of?: string;
  key?: string;
  replaces?: string;
  why?: string;
  struck?: boolean;
  body: Body;
}
export interface Thing<Body = Record<string, unknown>> {
  thing: string;
  number: number;
  versions: number;
  parted: boolean;
  slip: Slip<Body>;
}
export type VisitState =
  | "waiting" | "looked-over" | "quoted" | "agreed" | "in-work" | "proved" | "handed-back" | "called-off";
export interface VisitLine {
  visit: string;
  instrument: string;
  owner: string;
  state: VisitState;
  came: string;
  promised: string;
  title: string;
  serial: string;
  owner_name: string;
  complaint: string;
}
export interface VisitBody {
  complaint?: string;
  came: string;
  promised?: string;
  state: VisitState;
  bench?: string;
}
export interface ReadingBody {
  at: string;
  value: unknown;
}
export interface WholeVisit {
  visit: Thing<VisitBody>;
  instrument: Thing<{title: string; kind?: string; serial?: string}> | null;
  owner: Thing<{name: string; reach?: string}> | null;
  keys: Thing<{id: string; order?: number}>[];
  readings: Thing<ReadingBody>[];
  operations: Thing<{step: string; end?: string; turns?: unknown; taken?: unknown}>[];
  photos: Thing<{sha256: string; caption?: string}>[];
  exceptions: Thing<{of: string; reason: string}>[];
}
export interface Figure {
  value: number;
  plus_minus: number;
  low: number;
  high: number;
  range: boolean;
}
export type Verdict = "sound" | "loose" | "tight" | "binds" | "cannot tell";
export interface Step {
  work: string;
  end: "upper" | "lower";
  amount: number;
  turns?: number | null;
  tell: string;
  tool?: {name: string; why: string} | null;
  reach?: {name: string; why: string} | null;
}
export interface Plan {
  approach: string;
  metal: number;
  minutes: number;
  shift: number;
  off_centre: number;
  steps: Step[];
  after: Record<string, number>;
  reserves: {limit: string; end: "upper" | "lower"; left: number | null; least: number}[];
  measure_first: string[];
}
export interface FitKey {
  id: string;
  name: string;
  problem?: {what: string; expected: string};
  verdict: Verdict;
  because: string;
  window: {low: number; high: number; crossed: boolean};
  figures: Record<string, Figure>;
  home?: {upper: {rides_on: string} | null; lower: {rides_on: string} | null};
  plans: Plan[];
  refusals: {work: string; end: string; why: string; relief: string}[];
  no_plan?: string;
  notes?: string[];
}
export interface Fit {
  title: string;
  unit: string;
  keys: FitKey[];
}
export interface Why {
  formula: string;
  working: string[];
  inputs: {name: string; value: string; origin: string; effect: number}[];
  readings: {name: string; value: string; said: string}[];
}
export interface Evidence {
  check: string;
  times: number;
  answer?: string; // the word
  value?: number; // of a reading, mm
}
export interface BeforeCut {
  cause: string;
  share: number;
  checks: string[];
}
export interface Standing {
  key: string;
  told: number;
  finished: boolean;
  cause: string;
  share: number;
  next: {what: string; check?: string; cure?: string; end?: string} | null;
  before_cut: BeforeCut[];
}
export interface Cause {
  cause: string;
  share: number;
  upper_share?: number;
  for: Evidence[];
  against: Evidence[];
}
export interface Next {
  what: "look" | "cure" | "step" | "see-cutter" | "bite" | "ream" | "done" | "beyond";
  tell: string;
  why: string;
  how: string;
  check?: string;
  answers?: string[];
  cure?: string;
  step?: {work: string; end: "upper" | "lower"; amount: number};
  end?: "upper" | "lower";
  turns?: number;
  risk?: number;
  amount?: number;
  stop: string[];
}
export interface LedState {
  key: string;
  finished: boolean;
  next: Next;
  window: {low: number; high: number};
  end_play?: Partial<Record<"first" | "latest", {value: number; plus_minus: number}>>;
  causes: Cause[];
  before_cut: BeforeCut[];
  waived: {cause: string; reason: string}[];
  cured: string[];
  bites: {end: "upper" | "lower"; turns: number; taken: number | null; plus_minus: number}[];
  take_off?: {per_turn: number; spread: number};
}
export interface Led {
  key_thing: string;
  as_of: number;
  told: number;
  left_out: string[];
  state: LedState;
}
export interface Worth {
  value: number;
  plus_minus: number;
}
export interface Work {
  id: string;
  name: string;
  about: string; // id of its key; "": of none
  doing: string; // a code; "": its name says it
  why: string;
  steps: string[];
  minutes: Worth;
  money: string;
  leak: Worth;
  feel: Worth & {unit: string};
  points: number;
}
export interface Budget {
  currency: string;
  budget: {minutes: number | null; money: string | null};
  done: Work[];
  left_out: Work[];
  total: {minutes: number; money: string; leak: number; feel: number};
  chance_within: number;
  nine_in_ten_minutes: number;
  ladder: {minutes: number; money: string; leak: number; feel: number; works: string[]}[];
}
export interface InstrumentDocument {
  title: string;
  kind?: string;
  serial?: string;
  leak_reading?: Record<string, unknown>;
  body?: {bow?: unknown};
  keys: {
    id: string;
    name?: string;
    hinge?: {span?: unknown; key_length?: unknown; off_axis?: unknown; along?: unknown};
    pad?: {tone_hole?: unknown; station?: unknown};
    readings?: unknown;
    past?: unknown;
  }[];
}
export interface Setting {
  at: string;
  meaning: string;
  value: unknown;
  general: unknown;
  limits: {enum?: unknown[]};
  origin: "set" | "shop" | "general" | "none";
}
