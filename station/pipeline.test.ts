import { describe, expect, it } from 'vitest';
import type { AlarmEvent } from '../protocol/alarm.ts';
import { type Action, type Entry, TICK } from '../protocol/entry.ts';
import type { Outputs } from '../protocol/fold.ts';
import type { Mission } from '../protocol/mission.ts';
import { groundTime, SECOND } from '../protocol/time.ts';
import { Validity } from '../protocol/validity.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../test/support/tiny-mission.ts';
import { Pipeline } from './pipeline.ts';
import { compilePipeline } from './stages.ts';

const START = 1_764_064_800_000_000;
const FRAME = 20_000;

const flight = mission({
  groups: [group('main', 100), group('slow', 1)],
  parameters: [parameter('A', 'main'), parameter('S', 'slow')],
  limits: [levelLimit('a-high', 'A', { above: { warning: 100 } })],
});

const missingReceiver = 'data.receiver.South raised caution';
const missingGroup = 'data.stale.slow raised caution';

/** A pipeline that is fed frames and ticks, and remembers what it said. */
class Bench {
  readonly pipeline: Pipeline;
  readonly alarms: AlarmEvent[] = [];
  last: Outputs;
  ground = START;
  counter = 0;

  constructor(of: Mission = flight, gather = 0) {
    this.pipeline = new Pipeline({ gather });
    this.last = this.step({ kind: 'configuration', ground: groundTime(START), mission: of, files: [] });
  }

  step(entry: Entry): Outputs {
    this.last = this.pipeline.step(entry);
    this.alarms.push(...this.last.alarms);
    return this.last;
  }

  /** One frame: two samples of A, and one of S when asked. */
  frame(a: number, more: { receiver?: string; slow?: boolean; time?: number; software?: string } = {}): Outputs {
    this.ground += FRAME;
    const groups = [{ group: 'main', rows: [{ A: a }, { A: a }] }];
    if (more.slow) groups.push({ group: 'slow', rows: [{ A: 0 }] });
    const aircraft = { ...flight.aircraft, softwareId: more.software ?? flight.aircraft.softwareId };
    const bytes = frameBytes({ ...flight, aircraft }, this.counter++, more.time ?? this.ground, groups);
    return this.step(frameEntry(this.ground, bytes, more.receiver));
  }

  silence(us: number): void {
    for (let t = 0; t < us; t += TICK) {
      this.ground += TICK;
      this.step({ kind: 'tick', ground: groundTime(this.ground) });
    }
  }

  act(action: Action, person = 'engineer', position = 'engine'): Outputs {
    return this.step({ kind: 'action', ground: groundTime(this.ground), person, position, request: 7, action });
  }

  /** What was said, but for what never came at all: most tests have neither the second receiver nor the slow group. */
  get lines(): string[] {
    return this.told.filter((line) => line !== missingReceiver && line !== missingGroup);
  }

  get told(): string[] {
    return this.alarms.map(({ alarm, event, level }) => `${alarm} ${event} ${level}`);
  }
}

describe('the pipeline', () => {
  it('raises, acknowledges and frees an alarm through all its stages', () => {
    const bench = new Bench();
    bench.frame(50);
    const out = bench.frame(150);
    expect(out.alarms).toMatchObject([
      { event: 'raised', alarm: 'a-high', aircraft: bench.ground, ground: bench.ground, value: 150 },
    ]);
    bench.frame(50);
    expect(bench.act({ act: 'acknowledge', alarm: 'a-high' }).results).toEqual([
      { person: 'engineer', request: 7, accepted: true, reason: '' },
    ]);
    expect(bench.lines).toEqual([
      'a-high raised warning',
      'a-high cleared warning',
      'a-high acknowledged warning',
      'a-high freed warning',
    ]);
    expect(bench.pipeline.room().alarms[0]?.state).toMatchObject({ peak: 150, latch: 'free' });
  });

  it('does not leave out of service what a change of its limit lets reach a warning, nor after a restore', () => {
    const of = mission({ ...flight, limits: [levelLimit('a-high', 'A', { above: { caution: 100 } })] });
    const bench = new Bench(of);
    bench.frame(150);
    const out: Action = { act: 'take out of service', alarm: 'a-high', reason: 'broken' };
    expect(bench.act(out).results[0]?.reason).toBe('');
    const values = { above: { caution: 100, warning: 120 }, persistence: 0, hysteresis: 0 };
    const said = { reason: 'tried', pilotInformed: true, offCondition: true };
    const changed = bench.act({ act: 'change limit', limit: 'a-high', values, ...said });
    expect(changed.results[0]?.reason).toBe('');
    expect(changed.alarms).toMatchObject([
      { event: 'in service', alarm: 'a-high', ground: bench.ground, detail: 'its limit can reach a warning now' },
    ]);
    const other = new Bench(of);
    bench.pipeline.flush();
    other.pipeline.restore(structuredClone(bench.pipeline.save()));
    for (const { pipeline } of [bench, other]) {
      expect(pipeline.room().alarms[0]?.definition.removable).toBe(false);
    }
    expect(other.act(out).results[0]?.reason).toContain('two people');
  });

  it('says after half a second of silence that the link is lost, and tells the stream from its receivers', () => {
    const bench = new Bench();
    bench.frame(50, { slow: true });
    bench.frame(50);
    bench.silence(0.48 * SECOND);
    expect(bench.pipeline.latest.validity[0]).toBe(Validity.good);
    bench.silence(TICK);
    expect([...bench.pipeline.latest.validity]).toEqual([Validity.link, Validity.good]);
    expect(bench.lines).toEqual([]);
    bench.silence(0.5 * SECOND);
    expect(bench.lines).toEqual(['data.stream raised warning', 'data.receiver.North raised caution']);
    expect(bench.pipeline.room().stream.state).toBe('silent');
    bench.frame(50);
    expect(bench.pipeline.latest.validity[0]).toBe(Validity.good);
    expect(bench.lines.slice(2)).toEqual(['data.receiver.North cleared caution', 'data.stream cleared warning']);
  });

  it('gives the first link of the chain that breaks: no message, only damaged ones, or frames without the group', () => {
    const bench = new Bench();
    bench.frame(50, { slow: true });
    bench.frame(50, { slow: true });
    bench.silence(0.5 * SECOND);
    expect(bench.pipeline.latest.validity[0]).toBe(Validity.link);
    bench.ground += FRAME;
    bench.step(frameEntry(bench.ground, Uint8Array.of(1, 2, 3)));
    expect(bench.pipeline.latest.validity[0]).toBe(Validity.frame);
    bench.silence(4 * SECOND);
    expect([...bench.pipeline.latest.validity]).toEqual([Validity.frame, Validity.frame]);
    bench.frame(50);
    expect([...bench.pipeline.latest.validity]).toEqual([Validity.good, Validity.stale]);
    bench.silence(0.5 * SECOND);
    expect([...bench.pipeline.latest.validity]).toEqual([Validity.link, Validity.link]);
  });

  it('does not use the samples of a group that come at another rate than declared', () => {
    const of = mission({ ...flight, groups: [group('main', 50), group('slow', 1)] });
    const bench = new Bench(of);
    const seconds = (count: number) => {
      for (let i = 0; i < count * 50; i++) bench.frame(150);
    };
    seconds(9);
    expect(bench.lines).toEqual(['a-high raised warning']);
    seconds(2);
    expect(bench.lines.slice(1)).toEqual(['data.rate.main raised caution', 'a-high cannot tell warning']);
    expect(bench.pipeline.latest.validity[0]).toBe(Validity.rate);
  });

  it('announces a stale rate group by itself only while the stream is alive', () => {
    const bench = new Bench();
    bench.frame(50, { slow: true });
    for (let i = 0; i < 160; i++) bench.frame(50);
    expect(bench.told).toEqual([missingReceiver, missingGroup]);
    bench.frame(50, { slow: true });
    expect(bench.lines.at(-1)).toBe('data.stale.slow cleared caution');
  });

  it('says of a receiver and of a group that never came that they are missing, once the stream is there', () => {
    const bench = new Bench();
    bench.silence(10 * SECOND);
    expect(bench.told).toEqual([]);
    bench.frame(50);
    for (let i = 0; i < 49; i++) bench.frame(50);
    expect(bench.told).toEqual([]);
    bench.frame(50);
    expect(bench.told).toEqual([missingReceiver]);
    for (let i = 0; i < 100; i++) bench.frame(50);
    expect(bench.told).toEqual([missingReceiver, missingGroup]);
    expect(bench.pipeline.latest.validity[1]).toBe(Validity.none);
    bench.frame(50, { receiver: 'South', slow: true });
    expect(bench.told.slice(2)).toEqual(['data.receiver.South cleared caution', 'data.stale.slow cleared caution']);
    expect(bench.pipeline.latest.validity[1]).toBe(Validity.good);
  });

  it('cannot tell a limit whose parameter went stale, and does not clear it', () => {
    const bench = new Bench();
    bench.frame(150);
    bench.silence(0.6 * SECOND);
    expect(bench.lines).toEqual(['a-high raised warning', 'a-high cannot tell warning']);
    expect(bench.pipeline.room().alarms[0]?.state.condition).toBe('cannot tell');
  });

  it('notices an aircraft whose ids differ from the baseline, and an aircraft clock that slips', () => {
    const bench = new Bench();
    bench.frame(50, { software: 'S2' });
    expect(bench.lines).toEqual(['data.identity raised caution']);
    expect(bench.pipeline.room().stream).toMatchObject({ softwareId: 'S2', idsMatch: false });
    bench.frame(50);
    for (let i = 0; i < 100; i++) bench.frame(50);
    const slipped = () => bench.frame(50, { time: bench.ground + FRAME + 400_000 });
    for (let i = 0; i < 50; i++) slipped();
    expect(bench.lines.slice(1)).toEqual(['data.identity cleared caution', 'data.clock raised caution']);
    for (let i = 0; i < 110; i++) slipped();
    expect(bench.lines.at(-1)).toBe('data.clock cleared caution');
  });

  it('says that the system clock was set, as long as it is off, also across save and restore', () => {
    const bench = new Bench();
    const clock = (difference: number) => bench.step({ kind: 'clock', ground: groundTime(bench.ground), difference });
    bench.frame(50);
    clock(-249_999);
    expect(bench.told).toEqual([]);
    clock(-3_600_000_000);
    expect(bench.told).toEqual(['data.system-clock raised caution']);
    bench.pipeline.flush();
    const again = new Bench();
    again.pipeline.restore(structuredClone(bench.pipeline.save()));
    for (const one of [bench, again]) {
      one.step({ kind: 'clock', ground: groundTime(bench.ground), difference: 250_000 });
      one.step({ kind: 'clock', ground: groundTime(bench.ground), difference: 100 });
    }
    expect(bench.told.slice(1)).toEqual(['data.system-clock cleared caution']);
    expect(again.told).toEqual(['data.system-clock cleared caution']);
  });

  it('keeps what came before a jump of aircraft time apart from what came after, in one output', () => {
    const bench = new Bench(flight, 1e12);
    bench.frame(1);
    bench.frame(2);
    const out = bench.frame(3, { time: START + 3600 * SECOND });
    expect(out.discontinuity).toBe(1);
    expect(out.batches.map((b) => [...(b.values[0] as Float64Array).subarray(0, b.length)])).toEqual([[1, 1, 2, 2]]);
    expect(bench.pipeline.flush().batches.map((b) => b.values[0]?.[0])).toEqual([3]);
    expect(bench.frame(4, { time: START }).discontinuity).toBe(0);
  });

  it('goes on after messages that are no frames of this stream', () => {
    const bench = new Bench();
    bench.frame(50);
    for (const bytes of [new Uint8Array(0), Uint8Array.of(255, 255, 255), new Uint8Array(70_000)]) {
      bench.step({ kind: 'frame', ground: groundTime(bench.ground), input: 'test', bytes });
    }
    const other = frameBytes({ ...flight, stream: 'OTHER' }, 1, START, []);
    bench.step(frameEntry(bench.ground, other));
    bench.frame(150);
    expect(bench.pipeline.room().stream).toMatchObject({ frames: 2, damaged: 3, foreign: 1 });
    expect(bench.lines).toEqual(['a-high raised warning']);
  });

  it('refuses every action before a mission is in force, and a state of another baseline', () => {
    const pipeline = new Pipeline({ gather: 0 });
    const action: Action = { act: 'mark', text: 'x', aircraft: 0 };
    const entry: Entry = { kind: 'action', ground: groundTime(1), person: 'p', position: 'engine', request: 3, action };
    expect(pipeline.step(entry).results).toEqual([
      { person: 'p', request: 3, accepted: false, reason: 'no mission is in force' },
    ]);
    expect(() => pipeline.save()).toThrow('before a mission is in force');
    const saved = new Bench().pipeline.save();
    const other = new Bench({ ...flight, baselineId: 'other' }).pipeline;
    expect(() => other.restore(saved)).toThrow('state of baseline tiny, but other is in force');
  });

  it('keeps open stop calls when another baseline is put in force', () => {
    const bench = new Bench();
    bench.act({ act: 'stop call', stopClass: 1, word: 'KNOCK IT OFF', reason: 'vibration', caller: '', alarm: '' });
    bench.step({
      kind: 'configuration',
      ground: groundTime(bench.ground),
      mission: { ...flight, baselineId: 'next' },
      files: [],
    });
    expect(bench.pipeline.room().calls).toMatchObject([{ number: 1, step: 'called', reason: 'vibration' }]);
  });

  it('lists what every stage has against a mission, and throws when such a one is put in force', () => {
    const faulty = mission({
      stream: '',
      parameters: [parameter('A', 'main', { calibration: { kind: 'table', counts: [1], values: [1] } })],
      limits: [levelLimit('x', 'NOPE', { above: { caution: 1 } })],
    });
    const codes = compilePipeline(faulty).map(({ code }) => code);
    expect(codes).toEqual(expect.arrayContaining(['bad-value', 'calibration-unusable', 'unknown-name']));
    expect(() => new Bench(faulty)).toThrow('mission cannot be put in force');
  });

  it('brings shelved alarms back when a test point is closed', () => {
    const band = { parameter: 'A', target: 150, below: 100, above: 100 };
    const words = { title: 'P', manoeuvre: 'm', recover: 'r', repeatRule: 'r', recordFrom: 'on condition' as const };
    const bands = { tolerance: [band], data: [band], mayBeOutside: 0, configuration: [], predicted: [] };
    const point = {
      id: 'P',
      card: 'c',
      ...words,
      ...bands,
      dwell: 0,
      hold: SECOND,
      dropout: 0,
      stops: [],
      required: ['A'],
    };
    const high = levelLimit('a-high', 'A', { above: { caution: 100 } });
    const bench = new Bench({ ...flight, limits: [high], cards: [{ id: 'c', title: 'C', points: [point] }] });
    const say = (act: 'begin point' | 'enter gate' | 'judge point', more: object) => {
      const none = { subject: '', number: 1, choice: '', text: '', value: 0, aircraft: 0 };
      return bench.act({ act, ...none, ...more }, 'conductor', 'test conductor').results;
    };
    for (let i = 0; i < 5; i++) bench.frame(150, { slow: i === 0 });
    bench.act({ act: 'shelve', alarm: 'a-high', reason: 'known', seconds: 0 });
    const shelved = () => bench.pipeline.room().alarms.find(({ definition }) => definition.id === 'a-high')?.state;
    expect(shelved()?.availability).toBe('shelved');
    expect(say('begin point', { subject: 'P' })).toMatchObject([{ accepted: true }]);
    expect(say('judge point', { choice: 'skip', text: 'weather' })).toMatchObject([{ accepted: true }]);
    expect(shelved()?.availability).toBe('shelved');
    bench.alarms.length = 0;
    expect(say('enter gate', { choice: 'closed' })).toMatchObject([{ accepted: true }]);
    expect(shelved()?.availability).toBe('in service');
    expect(bench.alarms).toMatchObject([{ event: 'in service', alarm: 'a-high', detail: 'the point is over' }]);
  });
});
