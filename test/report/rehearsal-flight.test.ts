/** Every number of the report of a rehearsal flight equals what plain code makes of the same samples. */
import { beforeAll, describe, expect, it } from 'vitest';
import type { ConductAct } from '../../protocol/conduct.ts';
import type { Action } from '../../protocol/entry.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { reportOf } from '../../station/report.ts';
import { slowMetrics } from '../reference/slow-alarm-metrics.ts';
import { type Act, flownEntries, recorded } from '../support/flown.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';
import {
  crossings,
  forceAt,
  type Looked,
  look,
  nearest,
  phaseId,
  type PlainFlight,
  readPlainly,
  runAt,
  sightOf,
  spells,
} from './plain.ts';

const signs = { above: 1, below: -1 };
const sides = ['above', 'below'] as const;

const mission = demonstrationMission();
const by = (position: string) => {
  const one = mission.people.find((person) => person.position === position);
  if (!one) throw new Error(`nobody is ${position}`);
  return { person: one.id, position };
};
const conduct = (act: ConductAct, more: object): Action =>
  ({ ...{ act, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 }, ...more }) as Action;
const acts: Act[] = [
  // a steady hover, from on condition to recover
  { at: 72, ...by('test conductor'), action: conduct('begin point', { subject: 'hover-steady' }) },
  { at: 80, ...by('test conductor'), action: conduct('enter gate', { number: 1, choice: 'on condition' }) },
  { at: 95, ...by('test conductor'), action: conduct('enter gate', { number: 1, choice: 'recover' }) },
  {
    at: 97,
    ...by('test conductor'),
    action: conduct('judge point', { number: 1, choice: 'repeat', text: 'to be flown again' }),
  },
  { at: 99, ...by('test conductor'), action: conduct('enter gate', { number: 1, choice: 'closed' }) },
  { at: 8, ...by('test conductor'), action: { act: 'name flight', number: '7', crew: 'A and B', note: '' } },
  {
    at: 40,
    ...by('rotor and loads'),
    action: {
      act: 'change limit',
      limit: 'nr-high',
      values: { above: { caution: 101 }, persistence: 1_000_000, hysteresis: 0.5 },
      reason: 'closer to what is expected',
      pilotInformed: true,
      offCondition: true,
    },
  },
  { at: 120, ...by('engine'), action: { act: 'mark', text: 'oil warm', aircraft: 0 } as Action },
  {
    at: 280,
    ...by('rotor and loads'),
    action: { act: 'stop call', stopClass: 1, word: 'KNOCK IT OFF', reason: 'rotor speed', caller: '', alarm: '' },
  },
];

let report: FlightReport;
let plain: PlainFlight;
beforeAll(() => {
  const entries = [...flownEntries(mission, scenarioFile('first-flight'), acts)];
  const recording = Recording.open(recorded(entries));
  report = reportOf(recording);
  recording.close();
  plain = readPlainly(entries, true);
}, 300_000);

const own = ['level', 'by phase'];

const looked = new Map<string, Looked[]>();
/** Every sample of a limit on one side; looked at once. */
function lookOnce(limit: Limit, side: 'above' | 'below'): Looked[] {
  const key = `${limit.id} ${side}`;
  const list = looked.get(key) ?? look(plain, limit, side);
  looked.set(key, list);
  return list;
}

describe('the report of the first rehearsal flight', () => {
  it('has the acts of the room, and a chain that is whole', () => {
    expect(report.flight).toMatchObject({ number: '7', crew: 'A and B' });
    expect(report.marks.map(({ text }) => text)).toEqual(['oil warm']);
    expect(report.calls).toHaveLength(1);
    expect(report.changes).toMatchObject([{ limit: 'nr-high', state: 'in force' }]);
    expect(report.chain).toMatchObject({ whole: true, closed: true });
    expect(report.chain.value).toMatch(/^[0-9a-f]{64}$/);
    expect(report.ids.match).toBe(true);
    expect(report.earlier).toEqual([]);
    const times = [...plain.columns.values()].flatMap(({ time }) => [time[0] as number, time.at(-1) as number]);
    expect(report.aircraft).toEqual({ from: Math.min(...times), to: Math.max(...times) });
    expect(report.ground).toEqual(plain.ground);
  });

  it('has the exceedances of all limits on a value of its own', () => {
    let found = 0;
    for (const limit of mission.limits.filter(({ kind }) => own.includes(kind))) {
      const column = plain.columns.get(limit.parameter);
      if (!column) throw new Error(`no samples of ${limit.parameter}`);
      for (const side of sides) {
        const told = report.exceedances.filter((one) => one.limit === limit.id && one.side === side);
        const { length } = told;
        const all = crossings(lookOnce(limit, side), signs[side], column.stale, column.period);
        const unlisted = report.unannounced.find((one) => one.limit === limit.id);
        expect(all).toHaveLength(length + (unlisted ? unlisted.crossings - unlisted.listed : 0));
        for (const one of told) {
          expect(all).toContainEqual({
            ...{ from: one.from, to: one.to, peak: one.peak, peakAt: one.peakAt, ...one.quality },
            levels: one.beyond.map(({ level }) => level),
            times: one.beyond.map(({ time }) => time),
            unsure: one.beyond.map(({ unsure }) => unsure),
          });
          expect(one.phase).toBe(phaseId(plain, one.peakAt));
        }
        found += length;
      }
    }
    expect(found).toBeGreaterThan(1);
  });

  it('has one announced exceedance for every alarm raised, of whatever kind', () => {
    const ids = new Set(mission.limits.map(({ id }) => id));
    const raised = plain.alarms.filter(({ event, alarm }) => event === 'raised' && ids.has(alarm));
    const told = report.exceedances.filter(({ alarm }) => alarm !== '');
    const named = (list: [string, number][]) => list.map(([id, t]) => `${id} ${t}`).sort();
    expect(named(told.map(({ limit, raised: at }) => [limit, at]))).toEqual(
      named(raised.map(({ alarm, aircraft }) => [alarm, aircraft])),
    );
    expect(told.length).toBeGreaterThan(1);
    for (const one of told) expect(one.beyond.length, one.limit).toBeGreaterThan(0);
  });

  it('has the margins of all limits on a value of its own, against the values in force at the time', () => {
    let compared = 0;
    for (const limit of mission.limits.filter(({ kind }) => own.includes(kind))) {
      const looks = { above: lookOnce(limit, 'above'), below: lookOnce(limit, 'below') };
      const range = mission.parameters.find(({ id }) => id === limit.parameter)?.physicalRange;
      for (const side of sides) {
        const expected = nearest(looks[side], looks[side === 'above' ? 'below' : 'above'], signs[side], range);
        const row = report.margins.find((one) => one.limit === limit.id && one.side === side);
        expect(row?.used ?? undefined, limit.id).toEqual(expected?.used);
        if (expected) expect([row?.extreme, row?.at], limit.id).toEqual([expected.extreme, expected.at]);
        if (expected) compared++;
      }
    }
    expect(compared).toBeGreaterThan(15);
    const changed = report.margins.find(({ limit }) => limit === 'nr-high');
    expect(changed?.limitValue).toBe(101);
  });

  it('tells of every limit on samples how long it was compared, and of none that it never was', () => {
    const { from, to } = report.aircraft;
    const wanted = mission.limits.filter(({ kind }) => kind !== 'logic');
    expect(report.sight.map(({ limit }) => limit)).toEqual(wanted.map(({ id }) => id));
    for (const one of report.sight) expect(one.seen + one.unseen + one.off, one.limit).toBe(to - from);
    for (const limit of wanted.filter(({ kind }) => own.includes(kind))) {
      const { limit: _, ...times } = report.sight.find((one) => one.limit === limit.id) ?? { limit: '' };
      expect(times, limit.id).toEqual(sightOf(plain, limit, from, to));
    }
    expect(report.sight.filter(({ seen, unseen }) => seen === 0 && unseen > 0)).toEqual([]);
  });

  it('misses nothing that a limit of another kind ever said it measures', () => {
    let equal = 0;
    for (const { limit: id, side, extreme } of report.margins) {
      const limit = mission.limits.find((one) => one.id === id);
      if (!limit || own.includes(limit.kind) || limit.kind === 'depends') continue;
      const column = plain.columns.get(limit.parameter);
      const said = plain.said.get(id) ?? [];
      if (!column) continue;
      const values = said.filter(({ t }) => forceAt(plain, limit, column, t) === 'yes').map(({ value }) => value);
      const sign = signs[side];
      const most = sign * Math.max(...values.map((value) => sign * value));
      // frames come fifty times a second: of slower samples none is missed between two entries
      if (column.period >= 20_000) {
        expect(extreme, id).toBe(most);
        equal++;
      } else expect(sign * extreme, id).toBeGreaterThanOrEqual(sign * most);
    }
    expect(equal).toBeGreaterThan(2);
  });

  it('has the maintenance candidates', () => {
    const expected = (mission.maintenance ?? []).flatMap((row) =>
      row.bands.flatMap(({ value, seconds, cumulative, action }) => {
        const all = spells(plain, row, value);
        const loud = all.filter(({ peak }) => peak !== undefined);
        const total = all.reduce((sum, one) => sum + one.seconds, 0);
        const times = cumulative ? (loud.length > 0 ? [total] : []) : loud.map((one) => one.seconds);
        return times.filter((time) => time >= seconds).map((time) => `${row.id} ${action} ${time.toFixed(6)}`);
      }),
    );
    const seen = report.maintenance.filter(({ peak }) => peak !== null);
    expect(seen.map(({ row, action, beyondS }) => `${row} ${action} ${beyondS.toFixed(6)}`)).toEqual(expected);
    // the flare of the autorotation runs past 107 % for more than a second
    expect(expected.some((one) => one.startsWith('rotor-overspeed'))).toBe(true);
  });

  it('has the point that was flown: its statistics, its margins, its plots', () => {
    const [run] = report.conduct.points;
    expect(run).toMatchObject({ point: 'hover-steady', gate: 'closed', judged: { judgement: 'repeat' } });
    if (!run) return;
    expect(run.recordTo - run.recordFrom).toBeGreaterThan(10_000_000);
    expect(run.statistics.length).toBeGreaterThan(3);
    for (const { parameter, n, mean, sd, min, max } of run.statistics) {
      const column = plain.columns.get(parameter);
      const values = (column?.value ?? []).filter((_, i) => {
        const t = column?.time[i] as number;
        return column?.usable[i] && t >= run.recordFrom && t <= run.recordTo;
      });
      const middle = values.reduce((sum, value) => sum + value, 0) / values.length;
      const spread = values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1);
      expect({ n, min, max }, parameter).toEqual({
        n: values.length,
        min: Math.min(...values),
        max: Math.max(...values),
      });
      expect(mean, parameter).toBeCloseTo(middle, 9);
      expect(sd, parameter).toBeCloseTo(Math.sqrt(spread), 9);
    }
    const within = (t: number) => runAt(plain, t).number === 1;
    const rows = report.pointMargins['1'] ?? [];
    let compared = 0;
    for (const limit of mission.limits.filter(({ kind }) => own.includes(kind))) {
      const looks = { above: lookOnce(limit, 'above'), below: lookOnce(limit, 'below') };
      const range = mission.parameters.find(({ id }) => id === limit.parameter)?.physicalRange;
      for (const side of sides) {
        const expected = nearest(looks[side], looks[side === 'above' ? 'below' : 'above'], signs[side], range, within);
        const row = rows.find((one) => one.limit === limit.id && one.side === side);
        expect([row?.used ?? undefined, expected && row?.at], limit.id).toEqual([expected?.used, expected?.at]);
        if (expected) compared++;
      }
    }
    expect(compared).toBeGreaterThan(8);
    const traces = report.pointTraces['1'] ?? [];
    expect(traces.map(({ parameter }) => parameter)).toEqual(expect.arrayContaining(['RADIO_HEIGHT', 'NR', 'TQ']));
    const height = traces.find(({ parameter }) => parameter === 'RADIO_HEIGHT');
    expect(height?.bands).toEqual([
      { kind: 'tolerance', low: 7, high: 13 },
      { kind: 'data', low: 6, high: 14 },
    ]);
    expect(height?.from).toBeGreaterThanOrEqual(run.gates[0]?.aircraft as number);
  });

  it('has the alarm metrics that are counted from the lines of the list', () => {
    const answered = report.calls.map(({ alarm }) => alarm).filter((id) => id !== '');
    const { from, to } = plain.ground;
    expect(report.alarms).toEqual(slowMetrics(mission, plain.alarms, plain.moments, [from, to], answered));
    expect(report.alarmLines).toHaveLength(plain.alarms.length);
  });

  it('has the states of every discrete, the phases, the link and the plots', () => {
    const { frames } = plain;
    expect(report.link.gapCount).toBe(frames.slice(1).filter((to, i) => to - (frames[i] as number) > 500_000).length);
    expect(report.link.frames).toBe(frames.length);
    expect(report.phases.map(({ id }) => id)).toContain('autorotation');
    for (const { from, id } of report.phases) expect(phaseId(plain, from)).toBe(id);
    expect(report.states.length).toBeGreaterThan(5);
    for (const { parameter, spans } of report.states) {
      const column = plain.columns.get(parameter);
      if (!column) throw new Error(`no samples of ${parameter}`);
      const seen = column.value.map((value, i) => (column.usable[i] ? value : Number.NaN));
      const starts = column.time.filter((_, i) => i === 0 || !Object.is(seen[i], seen[i - 1]));
      expect(spans.map(({ from }) => from)).toEqual(starts.slice(0, 400));
    }
    expect(report.traces.length).toBeGreaterThan(4);
    for (const { parameter, from, to, low, high } of report.traces) {
      const column = plain.columns.get(parameter);
      expect(low.length).toBeGreaterThanOrEqual(600);
      const width = (to - from) / low.length;
      const least = low.map(() => Number.POSITIVE_INFINITY);
      const most = low.map(() => Number.NEGATIVE_INFINITY);
      column?.time.forEach((t, i) => {
        if (!column.usable[i]) return;
        const k = Math.floor((t - from) / width);
        least[k] = Math.min(least[k] as number, column.value[i] as number);
        most[k] = Math.max(most[k] as number, column.value[i] as number);
      });
      expect(low).toEqual(least.map((value) => (Number.isFinite(value) ? value : null)));
      expect(high).toEqual(most.map((value) => (Number.isFinite(value) ? value : null)));
    }
  });

  it('is plain data, and the same each time', () => {
    expect(JSON.parse(JSON.stringify(report))).toEqual(report);
  });
});
