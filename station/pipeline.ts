/**
 * The page to read first: the stages in the order the data takes, and the fold that drives them.
 *
 *   decode -> select -> convert -> derive -> check -> alarm -> conduct
 *
 * Only this file and stages.ts, which compiles them, know two stages at once. It reads no clock, file, socket or chance: time comes with the entries. Frames
 * are gathered into batches; whatever depends on order (an action, a group going stale, a new mission, aircraft time that
 * steps) first puts out what is gathered, so no result depends on how much is gathered.
 */
import type { AlarmMetrics } from '../protocol/alarm-metrics.ts';
import type { ConductView } from '../protocol/conduct.ts';
import { type Batch, copyBatch, emptySpan, groundOf, noteFrame } from '../protocol/batch.ts';
import type { Action, ActionEntry, ConfigurationEntry, Entry, FrameEntry } from '../protocol/entry.ts';
import {
  emptyLatest,
  emptyStream,
  type LatestView,
  type Outputs,
  type RoomFold,
  type RoomView,
} from '../protocol/fold.ts';
import type { ConditionChange, Limit, LimitsView, Reading } from '../protocol/limit.ts';
import { columnGroups, columnIds, type Mission } from '../protocol/mission.ts';
import {
  type AircraftTime,
  aircraftTime,
  type GroundTime,
  groundTime,
  type Microseconds,
  SECOND,
} from '../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../protocol/validity.ts';
import type { Situation } from './conduct/situation.ts';
import type { OpenFrame } from './decode/decode.ts';
import type { Held } from './select/select.ts';
import type { GroupChange } from './select/watch.ts';
import type { MeasureListener } from './listener.ts';
import { checkWith, compileStages, type Stages } from './stages.ts';

/** A step of aircraft time larger than this, or any step back, breaks what is shown. */
const JUMP = 10 * SECOND;

const noLimits: LimitsView = {
  condition: new Uint8Array(0),
  level: new Uint8Array(0),
  value: new Float64Array(0),
  next: new Float64Array(0),
};

/** Actions that the alarm stage does, once conduct has let them pass. */
const ofAlarms: ReadonlySet<string> = new Set<Action['act']>([
  'acknowledge',
  'shelve',
  'unshelve',
  'take out of service',
  'return to service',
]);

export interface PipelineOptions {
  /** aircraft time gathered into one batch; 0 = put out after every entry */
  gather: Microseconds;
  /** told what every limit measures, for a report; absent = nobody is */
  listener?: MeasureListener;
}

export class Pipeline implements RoomFold {
  mission: Mission | undefined;
  ground: GroundTime = groundTime(0);
  aircraft: AircraftTime = aircraftTime(0);
  latest: LatestView = emptyLatest(0);
  private readonly gather: Microseconds;
  private readonly listener: MeasureListener | undefined;
  private stages: Stages | undefined;
  /** columns of each rate group */
  private groupColumns: number[][] = [];
  /** column of the phase of flight, -1 for none */
  private phaseColumn = -1;
  private readonly out: Outputs = {
    batches: [],
    frames: emptySpan(),
    alarms: [],
    roomChanged: false,
    results: [],
    discontinuity: -1,
  };
  /** gathered, not yet put out */
  private readonly frames = emptySpan();
  /** aircraft time of the newest gathered or used sample */
  private newest = 0;
  private readonly ready: Held<OpenFrame>[] = [];
  private readonly batches: (Batch | undefined)[] = [];

  constructor(options: PipelineOptions) {
    this.gather = options.gather;
    this.listener = options.listener;
  }

  step(entry: Entry): Outputs {
    this.begin();
    if (entry.kind === 'configuration') this.configure(entry);
    else if (this.stages) {
      this.ground = entry.ground;
      this.advance(this.stages, entry.ground);
      if (entry.kind === 'frame') this.receive(this.stages, entry);
      else if (entry.kind === 'action') this.act(this.stages, entry);
      else if (entry.kind === 'clock' && this.stages.watch.systemClock(entry.difference)) {
        this.judge(this.stages, entry.ground);
      }
    } else if (entry.kind === 'action') {
      const { person, request } = entry;
      this.out.results.push({ person, request, accepted: false, reason: 'no mission is in force' });
    }
    return this.out;
  }

  flush(): Outputs {
    this.begin();
    if (this.stages) {
      this.putOut(this.stages);
      this.passTime(this.stages);
    }
    return this.out;
  }

  private begin(): void {
    const { out } = this;
    out.batches = [];
    out.alarms = [];
    out.results = [];
    out.frames.length = 0;
    out.roomChanged = false;
    out.discontinuity = -1;
  }

  private configure(entry: ConfigurationEntry): void {
    if (this.mission?.baselineId === entry.mission.baselineId) return;
    if (this.stages) this.putOut(this.stages);
    const { stages, findings } = compileStages(entry.mission);
    if (!stages) throw new Error(`mission cannot be put in force: ${findings.map((f) => f.found).join('; ')}`);
    if (this.stages) stages.conduct.restore(this.stages.conduct.save());
    this.ground = entry.ground;
    this.mission = entry.mission;
    this.stages = stages;
    stages.check.hear(this.listener);
    this.listener?.mission(entry.mission);
    const groups = columnGroups(entry.mission);
    this.groupColumns = entry.mission.groups.map((_, g) => groups.flatMap((of, column) => (of === g ? [column] : [])));
    this.phaseColumn = columnIds(entry.mission).indexOf(entry.mission.phases?.parameter ?? '');
    this.latest = emptyLatest(groups.length);
    this.batches.length = 0;
    this.newest = 0;
    // the alarms' time begins here
    this.passTime(stages);
    this.out.discontinuity = this.out.batches.length;
    this.out.roomChanged = true;
  }

  /** What the passing of ground time alone brings. */
  private advance(stages: Stages, ground: GroundTime): void {
    if (ground >= stages.select.deadline) {
      stages.select.release(ground, this.ready);
      this.useReady(stages, ground);
    }
    if (stages.watch.due(ground)) this.judge(stages, ground);
    // what is gathered is of an earlier time: it comes first, and time passes when it is put out
    if (ground >= stages.alarm.deadline) this.putOut(stages);
    if (this.frames.length === 0) this.passTime(stages);
  }

  private passTime(stages: Stages): void {
    stages.alarm.advance(this.ground, this.aircraft, this.phase(), this.out.alarms);
    const { lastGround } = stages.select.stream;
    if (stages.conduct.pass(this.ground, this.aircraft, lastGround, stages.alarm)) this.out.roomChanged = true;
  }

  private receive(stages: Stages, entry: FrameEntry): void {
    const frame = stages.decode.open(entry.bytes, entry.input);
    if ('refused' in frame) {
      stages.select.refuse(frame.refused, frame.receiver);
      if (frame.refused === 'damaged' && stages.watch.damaged(entry.ground)) this.judge(stages, entry.ground);
      return;
    }
    const returned = stages.watch.heard(frame.receiver, entry.ground);
    stages.select.take({ frame, ground: entry.ground, bytes: entry.bytes }, this.ready);
    if (returned) this.judge(stages, entry.ground);
    this.useReady(stages, entry.ground);
  }

  private useReady(stages: Stages, ground: GroundTime): void {
    for (const held of this.ready) this.use(stages, held, ground);
    this.ready.length = 0;
  }

  /** Gathers one frame of the merged stream. */
  private use(stages: Stages, held: Held<OpenFrame>, ground: GroundTime): void {
    const { frame } = held;
    // the first frame changes what the room is told of the stream
    if (stages.select.stream.frames === 1) this.out.roomChanged = true;
    if (frame.time <= this.newest) this.putOut(stages);
    if (this.newest > 0 && (frame.time < this.newest - SECOND || frame.time > this.newest + JUMP)) {
      this.putOut(stages);
      this.out.discontinuity = this.out.batches.length;
    }
    const { idsMatch, lost } = stages.select.stream;
    if (stages.watch.chosen(frame.time, held.ground, frame.groups, idsMatch, lost)) {
      this.judge(stages, ground);
    }
    stages.decode.append(frame);
    noteFrame(this.frames, frame.time, held.ground, ground);
    this.newest = frame.lastTime;
    if (frame.lastTime - (this.frames.aircraft[0] as number) >= this.gather) this.putOut(stages);
  }

  private act(stages: Stages, entry: ActionEntry): void {
    this.putOut(stages);
    const { person, request } = entry;
    let reason: string;
    if (ofAlarms.has(entry.action.act)) {
      reason = stages.conduct.refusal(entry) || stages.alarm.act(entry, this.aircraft, this.out.alarms);
    } else {
      const before = stages.conduct.changesInForce;
      const closed = stages.conduct.closedRuns;
      reason = stages.conduct.act(entry, this.aircraft, this.situation()).reason;
      if (stages.conduct.changesInForce !== before) {
        const limits = stages.conduct.limitsInForce();
        this.checkBy(stages, limits);
        stages.alarm.changeLimits(limits, entry.ground, this.aircraft, this.out.alarms);
      }
      if (stages.conduct.closedRuns > closed) stages.alarm.endPoint(entry.ground, this.aircraft, this.out.alarms);
    }
    this.out.results.push({ person, request, accepted: reason === '', reason });
    this.out.roomChanged = true;
  }

  /** What conduct may ask about the moment. */
  private situation(): Situation {
    return {
      latest: this.latest,
      room: () => this.room(),
      judge: (limits: Limit[]) => {
        const made = checkWith(this.mission as Mission, limits);
        return 'reason' in made ? made.reason : '';
      },
    };
  }

  /** From the next sample on, the same limits with these values. */
  private checkBy(stages: Stages, limits: Limit[]): void {
    const made = checkWith(this.mission as Mission, limits);
    if ('reason' in made) throw new Error(`limits that were let pass do not compile: ${made.reason}`);
    made.check.adopt(stages.check);
    made.check.hear(this.listener);
    this.listener?.limits(limits);
    stages.check = made.check;
  }

  /** Data-quality conditions as of `ground`, after everything gathered before. */
  private judge(stages: Stages, ground: GroundTime): void {
    this.putOut(stages);
    const changes: ConditionChange[] = [];
    const groups: GroupChange[] = [];
    stages.watch.judge(ground, this.aircraft, changes, groups);
    for (const { group, wentStale, code } of groups) {
      // a sample that comes now brings its own code
      if (code === Validity.good) continue;
      for (const column of this.groupColumns[group] as number[]) {
        // one of which no sample ever came goes on saying so
        if (this.latest.validity[column] !== Validity.none) this.latest.validity[column] = code;
      }
      if (wentStale) changes.push(...stages.check.stale(group, this.aircraft, ground));
    }
    if (changes.length > 0 || groups.length > 0) this.out.roomChanged = true;
    stages.alarm.apply(changes, this.out.alarms);
    stages.conduct.hear(changes);
  }

  /** Runs the stages over what is gathered. */
  private putOut(stages: Stages): void {
    const { frames, out } = this;
    if (frames.length === 0) return;
    // a second put-out in one step writes over the arrays of the first
    if (out.batches.length > 0) out.batches = out.batches.map(copyBatch);
    stages.convert.run(stages.decode.groups, this.batches, stages.watch.rateWrong);
    stages.derive.run(this.batches);
    const changes = stages.check.run(this.batches, frames);
    stages.alarm.apply(changes, out.alarms, this.batches, frames);
    stages.alarm.peak(this.batches);
    this.noteLatest(stages);
    stages.conduct.hear(changes);
    stages.conduct.run(this.batches, frames);
    for (const batch of this.batches) if (batch) out.batches.push(batch);
    const { aircraft, ground, taken } = frames;
    for (let i = 0; i < frames.length; i++) {
      noteFrame(out.frames, aircraft[i] as number, ground[i] as number, taken[i] as number);
    }
    frames.length = 0;
    stages.decode.clear();
  }

  private noteLatest(stages: Stages): void {
    const { latest, frames } = this;
    this.aircraft = aircraftTime(this.newest);
    for (const batch of this.batches) {
      if (!batch) continue;
      const last = batch.length - 1;
      const time = batch.time[last] as number;
      const ground = groundOf(frames, time);
      for (let k = 0; k < batch.columns.length; k++) {
        const column = batch.columns[k] as number;
        latest.value[column] = (batch.values[k] as Float64Array)[last] as number;
        latest.validity[column] = (batch.validity[k] as Uint8Array)[last] as number;
        latest.aircraft[column] = time;
        latest.ground[column] = ground;
      }
      stages.select.stream.samples += batch.length * batch.received;
    }
  }

  room(): RoomView {
    const { stages } = this;
    if (!stages) {
      const flight = { number: '', crew: '', note: '', closed: false };
      const nothing = { alarms: [], cannotTell: [], calls: [], marks: [], receivers: [], floods: [], changes: [] };
      return { ...nothing, prompts: [], flight, stream: emptyStream(), phase: '' };
    }
    const receivers = stages.select.receivers.map(({ view }, r) => ({ ...view, state: stages.watch.receiverState(r) }));
    const stream = { ...stages.select.stream, state: stages.watch.streamState() };
    const { alarm, conduct } = stages;
    const { calls, changes, marks, flight } = conduct;
    const phase = this.phase();
    const alarms = alarm.list();
    const told = {
      alarms,
      cannotTell: alarm.cannotTell(),
      floods: alarm.floods(),
      changes,
      prompts: conduct.prompts(alarms, phase),
    };
    return { ...told, calls, marks, flight, receivers, stream, phase };
  }

  /** Id of the phase of flight; '' when none is declared or it cannot be told. */
  private phase(): string {
    const machine = this.mission?.phases;
    if (!machine || this.phaseColumn < 0) return '';
    if ((this.latest.validity[this.phaseColumn] as number) >= FIRST_UNUSABLE) return '';
    return machine.phases[this.latest.value[this.phaseColumn] as number]?.id ?? '';
  }

  limits(): LimitsView {
    return this.stages?.check.read() ?? noLimits;
  }

  readings(limit: string): readonly Reading[] | undefined {
    const index = this.mission?.limits.findIndex(({ id }) => id === limit) ?? -1;
    return index < 0 ? undefined : this.stages?.check.readings(index);
  }

  conduct(): ConductView | undefined {
    return this.stages?.conduct.view(this.ground, this.aircraft, this.situation());
  }

  metrics(): AlarmMetrics | undefined {
    if (!this.stages) return undefined;
    const { alarm, conduct } = this.stages;
    return alarm.metrics(conduct.calls.map((call) => call.alarm).filter((id) => id !== ''));
  }

  save(): SavedPipeline {
    if (!this.mission || !this.stages) throw new Error('nothing to save before a mission is in force');
    if (this.frames.length > 0) throw new Error('flush before saving');
    const { decode: _, ...stateful } = this.stages;
    const stages = Object.fromEntries(Object.entries(stateful).map(([name, stage]) => [name, stage.save()]));
    const { ground, aircraft, newest, latest } = this;
    return { baselineId: this.mission.baselineId, ground, aircraft, newest, latest, stages };
  }

  restore(state: unknown): void {
    const saved = state as SavedPipeline;
    if (!this.mission || !this.stages) throw new Error('put the mission in force before restoring');
    if (saved.baselineId !== this.mission.baselineId) {
      throw new Error(`state of baseline ${saved.baselineId}, but ${this.mission.baselineId} is in force`);
    }
    this.stages.decode.clear();
    this.frames.length = 0;
    this.ready.length = 0;
    const { decode: _, check: __, conduct, ...stateful } = this.stages;
    conduct.restore(saved.stages['conduct']);
    // what the check stage carries fits the limits as they were changed
    this.checkBy(this.stages, conduct.limitsInForce());
    this.stages.check.restore(saved.stages['check']);
    for (const [name, stage] of Object.entries(stateful)) stage.restore(saved.stages[name]);
    this.stages.alarm.changeLimits(conduct.limitsInForce(), saved.ground, saved.aircraft, []);
    this.ground = saved.ground;
    this.aircraft = saved.aircraft;
    this.newest = saved.newest;
    for (const key of ['value', 'validity', 'aircraft', 'ground'] as const) this.latest[key].set(saved.latest[key]);
  }
}

interface SavedPipeline {
  baselineId: string;
  ground: GroundTime;
  aircraft: AircraftTime;
  newest: number;
  latest: LatestView;
  stages: Record<string, unknown>;
}
