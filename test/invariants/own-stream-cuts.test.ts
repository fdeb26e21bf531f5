/**
 * A stream of another make is folded like ours: the same however messages are gathered and wherever the state is saved and
 * restored. Two inputs bring it, late, lost and damaged; its count begins again after 255, or there is none.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Entry, TICK } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { loadMission } from '../../station/mission/load.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { encodeMapped } from '../support/mapped-mission.ts';
import { ownFiles, ownStreamFolder } from '../support/own-stream.ts';
import { fold, type Told } from './fold.ts';

const FRAME = 20_000;
const START = 1_764_064_800_000_000;
const NORTH = 'udp://127.0.0.1:1';
const SOUTH = 'tcp://127.0.0.1:2';

function load(sequence: string, receivers: string): Mission {
  const { value, findings } = loadMission(
    ownStreamFolder({
      'stream.yaml': ownFiles['stream.yaml'].replace('sequence: {field: count}\n', sequence),
      'mission.yaml': ownFiles['mission.yaml'].replace('receivers: []', receivers),
    }),
  );
  if (!value) throw new Error(JSON.stringify(findings));
  return value.mission;
}

const north = `{name: North, input: "${NORTH}"}`;
const counted = load(
  'sequence: {field: count, wraps after: 255}\n',
  `receivers: [${north}, {name: South, input: "${SOUTH}"}]`,
);
const uncounted = load('', `receivers: [${north}]`);

const period = fc.record({
  north: fc.boolean(),
  south: fc.boolean(),
  delay: fc.nat(35_000),
  nr: fc.option(fc.double({ min: 80, max: 140, noNaN: true }), { nil: undefined, freq: 8 }),
  engines: fc.array(fc.record({ torque: fc.integer({ min: -50, max: 250 }), mode: fc.constantFrom(0, 1, 5, 9) }), {
    maxLength: 2,
  }),
  fuel: fc.option(fc.nat(2000), { nil: undefined }),
  ias: fc.option(fc.nat(120), { nil: undefined }),
  bursts: fc.array(fc.record({ gap: fc.nat(3000), lateral: fc.integer({ min: -9000, max: 9000 }) }), { maxLength: 12 }),
  gear: fc.option(fc.constantFrom(1, 2), { nil: undefined }),
  damage: fc.nat(30),
  step: fc.oneof(
    { weight: 60, arbitrary: fc.constant(0) },
    { weight: 1, arbitrary: fc.constantFrom(-2_000_000, 15_000_000) },
  ),
});
type Period = typeof period extends fc.Arbitrary<infer P> ? P : never;

const flights = fc.tuple(fc.array(period, { minLength: 20, maxLength: 120 }), fc.nat(255));

function message(of: Mission, p: Period, count: number, time: number): Uint8Array {
  let after = 0;
  const burst = p.bursts.map(({ gap, lateral }, i) => {
    after += gap;
    return { after_us: after, lateral, ...(i % 3 === 0 && { strain: lateral / 7 }) };
  });
  const bytes = encodeMapped(of, {
    tail: p.damage === 1 ? 'HM-4' : 'HM-3',
    count: count % 256,
    at: { seconds: Math.floor(time / 1e6), nanos: (time % 1e6) * 1000 },
    ...(p.nr !== undefined && { rotor: { nr: p.nr } }),
    engines: p.engines,
    tanks: p.fuel === undefined ? {} : { 'aft main': p.fuel },
    ...(p.ias === undefined ? { fault: 'iced' } : { probe: { ias: p.ias } }),
    burst,
    ...(p.gear !== undefined && { gear: p.gear }),
    build: { software: 'BUS-2', configuration: 'HM3-A' },
    discretes: 0x80000000,
  });
  return p.damage === 2 ? bytes.slice(0, -3) : bytes;
}

function entriesOf(of: Mission, periods: readonly Period[], first: number): Entry[] {
  const timed: { at: number; input: string; bytes: Uint8Array }[] = [];
  let clock = START;
  periods.forEach((p, n) => {
    clock += FRAME + p.step;
    const at = START + n * FRAME;
    const bytes = message(of, p, first + n, clock);
    if (p.north) timed.push({ at, input: NORTH, bytes });
    if (p.south && of === counted) timed.push({ at: at + p.delay, input: SOUTH, bytes });
  });
  timed.sort((a, b) => a.at - b.at);
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: of, files: [] }];
  let ground = START;
  for (const { at, input, bytes } of timed) {
    for (; ground + TICK < at; ground += TICK) entries.push({ kind: 'tick', ground: groundTime(ground + TICK) });
    ground = Math.max(ground, at);
    entries.push({ kind: 'frame', ground: groundTime(ground), input, bytes });
  }
  for (let i = 1; i <= 60; i++) entries.push({ kind: 'tick', ground: groundTime(ground + i * TICK) });
  return entries;
}

/** As it would come back out of a recording: the mission with its mapping as JSON. */
const reread = (entries: Entry[]): Entry[] =>
  entries.map((entry) => (entry.kind === 'configuration' ? (JSON.parse(JSON.stringify(entry)) as Entry) : entry));

describe.each([
  ['counted, from two inputs', counted],
  ['without a count', uncounted],
])('a stream of another make, %s', (_, of) => {
  it('tells the same for any gathering, from the mission as a recording keeps it', () => {
    let samples = 0;
    fc.assert(
      fc.property(flights, ([periods, first]) => {
        const entries = entriesOf(of, periods, first);
        const live = fold(entries, 0);
        samples += live.samples.flat().length;
        for (const gather of [50_000, 1e12]) expect(fold(reread(entries), gather)).toEqual(live);
      }),
      { seed: 51, numRuns: 25 },
    );
    expect(samples).toBeGreaterThan(2000);
  });

  it('tells the same after being saved and restored at any moments', () => {
    const moments = fc.array(fc.nat(400), { minLength: 1, maxLength: 6 });
    fc.assert(
      fc.property(flights, moments, fc.constantFrom(0, 200_000), ([periods, first], at, gather) => {
        const entries = entriesOf(of, periods, first);
        expect(fold(entries, gather, new Set(at.map((n) => n % entries.length)))).toEqual(fold(entries, gather));
      }),
      { seed: 52, numRuns: 25 },
    );
  });
});

describe('what a stream of another make is told to be', () => {
  const steady = (n: number, more: Partial<Period> = {}): Period[] =>
    Array.from({ length: n }, () => ({
      ...{
        north: true,
        south: true,
        delay: 5_000,
        nr: 100,
        engines: [
          { torque: 1, mode: 0 },
          { torque: 160, mode: 5 },
        ],
      },
      ...{ fuel: 812, ias: 60, bursts: [{ gap: 7, lateral: 1500 }], gear: 2, damage: 0, step: 0, ...more },
    }));
  const room = (told: Told) => told.room as ReturnType<Pipeline['room']>;

  it('is one stream over many turns of its count, each message once', () => {
    const told = fold(entriesOf(counted, steady(1200), 250), 0);
    expect(room(told).stream).toMatchObject({ frames: 1200, lost: 0, duplicates: 1200, late: 0, idsMatch: true });
    expect(room(told).receivers).toMatchObject([
      { name: 'North', frames: 1200, missed: 0, chosen: 1200 },
      { name: 'South', frames: 1200, missed: 0, chosen: 0 },
    ]);
  });

  it('counts what is missing at the turn of its count, and waits for the other input to bring it', () => {
    const periods = steady(20);
    for (const lacking of [6, 7]) (periods[lacking] as Period).north = false;
    (periods[7] as Period).south = false;
    const told = fold(entriesOf(counted, periods, 250), 0);
    expect(room(told).stream).toMatchObject({ frames: 19, lost: 1, late: 0 });
  });

  it('invents neither gaps nor doubles where there is no count', () => {
    const periods = steady(30);
    for (const lacking of [6, 7, 20]) (periods[lacking] as Period).north = false;
    const told = fold(entriesOf(uncounted, periods, 0), 0);
    expect(room(told).stream).toMatchObject({ frames: 27, lost: 0, duplicates: 0, late: 0 });
    expect(room(told).receivers[0]).toMatchObject({ frames: 27, missed: 0 });
  });

  it('marks every value as unchecked, what is derived from it too', () => {
    const pipeline = new Pipeline({ gather: 0 });
    for (const entry of entriesOf(counted, steady(5), 0).slice(0, -60)) pipeline.step(entry);
    const { validity, value } = pipeline.latest;
    expect([...validity]).toEqual(Array<number>(validity.length).fill(Validity.unchecked));
    const at = counted.parameters.findIndex(({ id }) => id === 'TORQUE_2');
    expect([value[0], value[at], value[counted.parameters.length]]).toEqual([100, 80, 5]);
  });
});
