/**
 * Points against judges from outside: 20 approaches against the truth that the noise hides, 100 flights against the slow judge,
 * whatever the batches, and with the state taken through a snapshot anywhere.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PointRun } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';
import { slowJudge, slowOnCondition, slowStatistic } from '../reference/slow-point.ts';
import { approaches, channelsOf, type PointFlight, pointFlights, trulyOnCondition } from '../support/point-flights.ts';
import { callsOf, flyPoint, recordOf } from '../support/fly-point.ts';
import { at, cardMission, Room, secondsOf } from '../support/point-run.ts';

const SEED = 20261125;
describe('on condition', () => {
  it('is offered within 0.2 s of the truth in 20 approaches, and where the slow judge finds it to the sample', () => {
    const wrong: number[] = [];
    for (const approach of approaches(20, SEED)) {
      const { point, signals } = approach;
      const room = new Room(cardMission([point]), signals).until(1);
      expect(room.act('begin point', { subject: point.id })).toBe('');
      let first = Number.NaN;
      for (let s = 1.02; s < 35 && Number.isNaN(first); s += 0.02) {
        room.until(s, 20_000);
        if (room.run.offer === 'on condition') first = room.run.offered;
      }
      expect(first).toBe(slowOnCondition(point, channelsOf(signals), at(1), at(35)));
      wrong.push(secondsOf(first) - trulyOnCondition(approach, 1));
    }
    const worst = Math.max(...wrong.map(Math.abs));
    console.log(`on condition: ${wrong.length} approaches, at worst ${(worst * 1000).toFixed(0)} ms from the truth`);
    expect(wrong).toHaveLength(20);
    expect(worst).toBeLessThanOrEqual(0.2);
  });
});

describe('good or repeat', () => {
  it('agrees with the slow judge on 100 labelled points, and no bad one is passed as good', () => {
    const flights = pointFlights(100, SEED);
    let [agreed, good, passed, turned] = [0, 0, 0, 0];
    const kinds = new Map<string, number>();
    for (const flight of flights) {
      const label = slowJudge(flight.point, channelsOf(flight.signals), recordOf(flight), callsOf(flight));
      const { advice } = flyPoint(flight).run;
      expect(advice).toBeDefined();
      const isGood = advice?.judgement === 'good';
      if (isGood === label.good) agreed++;
      else if (isGood) passed++;
      else turned++;
      if (label.good) good++;
      for (const why of label.why) {
        const kind = why.split(' ')[0] as string;
        kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
      }
      // not only whether, but why
      expect([flight.what, advice?.reasons.length]).toEqual([flight.what, label.why.length]);
    }
    const why = [...kinds].map(([kind, n]) => `${kind} ${n}`).join(', ');
    console.log(
      `good or repeat: ${flights.length} points, ${good} good and ${flights.length - good} to repeat (${why}); ` +
        `${agreed} agree, ${passed} bad passed, ${turned} good turned away`,
    );
    expect(passed).toBe(0);
    expect(agreed).toBeGreaterThanOrEqual(98);
    // the labels are of both sorts, and of every sort of reason
    expect(good).toBeGreaterThan(25);
    expect(good).toBeLessThan(75);
    expect([...kinds.keys()].sort()).toEqual(['band', 'configuration', 'dropout', 'never', 'no', 'short', 'stop']);
  });

  it('stands on numbers that a textbook gives too', () => {
    for (const flight of pointFlights(40, SEED + 1)) {
      const record = recordOf(flight);
      if (!record) continue;
      const { run } = flyPoint(flight);
      const to = Math.min(record.to, ...callsOf(flight));
      expect([run.recordFrom, run.recordTo]).toEqual([record.from, to]);
      for (const told of run.statistics) {
        const channel = channelsOf(flight.signals)[told.parameter] as ReturnType<typeof channelsOf>[string];
        const band = flight.point.data.find(({ parameter }) => parameter === told.parameter);
        const slow = slowStatistic(channel, record.from, to, band);
        expect([told.n, told.dropout]).toEqual([slow.n, slow.dropout]);
        if (slow.n === 0)
          expect([told.mean, told.sd, told.min, told.max, told.slope, told.inBand]).toEqual(Array(6).fill(null));
        else {
          expect(told.mean).toBeCloseTo(slow.mean, 9);
          expect([told.min, told.max]).toEqual([slow.min, slow.max]);
          if (band) expect(told.inBand).toBeCloseTo(slow.inBand, 12);
        }
        if (slow.n > 2) {
          expect(told.sd).toBeCloseTo(slow.sd, 9);
          expect(told.slope).toBeCloseTo(slow.slope, 9);
        }
      }
    }
  });
});

describe('a run', () => {
  const flights = pointFlights(20, SEED + 2);
  const whole = flights.map((flight) => flyPoint(flight));

  it('is the same however samples are cut into batches, and with a snapshot anywhere in it', () => {
    fc.assert(
      fc.property(
        fc.nat(flights.length - 1),
        fc.constantFrom(10_000, 20_000, 70_000, 330_000, 2 * SECOND),
        fc.double({ min: 1, max: 28, noNaN: true }),
        (i, cut, restoreAt) => {
          expect(flyPoint(flights[i] as PointFlight, cut, restoreAt)).toEqual(whole[i]);
        },
      ),
      { seed: SEED, numRuns: 40 },
    );
  });

  it('is the same however long after it was said a gate is logged', () => {
    fc.assert(
      fc.property(fc.nat(flights.length - 1), fc.double({ min: 0.02, max: 9, noNaN: true }), (i, late) => {
        const { bands: _, configuration: __, gates: ___, ...same } = whole[i]?.run as PointRun;
        expect(flyPoint({ ...(flights[i] as PointFlight), late }).run).toMatchObject(same);
      }),
      { seed: SEED, numRuns: 40 },
    );
  });
});
