/** A stop criterion that was met in the record, or could not be told in it, speaks against the point; through the whole fold. */
import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ConductView, PointRun } from '../../protocol/conduct.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { chance } from '../support/checked-channels.ts';
import { action, BEGIN, band, pointOf } from '../support/point-run.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

const FRAME = 20_000;
const DELAY = 40_000;
/** Counts beyond this are outside the physical range: the sample is not usable. */
const RANGE = 500;

const missionOf = (more: Partial<Mission> = {}, dropout = 0): Mission =>
  mission({
    groups: [group('control', 100), group('air', 50)],
    parameters: [parameter('IAS', 'control', { unit: 'kt' }), parameter('ALT', 'air', { physicalRange: [0, RANGE] })],
    limits: [
      levelLimit('other', 'IAS', { above: { stop: 10 } }),
      // met from its warning on, as the room is prompted
      levelLimit('high', 'ALT', { above: { caution: 120, warning: 150, stop: 200 }, persistence: 40_000 }),
      levelLimit('low', 'ALT', { below: { warning: 50 } }),
    ],
    cards: [
      {
        id: 'c',
        title: 'C',
        points: [
          pointOf({
            ...{ id: 'p', configuration: [], tolerance: [], predicted: [], required: ['IAS'], stops: ['high', 'low'] },
            ...{ data: [band('IAS', 80, 3)], dwell: 0, hold: 2 * SECOND, dropout },
          }),
        ],
      },
    ],
    ...more,
  });

/** Said at these seconds: on condition, recover, and when the first was logged. */
const said = { on: 2, recover: 5, loggedOn: 2.5, loggedRecover: 5.5 };

/** A flight of seven seconds in which ALT is what `alt` says; frames are lost where `isLost`. */
function flightLog(of: Mission, alt: (s: number) => number, isLost: (s: number) => boolean = () => false): Entry[] {
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(BEGIN), mission: of, files: [] }];
  const acts: [number, Action][] = [
    [0.5, action('begin point', { subject: 'p' })],
    [said.loggedOn, action('enter gate', { number: 1, choice: 'on condition', aircraft: BEGIN + said.on * SECOND })],
    [
      said.loggedRecover,
      action('enter gate', { number: 1, choice: 'recover', aircraft: BEGIN + said.recover * SECOND }),
    ],
  ];
  for (let i = 0; i < 350; i++) {
    const time = BEGIN + i * FRAME;
    const ground = time + FRAME + DELAY;
    for (let next = acts[0]; next && next[0] * SECOND + BEGIN < ground; next = acts[0]) {
      acts.shift();
      const by = { person: 'conductor', position: 'test conductor', request: entries.length };
      entries.push({ kind: 'action', ground: groundTime(ground), ...by, action: next[1] });
    }
    const s = (i * FRAME) / SECOND;
    if (isLost(s)) continue;
    const groups = [
      { group: 'control', rows: [{ IAS: 80 }, { IAS: 80 }] },
      { group: 'air', rows: [{ ALT: Math.round(alt(s)) }] },
    ];
    entries.push(frameEntry(ground, frameBytes(of, i, time, groups)));
  }
  return entries;
}

function folded(entries: Entry[], gather: number, restoreAt = -1): ConductView {
  let pipeline = new Pipeline({ gather });
  for (const [n, one] of entries.entries()) {
    for (const { reason } of pipeline.step(one).results) expect(reason).toBe('');
    if (n !== restoreAt) continue;
    pipeline.flush();
    const saved = deserialize(serialize(pipeline.save()));
    pipeline = new Pipeline({ gather });
    pipeline.step(entries[0] as Entry);
    pipeline.restore(saved);
  }
  pipeline.flush();
  const view = pipeline.conduct() as ConductView;
  expect(view.faults).toEqual([]);
  return structuredClone(view);
}

const adviceOn = (alt: (s: number) => number, dropout = 0, lost?: (s: number) => boolean) => {
  const [run] = folded(flightLog(missionOf({}, dropout), alt, lost), 0).points;
  return (run as PointRun).advice;
};
const between =
  (from: number, to: number, then: number, else_ = 100) =>
  (s: number) =>
    s >= from - 1e-9 && s < to - 1e-9 ? then : else_;

describe('a stop criterion of the point', () => {
  it('that was met in the record speaks against it, whatever its bands say', () => {
    expect(adviceOn(() => 100)).toEqual({ judgement: 'good', reasons: [] });
    // beyond for 0.2 s, of which the first two samples are its persistence
    expect(adviceOn(between(3, 3.2, 210))).toEqual({
      judgement: 'repeat',
      reasons: ['stop criterion high was met: stop for 0.16 s of the record'],
    });
    // the highest level is named; one that has no stop level is met at its warning, and so is one that has
    expect(adviceOn(between(3, 3.5, 40))?.reasons).toEqual([
      'stop criterion low was met: warning for 0.5 s of the record',
    ]);
    expect(adviceOn(between(3, 3.5, 160))?.reasons).toEqual([
      'stop criterion high was met: warning for 0.46 s of the record',
    ]);
  });

  it('does not where it was at caution only, or was met before the record or after it', () => {
    for (const alt of [between(3, 4, 130), between(1, 1.9, 210), between(5.1, 6, 210), between(3, 3.02, 210)])
      expect(adviceOn(alt)).toEqual({ judgement: 'good', reasons: [] });
  });

  it('counts from the instants that were said, not from those that were logged', () => {
    // between said and logged: at the beginning it is in the record, at the end it is not
    expect(adviceOn(between(2.1, 2.3, 210))?.reasons).toHaveLength(1);
    expect(adviceOn(between(1, 2.2, 210))?.reasons).toEqual([
      'stop criterion high was met: stop for 0.2 s of the record',
    ]);
    expect(adviceOn(between(5.06, 5.3, 210))?.reasons).toEqual([]);
  });

  it('that cannot be told for longer than may be missing speaks against it', () => {
    const blind = between(3, 3.3, RANGE + 1);
    expect(adviceOn(blind)?.reasons).toEqual([
      'stop criterion high could not be told for 300 ms of the record; 0 ms may be missing',
      'stop criterion low could not be told for 300 ms of the record; 0 ms may be missing',
    ]);
    expect(adviceOn(blind, 300_000)?.reasons).toEqual([]);
    // of the whole flight
    expect(adviceOn(() => RANGE + 1)?.reasons).toHaveLength(2);
  });

  it('that is met, or cannot be told, keeps the point from being offered as on condition', () => {
    const at = (alt: (s: number) => number) => {
      const log = flightLog(missionOf(), alt).filter(({ ground }) => ground < BEGIN + 1.9 * SECOND);
      const { offer, offered } = folded(log, 0).points[0] as PointRun;
      return [offer, offered === 0 ? 0 : (offered - BEGIN) / SECOND];
    };
    expect(at(() => 100)[0]).toBe('on condition');
    expect(at(between(1, 3, 210))).toEqual(['', 0]);
    expect(at(between(1, 3, RANGE + 1))).toEqual(['', 0]);
    expect(at(between(1, 1.5, 210))).toEqual(['on condition', 1.5]);
  });

  it('keeps the point from being offered as complete', () => {
    const at = (alt: (s: number) => number) => {
      const log = flightLog(missionOf(), alt).filter(({ ground }) => ground < BEGIN + 4.9 * SECOND);
      return folded(log, 0).points[0]?.offer;
    };
    expect(at(() => 100)).toBe('complete');
    expect(at(between(3, 3.2, 210))).toBe('');
    expect(at(between(3, 3.2, RANGE + 1))).toBe('');
  });

  it('cannot be told across a change of the mission until its limit has said something again', () => {
    const entries = flightLog(missionOf({}, 100_000), () => 100);
    const other = missionOf({ baselineId: 'another' }, 100_000);
    const at = entries.findIndex(({ ground }) => ground > BEGIN + 3.5 * SECOND);
    const swapped = (after: number) => [
      ...entries.slice(0, at),
      { kind: 'configuration', ground: groundTime(BEGIN + 3.5 * SECOND), mission: other, files: [] } as Entry,
      ...entries.slice(at + after),
    ];
    expect(folded(swapped(0), 0).points[0]?.advice?.reasons).toEqual([]);
    expect(folded(swapped(12), 0).points[0]?.advice?.reasons.join()).toContain('stop criterion high could not be told');
  });

  it('is told the same however frames are gathered and wherever the state was restored, and as plain code tells it', () => {
    let met = 0;
    let clean = 0;
    fc.assert(
      fc.property(
        fc.nat(10_000),
        fc.constantFrom(30_000, 100_000, 700_000),
        fc.integer({ min: 1, max: 340 }),
        (seed, gather, restoreAt) => {
          const { uniform } = chance(seed);
          const spans = Array.from({ length: 3 }, () => {
            const from = 1 + 5 * uniform();
            return {
              from,
              to: from + (uniform() < 0.5 ? 0.05 : 0.4),
              alt: [210, 160, 130, 40, RANGE + 9][Math.floor(5 * uniform())],
            };
          });
          const alt = (s: number) => spans.find(({ from, to }) => s >= from && s < to)?.alt ?? 100;
          const entries = flightLog(missionOf(), alt);
          const whole = folded(entries, 0);
          expect(folded(entries, gather, restoreAt)).toEqual(whole);
          // sample by sample, 0.02 s apart: low is met at once, high from the third sample beyond it on
          const values = Array.from({ length: 251 }, (_, i) => Math.round(alt(i / 50)));
          const record = values.slice(100);
          const reasons = whole.points[0]?.advice?.reasons ?? [];
          const says = (what: string) => reasons.some((reason) => reason.startsWith(`stop criterion ${what}`));
          expect(says('low was met')).toBe(record.some((value) => value < 50));
          // the last one has no time in the record
          expect(says('low could not')).toBe(record.slice(0, -1).some((value) => value > RANGE));
          const isThird = (i: number) => [i, i - 1, i - 2].every((k) => (values[k] as number) > 150);
          // whether a timer goes on across what is not usable is the limit's own matter
          if (values.every((value) => value <= RANGE))
            expect(says('high was met')).toBe(record.some((_, i) => isThird(i + 100)));
          if (reasons.length === 0) clean++;
          else met++;
        },
      ),
      { seed: 251126, numRuns: 40 },
    );
    expect([met > 5, clean > 2]).toEqual([true, true]);
  });
});
