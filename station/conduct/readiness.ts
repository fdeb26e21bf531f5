/**
 * Whether the room is ready: what is missing, from whom, and what every position answers to the readiness poll. What the
 * other parts of test conduct know comes by `others`.
 */
import { dataConditions } from '../../protocol/alarm.ts';
import type { Batch } from '../../protocol/batch.ts';
import type {
  ConductAct,
  ConductAction,
  Missing,
  MorningView,
  ReadinessView,
  SweepView,
  WeightView,
} from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { StreamView } from '../../protocol/fold.ts';
import type { ConditionChange } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { type AircraftTime, type GroundTime, SECOND } from '../../protocol/time.ts';
import { BaselineMatch } from './baseline-match.ts';
import { NoticeBoard } from './notice.ts';
import type { ConductPart, Moment } from './part.ts';
import { Poll } from './poll.ts';
import { WatchList } from './watch.ts';
import { Weight } from './weight.ts';

/** What other parts tell. null = the mission plans no such check. */
export interface OtherChecks {
  morning: MorningView | null;
  sweep: SweepView | null;
  /** parts of test conduct that ended with a fault: nobody knows what they would have said */
  faults: readonly string[];
}

/** Ground time without a frame after which the answers fall: as long as until the alarm for silent receivers. */
const SILENCE = SECOND;

interface SavedReadiness {
  baselineId: string;
  notices: unknown;
  watch: unknown;
  weight: unknown;
  poll: unknown;
}

export class Readiness implements ConductPart {
  readonly acts: readonly ConductAct[] = ['acknowledge notice', 'assign watch', 'set load', 'open poll', 'answer poll'];
  private readonly mission: Mission;
  private readonly manned: readonly Position[];
  private readonly others: (moment: Moment) => OtherChecks;
  private readonly notices: NoticeBoard;
  private readonly watch: WatchList;
  private readonly weight: Weight | undefined;
  private readonly baseline: BaselineMatch;
  private readonly poll: Poll;
  /** conditions of the data that take answers away when they come true, and what is missing then */
  private readonly takes: ReadonlyMap<number, Missing>;

  constructor(mission: Mission, others: (moment: Moment) => OtherChecks) {
    const { readiness, people } = mission;
    this.mission = mission;
    this.others = others;
    this.manned = positions.filter((position) => people.some((one) => one.position === position));
    this.notices = new NoticeBoard(readiness?.notices ?? []);
    this.watch = new WatchList(mission, this.manned);
    this.weight = readiness?.weight && new Weight(mission, readiness.weight);
    this.baseline = new BaselineMatch(mission);
    this.poll = new Poll(this.manned);
    const { groups, identity } = dataConditions(mission);
    this.takes = new Map<number, Missing>([
      [identity, { position: '', text: "the aircraft sent ids that are not this pack's" }],
      ...(this.weight?.groups ?? []).map((group) => [groups + group, untold] as const),
    ]);
  }

  /** Who actively watches a limit now, '' = nobody; undefined for what is no limit. */
  watcherOf(limit: string): Position | '' | undefined {
    return this.watch.watcherOf(limit);
  }

  act(entry: ActionEntry, action: ConductAction, moment: Moment): string {
    const text = action.text.trim();
    switch (action.act) {
      case 'acknowledge notice':
        return this.notices.acknowledge(entry, action.subject);
      case 'assign watch':
        return this.watch.assign(action.subject, action.choice);
      case 'set load':
        if (!this.weight) return 'this mission plans no mass and balance';
        return this.weight.set(action.subject, action.value, text, entry.person);
      case 'open poll':
        return this.poll.open(entry, moment.aircraft);
      case 'answer poll':
        return this.poll.answer(entry, action.choice, text, this.look(moment).missing);
      default:
        return `to ${action.act} is not of readiness`;
    }
  }

  /** After any act of anybody: what it left missing takes answers away. */
  settle(moment: Moment): void {
    if (this.poll.holds) this.poll.fall(this.look(moment).missing);
  }

  /** What came true does so for good, though it may pass: somebody said to be ready without knowing of it. */
  hear(changes: readonly ConditionChange[]): void {
    if (!this.poll.holds) return;
    const missing = changes.flatMap(({ condition, limit }) =>
      condition === 'outside' ? (this.takes.get(limit) ?? []) : [],
    );
    if (missing.length > 0) this.poll.fall(missing);
  }

  run(batches: readonly (Batch | undefined)[]): void {
    if (!this.weight?.run(batches, this.poll.holds)) return;
    this.poll.fall([untold]);
  }

  pass(ground: GroundTime, _aircraft: AircraftTime, heard: GroundTime): void {
    if (!this.poll.holds || ground - heard <= SILENCE) return;
    this.poll.fall([{ position: '', text: `no telemetry for ${SILENCE / SECOND} s` }]);
  }

  /** All that is looked at, once. */
  private look(moment: Moment) {
    const { stream } = moment.room();
    const ids = this.baseline.view(stream);
    const weight = this.weight?.view(moment.latest) ?? null;
    const others = this.others(moment);
    return { ids, weight, others, missing: this.missing(moment, stream, ids, weight, others) };
  }

  private missing(
    moment: Moment,
    stream: StreamView,
    ids: ReadinessView['ids'],
    weight: WeightView | null,
    { faults, morning, sweep }: OtherChecks,
  ): Missing[] {
    const room = (text: string): Missing => ({ position: '', text });
    const open = moment.calls.filter(({ step }) => step !== 'closed');
    const anomalies = moment.anomalies().filter(({ closed }) => closed === undefined);
    return [
      ...(stream.state === 'receiving' ? [] : [room('no telemetry')]),
      ...this.baseline.missing(ids, stream),
      ...(morning?.recorder.state === 'trouble' ? [room(`recorder: ${morning.recorder.text}`)] : []),
      ...faults.map((fault) => room(`test conduct ended in part with a fault: ${fault}`)),
      ...open.map(({ number }) => room(`stop call ${number} is open`)),
      ...anomalies.map(({ number, text }) => room(`anomaly ${number} is open: ${text}`)),
      ...(morning ? morningMissing(morning) : []),
      ...(sweep ? sweepMissing(sweep) : []),
      ...(weight && this.weight ? this.weight.missing(weight, moment.latest) : []),
      ...this.watch.missing(),
      ...this.notices.missing(this.manned),
    ];
  }

  view(moment: Moment): ReadinessView {
    const { ids, missing, others, weight } = this.look(moment);
    return {
      notices: this.notices.view(),
      watch: this.watch.view(),
      unwatched: this.watch.unwatched(),
      morning: others.morning,
      sweep: others.sweep,
      weight,
      ids,
      missing,
      poll: this.poll.view(missing),
    };
  }

  save(): unknown {
    const { mission, notices, poll, watch, weight } = this;
    return {
      ...{ baselineId: mission.baselineId, notices: notices.save(), watch: watch.save() },
      ...{ weight: weight?.save() ?? null, poll: poll.save() },
    } satisfies SavedReadiness;
  }

  /** Of a state from before there was readiness: nobody has said anything yet. */
  restore(state: unknown): void {
    const saved = (state ?? new Readiness(this.mission, this.others).save()) as Partial<SavedReadiness>;
    if (typeof saved.baselineId !== 'string') throw new Error('saved readiness lacks its baseline');
    this.notices.restore(saved.notices);
    this.watch.restore(saved.watch);
    if (saved.weight && this.weight) this.weight.restore(saved.weight);
    this.poll.restore(saved.poll);
    // nobody has said to be ready by another pack
    if (saved.baselineId !== this.mission.baselineId) this.poll.close();
  }
}

const untold: Missing = {
  position: 'test conductor',
  text: 'mass and balance left the test envelope, or could not be told',
};

function morningMissing({ complete, ended, faults, recorder }: MorningView): Missing[] {
  const told = (text: string): Missing => ({ position: 'instrumentation', text });
  return [
    ...(complete && ended ? [] : [told(`morning check not ${complete ? 'ended' : 'complete'}`)]),
    ...(recorder.state === 'not looked at' ? [told('recorder not verified')] : []),
    ...(faults > 0 ? [told(`morning check: ${faults} ${faults === 1 ? 'fault' : 'faults'}`)] : []),
  ];
}

function sweepMissing({ channels, done, running }: SweepView): Missing[] {
  const told = (text: string): Missing => ({ position: 'flight control', text });
  if (running) return [told('control sweep under way')];
  const open = done ? [] : [told('control sweep not done')];
  const faults = channels.flatMap((channel) => channel.faults.map((fault) => `${channel.parameter} ${fault}`));
  const [first] = faults;
  if (first === undefined) return open;
  return [
    ...open,
    told(`control sweep: ${faults.length === 1 ? first : `${faults.length} faults, the first: ${first}`}`),
  ];
}
