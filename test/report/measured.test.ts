/**
 * What a report says of limits on something else than the value itself: every crossing and margin equals what the slow
 * referees of the measures, which share no code with the station, make of the same samples.
 */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { KindName } from '../../protocol/limit-kinds.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Entry } from '../../protocol/entry.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { reportOf } from '../../station/report.ts';
import { type Said, slowPeak, slowRate, slowTimeAtLevel } from '../reference/slow-measures.ts';
import { recorded } from '../support/flown.ts';
import { limitOf } from '../support/limit-flight.ts';
import type { MeasureSample } from '../support/run-measure.ts';
import { frameBytes, frameEntry, group, mission, parameter } from '../support/tiny-mission.ts';
import { type Column, crossings, forceAt, type Looked, type PlainFlight, readPlainly } from './plain.ts';

const START = 1_795_600_000 * SECOND;
const FRAME = 20_000;
const WINDOW = 200_000;

const of = (id: string, kind: KindName, settings: object, more: Partial<Limit>): Limit =>
  limitOf(id, kind, 'A', { settings: settings as never, persistence: 0, hysteresis: 0, ...more });

const inBand = { over: 25, 'up to': 60, margin: 3 };
const limits: Limit[] = [
  of(
    'rate',
    'rate',
    { window: WINDOW },
    { above: { caution: 100, warning: 160 }, below: { caution: -120 }, hysteresis: 20 },
  ),
  of('peak', 'peak', { of: 'highest' }, { above: { caution: 30, warning: 60 }, hysteresis: 5, while: 'G' }),
  of('lowest', 'peak', { of: 'lowest' }, { below: { caution: -20 } }),
  of('each', 'time at level', { ...inBand, count: 'each time' }, { above: { caution: 0.1, warning: 0.3 }, while: 'G' }),
  of('all', 'time at level', { ...inBand, count: 'whole flight' }, { above: { caution: 0.5 } }),
  of('vne', 'depends', { on: 'V' }, { above: { caution: -5, warning: 0 }, hysteresis: 2, persistence: 40_000 }),
  of('around', 'level', {}, { above: { warning: 90 } }),
  of('card', 'card stop', { inside: 'around' }, { above: { stop: 55 }, hysteresis: 4, while: 'G' }),
].map((limit) => (limit.kind === 'level' ? { ...limit, settings: undefined as never } : limit));

const flown = mission({
  groups: [group('main', 100)],
  parameters: [
    parameter('A', 'main', { physicalRange: [-150, 150] }),
    parameter('V', 'main', { physicalRange: [0, 150] }),
    parameter('G', 'main', { calibration: { kind: 'states', states: { 0: 'off', 1: 'on' } } }),
  ],
  limits,
});

/** A wander with spikes, samples that are not physical, and lost frames. */
function entriesOf(seed: number, frames: number): Entry[] {
  let state = seed >>> 0 || 1;
  const chance = (): number => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state / 2 ** 32;
  };
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: flown, files: [] }];
  let [a, v, g, gone] = [20, 60, 1, 0];
  for (let n = 0; n < frames; n++) {
    const row = () => {
      a += (chance() - 0.5) * 14 + (25 - a) * 0.03;
      v = Math.min(100, Math.max(30, v + (chance() - 0.5) * 4));
      if (chance() < 0.02) g = 1 - g;
      const spike = chance() < 0.01 ? 60 : chance() < 0.01 ? -70 : chance() < 0.01 ? 400 : 0;
      return { A: Math.round(a + spike), V: chance() < 0.01 ? 300 : Math.round(v), G: g };
    };
    const time = START + n * FRAME;
    const rows = [row(), row()];
    if (gone === 0 && chance() < 0.02) gone = 1 + Math.floor(chance() * 50);
    if (gone > 0) gone--;
    else entries.push(frameEntry(time + 30_000, frameBytes(flown, n, time, [{ group: 'main', rows }])));
  }
  return entries;
}

function measured(limit: Limit, samples: MeasureSample[], column: Column): Said[] {
  const { settings = {} } = limit as { settings?: Record<string, unknown> };
  const timing = { staleAfter: column.stale, period: column.period };
  const band = { over: inBand.over, upTo: inBand['up to'], margin: inBand.margin };
  switch (limit.kind) {
    case 'rate':
      return slowRate(samples, WINDOW);
    case 'peak': {
      const highest = settings['of'] === 'highest';
      const first = highest
        ? Math.min(...Object.values(limit.above ?? {}))
        : Math.max(...Object.values(limit.below ?? {}));
      return slowPeak(samples, highest ? 'highest' : 'lowest', first);
    }
    case 'time at level': {
      const first = Math.min(...Object.values(limit.above ?? {}));
      return slowTimeAtLevel(samples, { ...band, ...timing, first, eachTime: settings['count'] === 'each time' });
    }
    default:
      return samples.map(({ inputs: [a, v] }) => {
        const known = a?.usable && (limit.kind !== 'depends' || v?.usable);
        const value = (a?.value ?? 0) - (limit.kind === 'depends' ? (v?.value ?? 0) : 0);
        return { value: known ? value : Number.NaN, detail: '' };
      });
  }
}

const SEVERITY = ['advisory', 'caution', 'warning', 'stop'] as const;
const codes = { yes: 2, no: 1, unknown: 4 };

/** Every sample of a limit on one side, by the referee. */
function lookAt(plain: PlainFlight, limit: Limit, side: 'above' | 'below'): Looked[] {
  const [column, other] = [plain.columns.get('A') as Column, plain.columns.get('V') as Column];
  const force = column.time.map((t) => forceAt(plain, limit, column, t));
  const samples = column.time.map((time, i): MeasureSample => {
    const input = (one: Column) => ({ value: one.value[i] as number, usable: one.usable[i] as boolean });
    return { time, inputs: [input(column), input(other)], gate: codes[force[i] as 'yes'] };
  });
  const sign = side === 'above' ? 1 : -1;
  const edges = SEVERITY.flatMap((level): [string, number][] => {
    const value = limit[side]?.[level];
    return value === undefined ? [] : [[level, sign * value]];
  });
  const first = Math.min(...edges.map(([, edge]) => edge));
  return measured(limit, samples, column).map(({ value }, i) => ({
    t: column.time[i] as number,
    x: sign * value,
    force: force[i] as 'yes',
    edges,
    first,
    clear: first - limit.hysteresis,
    phase: 0,
  }));
}

function both(seed: number, frames: number): { report: FlightReport; plain: PlainFlight } {
  const entries = entriesOf(seed, frames);
  const recording = Recording.open(recorded(entries));
  try {
    return { report: reportOf(recording), plain: readPlainly(entries) };
  } finally {
    recording.close();
  }
}

/** To ten figures: a slope is summed in another order. */
const near = (value: number | null | undefined): number => Number((value ?? Number.NaN).toPrecision(10));

it('has every crossing and the margin of limits on a rate, a peak, a time, another value, and of a card', () => {
  const seen = new Map<string, number>();
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 2 ** 30 }), fc.integer({ min: 60, max: 160 }), (seed, frames) => {
      const { report, plain } = both(seed, frames);
      const column = plain.columns.get('A') as Column;
      const other = plain.columns.get('V') as Column;
      for (const limit of limits) {
        const reference = (t: number): number =>
          limit.kind === 'depends' ? (other.value[column.time.indexOf(t)] as number) : 0;
        for (const side of ['above', 'below'] as const) {
          const sign = side === 'above' ? 1 : -1;
          const looked = limit[side] ? lookAt(plain, limit, side) : [];
          const expected = crossings(looked, sign, column.stale, column.period).map((one) => ({
            ...{ from: one.from, to: one.to, peakAt: one.peakAt, times: one.times, levels: one.levels },
            ...{ unsure: one.unsure, peak: near(one.peak + reference(one.peakAt)) },
          }));
          const own = report.exceedances.filter((one) => one.limit === limit.id && one.side === side);
          const all = report.unannounced.find((one) => one.limit === limit.id);
          const told = own.map(({ from, to, peak, peakAt, beyond }) => ({
            ...{ from, to, peakAt, times: beyond.map(({ time }) => time), levels: beyond.map(({ level }) => level) },
            ...{ unsure: beyond.map(({ unsure }) => unsure), peak: near(peak) },
          }));
          if (all === undefined || all.crossings === all.listed) expect(told, limit.id).toEqual(expected);
          else expect(expected, limit.id).toEqual(expect.arrayContaining(told));
          seen.set(limit.id, (seen.get(limit.id) ?? 0) + told.length);
          // the sample that came nearest
          const usable = looked.filter(({ x, force }) => force === 'yes' && !Number.isNaN(x));
          const most = Math.max(...usable.map(({ x }) => x));
          const margin = report.margins.find((one) => one.limit === limit.id && one.side === side);
          expect(margin !== undefined, limit.id).toBe(usable.length > 0);
          if (margin === undefined) continue;
          const at = margin.at;
          expect(near(sign * (margin.extreme - reference(at))), limit.id).toBe(near(most));
          expect(near(looked.find(({ t }) => t === at)?.x), limit.id).toBe(near(most));
        }
      }
    }),
    { seed: 2029, numRuns: 12 },
  );
  for (const { id } of limits) expect(seen.get(id), id).toBeGreaterThan(0);
}, 60_000);
