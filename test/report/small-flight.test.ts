/** Every number of a report equals what plain code makes of the same samples: over small flights made of chance. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import type { Exceedance, FlightReport } from '../../protocol/report.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { type Collected, Collector } from '../../station/report/collector.ts';
import { reportOf } from '../../station/report.ts';
import { recorded } from '../support/flown.ts';
import { crossings, look, nearest, phaseId, type PlainFlight, readPlainly, runAt, sightOf, spells } from './plain.ts';
import { type SmallFlight, smallEntries } from './small-flight.ts';

function both(small: SmallFlight): { report: FlightReport; plain: PlainFlight } {
  const entries = smallEntries(small);
  const recording = Recording.open(recorded(entries));
  try {
    return { report: reportOf(recording), plain: readPlainly(entries) };
  } finally {
    recording.close();
  }
}

/** What is gathered from a fold that gathers so much aircraft time into a batch. */
function collected(entries: Entry[], gather: number): Collected {
  const collector = new Collector();
  const fold = new Pipeline({ gather, listener: collector });
  for (const entry of entries) {
    collector.heard(fold.step(entry));
    if (entry.kind !== 'action') continue;
    const newest = fold.conduct()?.points.at(-1);
    if (newest === undefined || newest.gate === 'closed') collector.flies(0, '');
    else collector.flies(newest.number, newest.point);
  }
  collector.heard(fold.flush());
  return collector.read();
}

const small = fc.record({
  seed: fc.integer({ min: 1, max: 2 ** 30 }),
  frames: fc.integer({ min: 20, max: 400 }),
  lost: fc.constantFrom(0, 0.01, 0.05),
});
const runs = { seed: 2027, numRuns: 20 };

const sides = ['above', 'below'] as const;
const signs = { above: 1, below: -1 };
const rangeOf = ({ mission }: PlainFlight, id: string) =>
  mission.parameters.find((one) => one.id === id)?.physicalRange;

/** A crossing as plain numbers. */
const numbersOf = ({ from, to, peak, peakAt, beyond, quality }: Exceedance) => ({
  ...{ from, to, peak, peakAt },
  levels: beyond.map(({ level }) => level),
  times: beyond.map(({ time }) => time),
  unsure: beyond.map(({ unsure }) => unsure),
  ...quality,
});

describe('the report of a small flight', () => {
  it('has every crossing of every limit, with its peak, times, data quality, phase and point', () => {
    const seen = { crossings: 0, announced: 0, unsure: 0, inPoint: 0, changed: 0 };
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        for (const limit of plain.mission.limits) {
          const column = plain.columns.get(limit.parameter);
          for (const side of sides) {
            const own = report.exceedances.filter((one) => one.limit === limit.id && one.side === side);
            const expected = column
              ? crossings(look(plain, limit, side), signs[side], column.stale, column.period)
              : [];
            const quiet = own.filter(({ alarm }) => alarm === '').length;
            const all = report.unannounced.find((one) => one.limit === limit.id);
            if (all === undefined || all.crossings === all.listed) expect(own.map(numbersOf)).toEqual(expected);
            else {
              expect(expected).toEqual(expect.arrayContaining(own.map(numbersOf)));
              expect(quiet).toBeLessThanOrEqual(all.listed);
            }
            for (const one of own) {
              expect(one.phase).toBe(phaseId(plain, one.peakAt));
              expect({ number: one.run, point: one.point }).toMatchObject({ number: runAt(plain, one.peakAt).number });
              seen.crossings++;
              if (one.alarm !== '') seen.announced++;
              if (one.run > 0) seen.inPoint++;
              if (one.beyond.some(({ unsure }) => unsure > 0)) seen.unsure++;
            }
          }
        }
        if (report.changes.some(({ from }) => from > 0)) seen.changed++;
      }),
      runs,
    );
    for (const count of Object.values(seen)) expect(count).toBeGreaterThan(3);
  });

  it('agrees with the alarm list: every alarm raised is announced by one exceedance, with the same times', () => {
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        for (const { id } of plain.mission.limits) {
          const lines = plain.alarms.filter(({ alarm }) => alarm === id);
          const raised = lines.filter(({ event }) => event === 'raised').map(({ aircraft }) => aircraft as number);
          const own = report.exceedances.filter((one) => one.limit === id && one.alarm !== '');
          expect(own.map((one) => one.raised).sort((a, b) => a - b)).toEqual(raised.sort((a, b) => a - b));
          for (const one of own) {
            const cleared = lines.find(({ event, aircraft }) => event === 'cleared' && aircraft >= one.raised);
            expect(one.cleared).toBe(cleared?.aircraft ?? 0);
            expect(one.raised).toBeGreaterThanOrEqual(one.from);
            expect(one.raised).toBeLessThanOrEqual(one.to);
          }
        }
        expect(report.alarmLines.map(({ change, limit, aircraft }) => [change, limit, aircraft])).toEqual(
          plain.alarms.map(({ event, alarm, aircraft }) => [event, alarm, aircraft]),
        );
      }),
      { ...runs, seed: 2028 },
    );
  });

  it('has how long every limit was compared, was blind, and was not in force', () => {
    const sums = { seen: 0, unseen: 0, off: 0 };
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        const { from, to } = report.aircraft;
        const expected = plain.mission.limits.map((limit) => ({
          limit: limit.id,
          ...sightOf(plain, limit, from, to),
        }));
        expect(report.sight).toEqual(expected);
        for (const one of report.sight) {
          for (const kind of ['seen', 'unseen', 'off'] as const) sums[kind] += one[kind];
          expect(one.seen + one.unseen + one.off).toBe(to - from);
        }
      }),
      runs,
    );
    for (const sum of Object.values(sums)) expect(sum).toBeGreaterThan(1e6);
  });

  it('has the margin of every limit, of the flight and of every flying of a point', () => {
    let ofPoints = 0;
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        const books = [
          { rows: report.margins, within: () => true },
          ...Object.entries(report.pointMargins).map(([number, rows]) => ({
            rows,
            within: (t: number) => runAt(plain, t).number === Number(number),
          })),
        ];
        ofPoints += books.length - 1;
        for (const { rows, within } of books) {
          for (const limit of plain.mission.limits) {
            const looks = { above: look(plain, limit, 'above'), below: look(plain, limit, 'below') };
            for (const side of sides) {
              const other = side === 'above' ? looks.below : looks.above;
              const expected = nearest(looks[side], other, signs[side], rangeOf(plain, limit.parameter), within);
              const found = rows.find((row) => row.limit === limit.id && row.side === side);
              expect(found?.used ?? undefined).toEqual(expected?.used);
              if (found === undefined || expected === undefined) continue;
              expect({ extreme: found.extreme, at: found.at }).toEqual({ extreme: expected.extreme, at: expected.at });
              expect(found.phase).toBe(phaseId(plain, found.at));
            }
          }
          const shares = rows.map(({ used }) => used ?? Number.NEGATIVE_INFINITY);
          expect(shares).toEqual([...shares].sort((a, b) => b - a));
        }
      }),
      { ...runs, seed: 2029 },
    );
    expect(ofPoints).toBeGreaterThan(20);
  });

  it('has every maintenance candidate that the table asks for, and no other', () => {
    const seen = { candidates: 0, unsure: 0, unseen: 0, cumulative: 0 };
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        for (const row of plain.mission.maintenance ?? []) {
          const stale = (plain.columns.get(row.parameter)?.stale ?? 0) / 1e6;
          const unseen: [action: string, seconds: number][] = [];
          for (const { value, seconds, cumulative, action } of row.bands) {
            const all = spells(plain, row, value);
            const found = report.maintenance
              .filter((one) => one.row === row.id && one.action === action && one.peak !== null)
              .map(({ beyondS, unsureS, peak }) => [beyondS, unsureS, peak]);
            const loud = all.filter(({ peak }) => peak !== undefined);
            const total = all.reduce((sum, one) => sum + one.seconds, 0);
            const unsure = all.reduce((sum, one) => sum + one.unsure, 0);
            const farthest = (row.side === 'above' ? Math.max : Math.min)(...loud.map(({ peak }) => peak as number));
            const whole = loud.length > 0 && total >= seconds - 1e-9 ? [[total, unsure, farthest]] : [];
            const single = loud.filter((one) => one.seconds >= seconds - 1e-9);
            const expected = cumulative ? whole : single.map((one) => [one.seconds, one.unsure, one.peak]);
            expect(found.map((one) => one.map(near))).toEqual(expected.map((one) => one.map(near)));
            const quiet = all.filter(({ peak }) => peak === undefined).map((one) => one.seconds);
            const longest = cumulative ? (loud.length > 0 ? 0 : total) : Math.max(0, ...quiet);
            if (longest > 0 && longest >= Math.max(seconds, stale) - 1e-9)
              unseen.push([action, near(longest) as number]);
            seen.candidates += found.length;
            if (found.some(([, part]) => (part as number) > 0)) seen.unsure++;
            if (cumulative && found.length > 0) seen.cumulative++;
          }
          const notSeen = report.maintenance
            .filter((one) => one.row === row.id && one.peak === null)
            .map((one) => [one.action, near(one.beyondS)]);
          expect(notSeen).toEqual(unseen.slice(-1));
          seen.unseen += notSeen.length;
        }
      }),
      { ...runs, seed: 2030 },
    );
    for (const count of Object.values(seen)) expect(count).toBeGreaterThan(3);
  });

  it('does not depend on how samples are gathered', () => {
    fc.assert(
      fc.property(small, fc.constantFrom(0, 70_000, 333_000, 3_600_000_000), (flight, gather) => {
        const entries = smallEntries(flight);
        expect(collected(entries, gather)).toEqual(collected(entries, 1_000_000));
      }),
      { ...runs, seed: 2032 },
    );
  });

  it('has the phases, the gaps of the link, and the lowest and highest value of every column of its plots', () => {
    fc.assert(
      fc.property(small, (flight) => {
        const { report, plain } = both(flight);
        const phase = plain.columns.get('PHASE');
        const ids = (phase?.time ?? []).map((t) => phaseId(plain, t));
        const changes = ids.flatMap((id, i) => (i === 0 || id !== ids[i - 1] ? [{ id, from: phase?.time[i] }] : []));
        expect(report.phases.map(({ id, from }) => ({ id, from }))).toEqual(changes);
        const { frames } = plain;
        const gaps = frames.slice(1).flatMap((to, i) => {
          const from = frames[i] as number;
          return to - from > 500_000 ? [{ from, to }] : [];
        });
        expect(report.link.gaps).toEqual(gaps);
        expect(report.link.gapTime).toBe(gaps.reduce((sum, { from, to }) => sum + to - from, 0));
        const all = [...report.traces, ...Object.values(report.pointTraces).flat()];
        for (const { parameter, from, to, low, high } of all) {
          const width = (to - from) / low.length;
          const column = plain.columns.get(parameter);
          if (!column || low.length === 0) continue;
          const isFlight = report.traces.some((one) => one.from === from && one.parameter === parameter);
          low.forEach((least, k) => {
            const values = column.value.filter((_, i) => {
              const t = column.time[i] as number;
              return column.usable[i] && t >= from + k * width && t < from + (k + 1) * width;
            });
            // the plots of a point end in the middle of a column, with its closing
            if (!isFlight && k === low.length - 1) return;
            expect([least, high[k]]).toEqual(
              values.length > 0 ? [Math.min(...values), Math.max(...values)] : [null, null],
            );
          });
        }
      }),
      { ...runs, seed: 2031 },
    );
  });
});

/** Sums of seconds in another order differ in their last bits. */
const near = (value: unknown): unknown => (typeof value === 'number' ? Math.round(value * 1e7) / 1e7 : value);
