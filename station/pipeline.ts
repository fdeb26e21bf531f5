/**
 * The page to read first: the stages in the order the data takes, and the fold that drives them.
 *
 *   decode -> select -> convert -> derive -> check -> alarm -> conduct
 *
 * Only this file knows two stages at once. It reads no clock, file, socket or chance: time comes with the entries. Frames
 * are gathered into batches; whatever depends on order (an action, a group going stale, a new mission, aircraft time that
 * steps) first puts out what is gathered, so no result depends on how much is gathered.
 */
import { type Batch, copyBatch, emptySpan, groundOf, noteFrame } from '../protocol/batch.ts';
import type { ActionEntry, ConfigurationEntry, Entry, FrameEntry } from '../protocol/entry.ts';
import type { Finding } from '../protocol/finding.ts';
import {
  emptyLatest,
  emptyStream,
  type LatestView,
  type Outputs,
  type RoomFold,
  type RoomView,
} from '../protocol/fold.ts';
import type { ConditionChange, LimitsView } from '../protocol/limit.ts';
import { columnGroups, columnIds, type Mission } from '../protocol/mission.ts';
import type { CountFormat } from '../protocol/parameter.ts';
import {
  type AircraftTime,
  aircraftTime,
  type GroundTime,
  groundTime,
  type Microseconds,
  SECOND,
} from '../protocol/time.ts';
import { FIRST_UNUSABLE, Validity } from '../protocol/validity.ts';
import { type Alarm, compileAlarm } from './alarm/alarm.ts';
import { type Check, compileCheck } from './check/check.ts';
import { compileConduct, type Conduct } from './conduct/conduct.ts';
import { compileConvert, type Convert } from './convert/convert.ts';
import { compileDecode, type Decode, type OpenFrame } from './decode/decode.ts';
import { fieldFormats } from './decode/mapping.ts';
import { compileDerive, type Derive, describeFunctions, explain } from './derive/derive.ts';
import { type Held, Select } from './select/select.ts';
import { type GroupChange, Watch } from './select/watch.ts';

/** A step of aircraft time larger than this, or any step back, breaks what is shown. */
const JUMP = 10 * SECOND;

interface Stages {
  decode: Decode;
  select: Select<OpenFrame>;
  watch: Watch;
  convert: Convert;
  derive: Derive;
  check: Check;
  alarm: Alarm;
  conduct: Conduct;
}

/** Compiles every stage for a mission: the stages, or all that is wrong. */
function compileStages(mission: Mission): { stages?: Stages; findings: Finding[] } {
  const decode = compileDecode(mission);
  const convert = compileConvert(mission);
  const derive = compileDerive(mission);
  const check = compileCheck(mission);
  const alarm = compileAlarm(mission);
  const conduct = compileConduct(mission);
  const findings = [decode, convert, derive, check, alarm, conduct].flatMap((stage) => stage.findings as Finding[]);
  if (!decode.value || !convert.value || !derive.value || !check.value || !alarm.value || !conduct.value) {
    return { findings };
  }
  const opener = decode.value;
  const reopen = (bytes: Uint8Array) => {
    const opened = opener.open(bytes);
    return 'refused' in opened ? undefined : opened;
  };
  return {
    stages: {
      decode: opener,
      select: new Select(mission, reopen),
      watch: new Watch(mission),
      convert: convert.value,
      derive: derive.value,
      check: check.value,
      alarm: alarm.value,
      conduct: conduct.value,
    },
    findings,
  };
}

/** All that the stages have to say against a mission; empty when it can be put in force. */
export const compilePipeline = (mission: Mission): Finding[] => compileStages(mission).findings;

/** What a derived parameter becomes when its formula is compiled, for people; throws when there is none of that name. */
export const explainDerived = (mission: Mission, id: string): string => explain(mission, id);

/** In which format each field of a stream of another make is kept; those that cannot be are left out. */
export const streamFormats = (mission: Pick<Mission, 'groups' | 'parameters' | 'mapping'>): Map<string, CountFormat> =>
  fieldFormats(mission);

/** Every function of the formula language, for people. */
export const formulaFunctions = describeFunctions;

const noLimits: LimitsView = {
  condition: new Uint8Array(0),
  level: new Uint8Array(0),
  value: new Float64Array(0),
  next: new Float64Array(0),
};

export interface PipelineOptions {
  /** aircraft time gathered into one batch; 0 = put out after every entry */
  gather: Microseconds;
}

export class Pipeline implements RoomFold {
  mission: Mission | undefined;
  ground: GroundTime = groundTime(0);
  aircraft: AircraftTime = aircraftTime(0);
  latest: LatestView = emptyLatest(0);
  private readonly gather: Microseconds;
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
    if (this.stages) this.putOut(this.stages);
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
    const groups = columnGroups(entry.mission);
    this.groupColumns = entry.mission.groups.map((_, g) => groups.flatMap((of, column) => (of === g ? [column] : [])));
    this.phaseColumn = columnIds(entry.mission).indexOf(entry.mission.phases?.parameter ?? '');
    this.latest = emptyLatest(groups.length);
    this.batches.length = 0;
    this.newest = 0;
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
    noteFrame(this.frames, frame.time, held.ground);
    this.newest = frame.lastTime;
    if (frame.lastTime - (this.frames.aircraft[0] as number) >= this.gather) this.putOut(stages);
  }

  private act(stages: Stages, entry: ActionEntry): void {
    this.putOut(stages);
    const { action, person, position, request } = entry;
    let reason: string;
    if (action.act === 'acknowledge') {
      reason = stages.conduct.refusal(entry);
      if (reason === '') {
        const { alarm, seen } = action;
        reason = stages.alarm.acknowledge(alarm, position, person, entry.ground, this.aircraft, this.out.alarms, seen);
      }
    } else {
      reason = stages.conduct.act(entry, this.aircraft).reason;
    }
    this.out.results.push({ person, request, accepted: reason === '', reason });
    this.out.roomChanged = true;
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
    stages.alarm.apply(changes, out.alarms);
    stages.alarm.peak(this.batches);
    this.noteLatest(stages);
    for (const batch of this.batches) if (batch) out.batches.push(batch);
    for (let i = 0; i < frames.length; i++)
      noteFrame(out.frames, frames.aircraft[i] as number, frames.ground[i] as number);
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
      floods: [],
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
    const { decode: _, ...stateful } = this.stages;
    for (const [name, stage] of Object.entries(stateful)) stage.restore(saved.stages[name]);
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
