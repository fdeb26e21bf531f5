/**
 * How the test is conducted, as the room is shown it: points, step gates, readiness, sequences, checklists. Plain data that
 * survives JSON: a number that is not known is null. Times in microseconds.
 */
import type { Position } from './role.ts';

/** Acts of test conduct besides stop calls, marks and limits. All have one shape (`ConductAction`). */
export const conductActs = {
  /** subject: the point */
  'begin point': 'run points',
  /** number: of the run; choice: the gate it enters (`pointGates`); aircraft: time on the display when it was said */
  'enter gate': 'run points',
  /** number: of the run; choice: good, repeat or skip; text: why, needed against the advice */
  'judge point': 'run points',
  /** subject: the family; value: the step; choice: clear, reduce (then `value` is the smaller step) or hold; text: why */
  'decide step': 'decide step',
  /** text: what was seen; subject: the point, or '' */
  'open anomaly': 'open anomaly',
  /** number: of the anomaly; text: how it was run to ground */
  'close anomaly': 'close anomaly',
  /** subject: the notice */
  'acknowledge notice': 'acknowledge notice',
  /** asks every position anew whether it is ready */
  'open poll': 'open poll',
  /** choice: ready or not ready; text: why not */
  'answer poll': 'answer poll',
  /** subject: the limit; choice: the position that watches it from now on, '' = nobody */
  'assign watch': 'assign watch',
  /** choice: zero, or shunt (then subject is the channel); gathers from now on */
  'begin check': 'run morning check',
  /** puts the result so far in the record and ends it; choice: as begun */
  'end check': 'run morning check',
  'begin sweep': 'run control sweep',
  'end sweep': 'run control sweep',
  /** subject: the load; value: its mass in kg; text: why */
  'set load': 'set load',
  /** subject: name of the watch; choice: start, stop or reset; aircraft: time on the display */
  'press stopwatch': 'mark',
  /** choice: lost or restored; text: which loop */
  'report voice': 'report voice',
  /** subject: the checklist; number: of the step, from 1; choice: done or open */
  'tick checklist': 'tick checklist',
  /** text: why. Nothing of the recording is deleted while it is held */
  'hold evidence': 'hold evidence',
  /** by the station alone. choice: verified or trouble; text: what was found in what was written */
  'report recorder': '',
} as const;
export type ConductAct = keyof typeof conductActs;

export interface ConductAction {
  act: ConductAct;
  subject: string;
  number: number;
  choice: string;
  text: string;
  value: number;
  /** aircraft time on the display when it was said; 0 = unknown */
  aircraft: number;
}

/** Who did it, and when on both clocks. */
export interface Done {
  person: string;
  position: string;
  aircraft: number;
  ground: number;
}

export const pointGates = ['setup', 'on condition', 'manoeuvre', 'recover', 'admin', 'closed'] as const;
export type PointGate = (typeof pointGates)[number];

export type Told = 'inside' | 'outside' | 'cannot tell';

export interface BandView {
  parameter: string;
  target: number;
  below: number;
  above: number;
  value: number | null;
  state: Told;
  /** aircraft time since when; 0 = never seen */
  since: number;
}

export interface PointStatistic {
  parameter: string;
  n: number;
  mean: number | null;
  sd: number | null;
  min: number | null;
  max: number | null;
  /** unit per second, least squares */
  slope: number | null;
  /** share of the record inside its data band, 0 to 1; null = it has none */
  inBand: number | null;
  dropout: number;
}

export interface Advice {
  judgement: 'good' | 'repeat';
  /** every reason to repeat, in words with its numbers; empty when good */
  reasons: string[];
}

/** One flying of a point. */
export interface PointRun {
  /** from 1 in this flight */
  number: number;
  point: string;
  /** how often the point was begun, this time included */
  attempt: number;
  gate: PointGate;
  gates: ({ gate: PointGate } & Done)[];
  /** what the runner has to offer now: people decide */
  offer: '' | 'on condition' | 'complete';
  /** aircraft time it was true for the first time since it was not; 0 = no offer */
  offered: number;
  /** tolerance bands until the record begins, data bands from then on; none once closed */
  bands: BandView[];
  configuration: { text: string; state: Told }[];
  /** aircraft time; 0 = no record yet */
  recordFrom: number;
  /** 0 = it has not ended */
  recordTo: number;
  /** aircraft time of record there is */
  recorded: number;
  statistics: PointStatistic[];
  /** once the record has ended, or cannot begin any more */
  advice?: Advice;
  judged?: { judgement: 'good' | 'repeat' | 'skip'; note: string } & Done;
}

export interface MeasureView {
  measure: string;
  /** what was flown: earlier flights and good points of this one */
  flown: { step: number; value: number; source: string }[];
  /** fit over the steps, for the picture: step, value, and the band of a prediction there */
  curve: { step: number; value: number; low: number; high: number }[];
  /** at the next step */
  predicted: number | null;
  low: number | null;
  high: number | null;
  /** of the newest point against what had been predicted for it, and that band's half width */
  residual: number | null;
  residualBand: number | null;
  caution: number;
  /** robust slope per step unit (Theil and Sen) */
  slope: number | null;
}

export interface StepGateView {
  family: string;
  /** the next planned step and its point; null = all are flown */
  next: number | null;
  point: string;
  advice: 'clear' | 'reduce' | 'hold';
  /** for reduce: the largest smaller step that would be clear */
  offered: number | null;
  reasons: string[];
  /** what stands in the way whatever the numbers say: open anomalies, open stop calls */
  blocks: string[];
  measures: MeasureView[];
  /** up to which step people have let through, by a decision that stands and with nothing in the way; null = none */
  cleared: number | null;
  decisions: ({ step: number; decision: 'clear' | 'reduce' | 'hold'; advice: string; note: string } & Done)[];
}

export interface Anomaly {
  number: number;
  text: string;
  point: string;
  opened: Done;
  closed?: { text: string } & Done;
}

/** One thing that stands between a position and `ready`. */
export interface Missing {
  /** the position that can mend it; '' = the whole room waits for it */
  position: Position | '';
  text: string;
}

export interface ChannelResult {
  parameter: string;
  zero: number | null;
  noise: number | null;
  shunt: number | null;
  rate: number | null;
  /** every fault found, in words with its numbers; empty = none */
  faults: string[];
  /** why something could not be told, in words; what it was about is not in `looked` then */
  cannotTell: string[];
  /** what has been looked at so far */
  looked: ('zero' | 'shunt' | 'rate' | 'range')[];
}

export interface MorningView {
  /** what is being gathered now, '' = nothing */
  gathering: string;
  channels: ChannelResult[];
  /** ground minus aircraft time: mean of the check in seconds, and its drift in seconds a minute; null = not told yet */
  time: { offset: number | null; drift: number | null };
  timeFaults: string[];
  recorder: { state: 'not looked at' | 'verified' | 'trouble'; text: string };
  /** every channel was looked at for everything it has, and the time too */
  complete: boolean;
  /** when it was ended by a person; null while it goes on or has not begun */
  ended: Done | null;
  faults: number;
}

export interface SweepResult {
  parameter: string;
  low: number | null;
  high: number | null;
  /** share of the rig travel, 0 to 1 */
  travel: number | null;
  spread: number | null;
  tracking: number | null;
  /** seconds by which the position follows its command best; null = not told */
  delay: number | null;
  /** width between the way up and the way down, share of the rig travel; null = not told */
  hysteresis: number | null;
  /** share of the samples that were due and did not come, 0 to 1 */
  missing: number | null;
  /** every fault found, in words with its numbers; said when the sweep is ended */
  faults: string[];
  cannotTell: string[];
}

export interface SweepView {
  running: boolean;
  /** it was ended, and nothing of it could not be told */
  done: boolean;
  faults: number;
  channels: SweepResult[];
}

export interface BalanceView {
  name: string;
  massKg: number | null;
  armM: number | null;
  lateralM: number | null;
  fuelKg: number | null;
  state: Told;
}

export interface WeightView {
  loads: { id: string; name: string; massKg: number; armM: number; lateralM: number; changedBy: string }[];
  now: BalanceView;
  planned: BalanceView[];
  /** seconds until knock-off fuel at the present flow; null = not told */
  toKnockOffS: number | null;
}

export interface ReadinessView {
  notices: { id: string; acknowledged: { person: string; position: string; ground: number }[] }[];
  watch: { position: Position; limits: string[] }[];
  /** stop limits that nobody watches */
  unwatched: string[];
  morning: MorningView | null;
  sweep: SweepView | null;
  weight: WeightView | null;
  ids: { match: boolean; softwareId: string; configurationId: string; differences: string[] };
  missing: Missing[];
  poll: {
    opened: Done | null;
    answers: { position: Position; answer: 'ready' | 'not ready' | ''; text: string; person: string; ground: number }[];
    /** every manned position answered ready and nothing is missing */
    ready: boolean;
  };
}

/** One run of a sequence: how it went, and what was measured meanwhile. */
export interface SequenceRunView {
  /** aircraft time it began; and was done, or broken off, or gave way to the next */
  began: number;
  ended: number;
  /**
   * `begun anew`: its beginning came true again while it was under way; `mission changed`: it was under way when a mission
   * came into force that has the sequence otherwise
   */
  state: 'done' | 'broken off' | 'begun anew' | 'mission changed';
  steps: SequenceView['steps'];
  /** what is measured as the newest value (`now`): as it was when the next run began */
  measures: SequenceView['measures'];
  /** what the condition that must hold before it may begin said at its beginning */
  gate: Told | '';
}

export interface SequenceView {
  id: string;
  /** `cannot tell`: whether it has begun, or whether the step that is due is done, cannot be seen */
  state: 'waiting' | 'running' | 'done' | 'broken off' | 'late' | 'cannot tell';
  /** how often it has begun in this flight; what follows, up to `gate`, is of the last time */
  times: number;
  /** aircraft time it began, and was done or broken off; 0 = not yet */
  began: number;
  ended: number;
  steps: {
    name: string;
    /** `late`: done, after its time; `missing`: its time is over; `cannot tell`: it is due and cannot be seen */
    state: 'waiting' | 'due' | 'done' | 'late' | 'missing' | 'cannot tell';
    /** aircraft time it was done, 0 = not; time it took and may take, from the step before it */
    at: number;
    took: number;
    within: number;
  }[];
  /**
   * `value`: null while there is none. `missing`: aircraft time without a usable sample since it began: a peak may have
   * been higher; time above a value has it counted in.
   */
  measures: { title: string; value: number | null; unit: string; missing: number }[];
  /** of the condition that must hold before it may begin: now; while it is under way, what it said at its beginning */
  gate: Told | '';
  /** the runs before the last, oldest first: `times` less one, less those that are not kept any more */
  earlier: SequenceRunView[];
  /** so many runs, the oldest of the flight, are not kept any more */
  dropped: number;
}

export interface ChecklistView {
  id: string;
  /** ground time since when it is shown; 0 = it is not */
  shownSince: number;
  ticks: { step: number; person: string; ground: number }[];
}

export interface StopwatchView {
  name: string;
  running: boolean;
  /** aircraft time of the start it runs from; what it had counted before */
  from: number;
  counted: number;
}

export interface ConductView {
  /** oldest first; the current one is the last, while its gate is not closed */
  points: PointRun[];
  steps: StepGateView[];
  anomalies: Anomaly[];
  readiness: ReadinessView | null;
  sequences: SequenceView[];
  checklists: ChecklistView[];
  stopwatches: StopwatchView[];
  voiceLost: { since: number; person: string; loop: string } | null;
  evidence: ({ reason: string } & Done) | null;
  /** parts that ended with a fault of ours, and what it was: nothing they show is to be believed any more */
  faults: { part: string; fault: string }[];
}
