// What the site's JSON holds (src/server/openapi.yaml), and what the modules hand each other.

export interface Value { id: string; words: string }
export interface Observation {
  kind: 'duration' | 'length' | 'angle' | 'count' | 'ordered' | 'unordered';
  unit?: string | null; resolution?: number | string | null; from?: number | string | null; to?: number | string | null;
  ask: string; usual: string[]; values?: Value[];
}
export interface Level { label: string; says: string }
export interface InstrumentItem {
  id: string; name: string; task: string; confirmed?: { how: string; note: string };
  levels: Level[]; trials: { practice: number; count: number; counts: string; ways?: string[] };
  observe: string[]; possible: Record<string, string[]>;
}
export interface Instrument {
  id: string; title: string; safety: string[]; items: InstrumentItem[];
  observations: Record<string, Observation>; statuses: { word: string; means: string }[];
}
export interface Moment {
  at: number; poses: string[]; contacts: string[]; helpers: string[]; events: string[];
  says: { who: string; words: string } | null; side: string | null; toward: string | null; reach: number | null; text: string;
}
export interface Trial {
  practice?: boolean; way?: string | null; written: string | null; timeline: Moment[] | null; end?: number | null;
}
export interface CaseItem { id: string; not_given: string | null; trials: Trial[] }
export interface Case {
  id: string; child: { code: string; age: number; picture: string }; setting: string; items: CaseItem[];
  external: External | null;
}
/** A film or a child outside: nothing of it is here but these words. */
export interface External { kind: 'film' | 'live'; find: string; minutes: number; consent: string; caution: string }
export interface Step {
  case: string; item: string; case_number: number; cases: number; item_number: number; items: number;
  revision: number; locked: boolean;
}
export interface Reading {
  trial: number; seconds: number; form: 'live' | 'described'; start: number; stop: number; sound: boolean;
}
export interface Answer {
  case?: string; item?: string; trial: number | null; status: string; value: string | null;
  observations: Record<string, string>; stopwatch: Reading[]; described?: number[]; sureness: number | null; at: string;
}
export interface Sitting {
  id: string; set: { id: string; title: string }; mode: 'practice' | 'skills-check' | 'calibration';
  demonstration: boolean; instrument: string; described_accepted: boolean | null; begun: string; finished: string | null; steps: Step[];
  next: number | null; answers: Answer[];
}
export interface Slip { kind: string; words: string; says: string }
export interface Feedback {
  key: { value: string | null; status: string | null; says: string };
  yours: { value: string | null; status: string };
  agrees: boolean; keyed: boolean; own_level: string | null; reason: string[]; next: { value: string; says: string; lacks: string[] } | null;
  borderline: string | null; gray: string | null; notes: string[];
  watch: { trial: number; yours: number; true: number; difference: number; form: string }[];
  slips: Slip[]; deciding_trial: number | null;
  stretches: { trial: number; observation: string; from: number; to: number }[]; replay_from: number | null;
}
export interface Summary {
  scored: number; right: number; share: number | null; lower: number | null; upper: number | null;
  caution?: string | null; coarse?: number; abstained: number; across_limit: number; unscored: number; unscored_right: number; no_key: number; mean_error: number | null;
  watch: { n: number; mean: number | null; sd: number | null }; described: number;
  work_on: { item: string; name: string; missed: number }[]; slips: { kind: string; words: string; n: number }[];
  sureness: { right: number | null; wrong: number | null }; next: { title: string; why: string } | null;
  items: { case: string; item: string; key: string; agrees: boolean }[];
}
export interface SetListed {
  id: string; title: string; mode: string; demonstration: boolean; instrument: string; cases: number; items: number;
  open_sitting?: string | null; done: string[];
}
export interface Me { rater: string; role: string; groups: { id: string; title: string }[]; session: { ends: string; idle_seconds: number } }
/** What is kept of an item that is not saved yet. */
export interface Draft {
  readings: Reading[]; described: number[]; trial: number | null; numbers: Record<string, string>;
  facts: Record<string, string>; byHand: string[]; score: string | null; sureness: string | null;
  /** Of an answer that the site did not take: numbers and facts as they were sent, and what it said. */
  observations?: Record<string, string>;
  describedTrials?: number[];
  fault?: string;
}
/** An answer that waits for the site. */
export interface Waiting { sitting: string; case: string; item: string; revision: number; body: Answer; place?: number }
/** A calibration round. */
export interface Round {
  id: string; title: string; set: string; set_title: string | null; demonstration: boolean;
  state: 'open' | 'closed' | 'locked'; opened: string; closes: string | null; closed: string | null;
  locked: string | null; fingerprint: string | null; for_everybody: boolean; groups: { id: string; title: string }[];
  items: number; raters: number; begun: number; done: number; may_settle: boolean; as_locked?: boolean | null;
  takers?: { rater: string; answered: number; imported: boolean; finished: string | null; done: boolean }[];
}
