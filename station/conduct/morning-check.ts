/**
 * The morning check: every channel looked at with nothing applied, then with its shunt calibration in, one after the other;
 * ground time against aircraft time all the while; and what the station found in what it wrote. It gathers for a planned
 * span of aircraft time from the moment a person says so. What did not come is "cannot tell", never healthy. Zero begins the
 * check anew: a shunt counts only with the zero that it was measured against, and after a repair nobody knows what else it
 * changed.
 */
import type { Batch, FrameSpan } from '../../protocol/batch.ts';
import type { ChannelResult, ConductAct, ConductAction, Done, MorningView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { columnGroups, columnIds, columnPlaces, type ColumnPlace, type Mission } from '../../protocol/mission.ts';
import type { MorningCheckPlan } from '../../protocol/readiness.ts';
import { isoMicroseconds, type Microseconds, SECOND } from '../../protocol/time.ts';
import { addPoint, type Line, noLine, slopeOf } from '../compute/drift.ts';
import { gather, type Gathered, nothingGathered, type Span } from '../compute/gathered.ts';
import {
  type Channel,
  figures,
  judgeShunt,
  judgeZero,
  type ShuntResult,
  stepBeside,
  type ZeroResult,
} from './morning-judge.ts';
import type { ConductPart, Moment } from './part.ts';

/** Once any sample is this much past the span, nothing of the span is still to come, whatever did not come. */
const GRACE: Microseconds = SECOND;
/** A drift is told once this many of its standard errors fit into what is allowed: chance alone alarms once in 15,000 checks. */
const SURE = 4;
/** Ground and aircraft time are compared in pieces of so many seconds, and frames, at least; a drift is told of so many pieces. */
const PIECE = 1;
const PIECE_FRAMES = 5;
const PIECES = 10;
const DAY: Microseconds = 86_400 * SECOND;

/** What is being gathered. */
interface Open extends Span {
  choice: 'zero' | 'shunt';
  /** the channel whose shunt is in; '' for zero */
  subject: string;
  /** by channel; no more is to come for those in `past` */
  kept: Record<string, Gathered>;
  past: Record<string, true>;
}

interface Clocks {
  /**
   * ground minus aircraft time in seconds over aircraft time in seconds, both from their first: of each piece the frame that
   * was least late. A busy link or machine only adds to the way of a frame, which is not of the clocks (from memory: RFC 5905,
   * clock filter)
   */
  line: Line;
  firstAircraft: Microseconds;
  firstDifference: Microseconds;
  newest: Microseconds;
  /** how often aircraft time went back, and the most it did */
  back: number;
  farthest: Microseconds;
  /** of the piece at hand: where it began in seconds, its frames, the least of them and when; the worst piece so far */
  pieceFrom: number;
  pieceFrames: number;
  least: number;
  leastAt: number;
  worst: number;
}

interface Saved {
  open: Open | null;
  zeros: Record<string, ZeroResult>;
  shunts: Record<string, ShuntResult>;
  clocks: Clocks | null;
  recorder: MorningView['recorder'];
  ended: Done | null;
  /** aircraft time the check began; 0 = not yet */
  began: Microseconds;
}

/** With what it was judged by: under another plan or calibration nothing of it counts. */
interface Kept extends Saved {
  by: string;
}

const nothing = (): Saved => ({
  ...{ open: null, zeros: {}, shunts: {}, clocks: null, ended: null, began: 0 },
  recorder: { state: 'not looked at', text: '' },
});

export class MorningCheck implements ConductPart {
  readonly acts = ['begin check', 'end check', 'report recorder'] as const satisfies readonly ConductAct[];
  private readonly plan: MorningCheckPlan | undefined;
  private readonly channels: readonly (Channel & ColumnPlace & { id: string; made: Microseconds })[];
  /** plan and calibrations, as text */
  private readonly by: string;
  private state = nothing();

  /** Throws an Error that names what the mission does not have. */
  constructor(mission: Mission) {
    this.plan = mission.readiness?.morning;
    this.channels = (this.plan?.channels ?? []).map((check) => channelOf(mission, check));
    this.by = judgedBy(this.plan, this.channels);
  }

  act(entry: ActionEntry, action: ConductAction, moment: Moment): string {
    if (action.act === 'report recorder') return this.reportRecorder(action);
    if (this.plan === undefined) return 'the mission has no morning check';
    return action.act === 'begin check'
      ? this.begin(action, moment, this.plan)
      : this.end(entry, action, moment, this.plan);
  }

  private reportRecorder({ choice, text }: ConductAction): string {
    if (choice !== 'verified' && choice !== 'trouble')
      return `the recorder is verified or in trouble, not ${choice || 'nothing'}`;
    this.state.recorder = { state: choice, text };
    return '';
  }

  private begin({ choice, subject }: ConductAction, moment: Moment, plan: MorningCheckPlan): string {
    const { state } = this;
    if (choice !== 'zero' && choice !== 'shunt')
      return `a check is begun with zero or shunt, not ${choice || 'nothing'}`;
    if (moment.aircraft === 0) return 'no sample has arrived yet: there is nothing to gather';
    if (state.open) {
      const left = Math.max(0, state.open.until - moment.aircraft) / SECOND;
      return `${nameOf(state.open)} is still being gathered: ${left.toFixed(1)} s left, or end it first`;
    }
    if (choice === 'shunt') {
      const reason = this.shuntRefusal(subject);
      if (reason !== '') return reason;
    }
    const from = moment.aircraft + (plan.settle ?? 0);
    if (choice === 'zero') Object.assign(state, { ...nothing(), recorder: state.recorder });
    state.open = {
      ...{ choice, subject: choice === 'zero' ? '' : subject, from, until: from + plan.gather },
      kept: Object.fromEntries(this.channels.map(({ id }) => [id, nothingGathered()])),
      past: {},
    };
    if (state.began === 0) state.began = moment.aircraft;
    state.ended = null;
    return '';
  }

  private shuntRefusal(subject: string): string {
    const channel = this.channels.find(({ id }) => id === subject);
    if (!channel) return `${subject || 'nothing'} is no channel of the morning check`;
    if (channel.check.shunt === undefined) return `${subject} has no shunt`;
    return (this.state.zeros[subject]?.mean ?? null) === null
      ? `zero comes first: the mean of ${subject} with nothing applied is not known`
      : '';
  }

  private end(
    { person, position, ground }: ActionEntry,
    { choice }: ConductAction,
    moment: Moment,
    plan: MorningCheckPlan,
  ): string {
    const { state } = this;
    if (state.began === 0) return 'no morning check was begun';
    if (state.ended) return `the morning check was ended by ${state.ended.person} already`;
    if (state.open && choice !== '' && choice !== state.open.choice)
      return `${nameOf(state.open)} is being gathered, not ${choice}`;
    // what was not gathered in full is not judged: it stays as it was before
    if (state.open && moment.aircraft >= state.open.until) this.close(state.open, plan);
    state.open = null;
    state.ended = { person, position, aircraft: moment.aircraft, ground };
    return '';
  }

  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): void {
    const { open, began, ended } = this.state;
    if (began === 0 || ended !== null || this.plan === undefined) return;
    this.compareClocks(frames);
    if (open) this.gatherInto(open, batches, this.plan);
  }

  private gatherInto(open: Open, batches: readonly (Batch | undefined)[], plan: MorningCheckPlan): void {
    for (const { id, group, place } of this.channels) {
      const batch = batches[group];
      if (batch && gather(open.kept[id] as Gathered, batch, place, open)) open.past[id] = true;
    }
    let newest = 0;
    for (const batch of batches) if (batch) newest = Math.max(newest, batch.time[batch.length - 1] as number);
    if (newest > open.until + GRACE || this.channels.every(({ id }) => open.past[id])) this.close(open, plan);
  }

  /** Judges what was gathered. */
  private close(open: Open, plan: MorningCheckPlan): void {
    const { state, channels } = this;
    state.open = null;
    const seen = (id: string): Gathered => open.kept[id] as Gathered;
    if (open.choice === 'zero') {
      for (const channel of channels) state.zeros[channel.id] = judgeZero(channel, seen(channel.id), plan);
      return;
    }
    const subject = channels.find(({ id }) => id === open.subject) as (typeof channels)[number];
    const others = channels.flatMap((channel) => {
      const step = channel === subject ? 0 : stepBeside(channel, state.zeros[channel.id], seen(channel.id));
      return step === 0 ? [] : [{ parameter: channel.id, step, unit: channel.unit }];
    });
    const zero = state.zeros[subject.id] as ZeroResult;
    state.shunts[subject.id] = judgeShunt(subject, zero, seen(subject.id), others, plan);
  }

  /** Ground minus aircraft time of every frame since the check began. */
  private compareClocks({ aircraft, ground, length }: FrameSpan): void {
    for (let i = 0; i < length; i++) {
      const at = aircraft[i] as number;
      const difference = (ground[i] as number) - at;
      const clocks = (this.state.clocks ??= {
        ...{ line: noLine(), firstAircraft: at, firstDifference: difference, newest: at, back: 0, farthest: 0 },
        ...{ pieceFrom: 0, pieceFrames: 0, least: 0, leastAt: 0, worst: 0 },
      });
      if (at < clocks.newest) {
        clocks.back++;
        clocks.farthest = Math.max(clocks.farthest, clocks.newest - at);
      }
      clocks.newest = at;
      addToPiece(clocks, (at - clocks.firstAircraft) / SECOND, difference / SECOND);
    }
  }

  /** Null where the mission has no morning check. */
  view(): MorningView | null {
    const { plan, state } = this;
    if (plan === undefined) return null;
    const channels = this.channels.map((channel) => this.channelView(channel, plan));
    const time = timeOf(state.clocks, plan);
    const faults = channels.reduce((sum, { faults: own }) => sum + own.length, time.faults.length);
    const isLooked = this.channels.every(({ check }, i) => {
      const { looked } = channels[i] as ChannelResult;
      return looked.length === (check.shunt === undefined ? 3 : 4);
    });
    return {
      gathering: state.open ? nameOf(state.open) : '',
      channels,
      time: { offset: time.offset, drift: time.drift },
      timeFaults: time.faults,
      recorder: { ...state.recorder },
      complete: isLooked && time.offset !== null && time.drift !== null,
      ended: state.ended && { ...state.ended },
      faults,
    };
  }

  private channelView(
    { id, made, check, calibration }: (typeof this.channels)[number],
    plan: MorningCheckPlan,
  ): ChannelResult {
    const { zeros, shunts, began } = this.state;
    const zero = zeros[id];
    const shunt = shunts[id];
    const faults = [...new Set([...(zero?.faults ?? []), ...(shunt?.faults ?? [])])];
    if (began > 0 && calibration) faults.push(...ageFaults(Math.floor((began - made) / DAY), plan));
    for (const [other, result] of Object.entries(shunts)) {
      const isSwapped = result.faults.some((fault) => fault.startsWith('swapped'));
      const here = isSwapped ? result.others.find(({ parameter }) => parameter === id) : undefined;
      if (here) faults.push(`swapped: steps by ${figures(here.step)}${unitText(here.unit)} with the shunt of ${other}`);
    }
    const looked: ChannelResult['looked'] = [];
    if (zero && zero.mean !== null) looked.push('zero');
    if (check.shunt !== undefined && shunt && shunt.step !== null) looked.push('shunt');
    // that a channel of a declared rate brings nothing is a fault that was found; any other cannot be told from it
    if (zero && (zero.rate !== null || zero.total > 0)) looked.push('rate');
    if (zero && zero.total > 0) looked.push('range');
    return {
      parameter: id,
      zero: zero?.mean ?? null,
      noise: zero?.scatter ?? null,
      shunt: shunt?.step ?? null,
      rate: shunt?.rate ?? zero?.rate ?? null,
      faults,
      cannotTell: [...(zero?.cannotTell ?? []), ...(shunt?.cannotTell ?? [])],
      looked,
    };
  }

  save(): unknown {
    return { ...this.state, by: this.by } satisfies Kept;
  }

  /** Under another plan, or other calibrations, nothing is looked at yet: what was found was found by the ones before. */
  restore(state: unknown): void {
    const { by, ...saved } = structuredClone((state ?? {}) as Partial<Kept>);
    this.state = { ...nothing(), ...(by === this.by ? saved : saved.recorder && { recorder: saved.recorder }) };
  }
}

/** All that a result depends on beside the samples; not where it is written. */
const judgedBy = (plan: MorningCheckPlan | undefined, channels: readonly Channel[]): string =>
  JSON.stringify([plan, channels], (key, value) => (key === 'place' ? undefined : value));

/** The calibration of a channel is too old, of a day that is still to come, or of no day at all. */
function ageFaults(days: number, { calibrationDays }: MorningCheckPlan): string[] {
  if (calibrationDays === undefined) return [];
  if (Number.isNaN(days))
    return [`calibration: made nobody knows when, at most ${calibrationDays} days ago is expected`];
  if (days < 0) return [`calibration: made ${-days} days after today: its date or the aircraft's is wrong`];
  return days > calibrationDays ? [`calibration: made ${days} days ago, more than ${calibrationDays}`] : [];
}

const nameOf = ({ choice, subject }: Open): string => (choice === 'zero' ? 'zero' : `shunt of ${subject}`);
const unitText = (unit: string): string => (unit === '1' ? '' : ` ${unit}`);

function channelOf(mission: Mission, check: MorningCheckPlan['channels'][number]) {
  const id = check.parameter;
  const place = columnPlaces(mission).get(id);
  const column = columnIds(mission).indexOf(id);
  if (place === undefined) throw new Error(`the morning check names ${id}, which the mission does not have`);
  const parameter = mission.parameters.find((one) => one.id === id);
  const unit = parameter?.unit ?? mission.derived.find((one) => one.id === id)?.unit ?? '1';
  const rate = mission.groups[columnGroups(mission)[column] as number]?.rate ?? 0;
  const made = isoMicroseconds(`${parameter?.calibrationDate ?? ''}T00:00:00Z`);
  return {
    ...{ id, check, unit, rate, made, ...place },
    ...(parameter?.physicalRange && { physicalRange: parameter.physicalRange }),
    ...(parameter && { calibration: parameter.calibration }),
  };
}

/** Takes a frame's difference, seconds, into the piece at hand, and ends that when it is long enough. */
function addToPiece(clocks: Clocks, at: number, difference: number): void {
  if (clocks.pieceFrames === 0 || difference < clocks.least) {
    clocks.least = difference;
    clocks.leastAt = at;
  }
  clocks.pieceFrames++;
  if (clocks.pieceFrames < PIECE_FRAMES || (at >= clocks.pieceFrom && at - clocks.pieceFrom < PIECE)) return;
  if (Math.abs(clocks.least) > Math.abs(clocks.worst)) clocks.worst = clocks.least;
  addPoint(clocks.line, clocks.leastAt, clocks.least - clocks.firstDifference / SECOND);
  clocks.pieceFrom = at;
  clocks.pieceFrames = 0;
}

/** What the clocks say so far: seconds, and seconds a minute. */
function timeOf(clocks: Clocks | null, plan: MorningCheckPlan) {
  const faults: string[] = [];
  if (clocks === null || clocks.line.n === 0) return { offset: null, drift: null, faults };
  const { line, firstDifference, back, farthest } = clocks;
  const offset = firstDifference / SECOND + line.meanY;
  const allowed = plan.timeOffset / SECOND;
  if (Math.abs(offset) > allowed)
    faults.push(`time: ground minus aircraft time is ${figures(offset)} s, more than ${figures(allowed)} s`);
  else if (Math.abs(clocks.worst) > allowed)
    faults.push(
      `time: ground minus aircraft time was ${figures(clocks.worst)} s for a while, more than ${figures(allowed)} s`,
    );
  if (back > 0) faults.push(`time: aircraft time went back ${back} times, by up to ${figures(farthest / SECOND)} s`);
  const slope = slopeOf(line);
  const most = plan.timeDrift / SECOND;
  const drift = slope && line.n >= PIECES && SURE * slope.error * 60 < most ? slope.slope * 60 : null;
  if (drift !== null && Math.abs(drift) > most)
    faults.push(
      `time: ground minus aircraft time drifts by ${figures(drift * 1000)} ms a minute, more than ${figures(most * 1000)} ms`,
    );
  // no finer than anybody reads it: the room is told of every change
  const rounded = (value: number, places: number): number => Math.round(value * 10 ** places) / 10 ** places;
  return { offset: rounded(offset, 3), drift: drift === null ? null : rounded(drift, 4), faults };
}
