/** Reports of flights made by hand, whose numbers a person can work out on paper. */
import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import type { Action, Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { reportHtml } from '../../replay/report/html.ts';
import { reportOf } from '../../station/report.ts';
import { recorded } from '../support/flown.ts';
import { derived, frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

const START = 1_795_600_000 * SECOND;
/** ten samples a second, one to a frame */
const STEP = 100_000;
const at = (sample: number): number => START + sample * STEP;

interface Made {
  /** value of each sample; undefined = its frame is lost */
  values: (number | undefined)[];
  /** acts after a sample */
  acts?: { after: number; person: string; position: string; action: Action }[];
  more?: Partial<Mission>;
}

function reported({ values, acts = [], more = {} }: Made): FlightReport {
  const of = mission({
    groups: [group('main', 10)],
    parameters: [parameter('A', 'main', { unit: 'bar', physicalRange: [-500, 500] })],
    ...more,
  });
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: of, files: [] }];
  values.forEach((A, n) => {
    if (A !== undefined)
      entries.push(frameEntry(at(n) + 10_000, frameBytes(of, n, at(n), [{ group: 'main', rows: [{ A }] }])));
    for (const { after, person, position, action } of acts) {
      if (after !== n) continue;
      entries.push({ kind: 'action', ground: groundTime(at(n) + 50_000), person, position, request: n + 1, action });
    }
  });
  const recording = Recording.open(recorded(entries));
  const report = reportOf(recording);
  recording.close();
  return report;
}

const limits = [levelLimit('high', 'A', { above: { caution: 50, warning: 80 }, persistence: 200_000, hysteresis: 5 })];

it('a spike of one sample is a crossing with its exact peak, and no alarm', () => {
  const { exceedances, unannounced, alarmLines } = reported({ values: [10, 10, 99, 10, 10], more: { limits } });
  expect(alarmLines).toEqual([]);
  expect(exceedances).toMatchObject([
    {
      ...{ limit: 'high', alarm: '', raised: 0, from: at(2), to: at(2), peak: 99, peakAt: at(2), level: 'warning' },
      beyond: [
        { level: 'caution', value: 50, time: STEP, unsure: 0 },
        { level: 'warning', value: 80, time: STEP, unsure: 0 },
      ],
      quality: { samples: 1, unusable: 0, longestGap: 0 },
    },
  ]);
  expect(unannounced).toEqual([{ limit: 'high', crossings: 1, listed: 1 }]);
});

it('what comes back by less than the hysteresis is still the same exceedance, and is not time beyond', () => {
  const values = [10, 60, 60, 60, 48, 70, 46, 44, 10];
  const { exceedances } = reported({ values, more: { limits } });
  expect(exceedances).toMatchObject([
    {
      ...{ alarm: 'caution', raised: at(3), cleared: at(7), from: at(1), to: at(5), peak: 70, peakAt: at(5) },
      beyond: [{ level: 'caution', value: 50, time: 4 * STEP, unsure: 0 }],
      quality: { samples: 5, longestGap: STEP },
    },
  ]);
});

it('a gap inside counts as time beyond, and is marked', () => {
  const gap = Array.from({ length: 9 }, () => undefined);
  const { exceedances, link } = reported({ values: [10, 60, 60, 60, ...gap, 60, 10], more: { limits } });
  // from sample 1 to sample 14 is 1.3 s; of the second between samples 3 and 13 sample 3 speaks for one tenth
  expect(exceedances).toMatchObject([
    {
      beyond: [{ time: 13 * STEP, unsure: 9 * STEP }],
      quality: { samples: 4, unusable: 0, longestGap: 10 * STEP },
    },
  ]);
  expect(link).toMatchObject({ gaps: [{ from: at(3), to: at(13) }], gapCount: 1, gapTime: SECOND });
});

it('a sample that is not physical is neither a peak nor a margin', () => {
  const { exceedances, margins } = reported({ values: [10, 600, 40, 10], more: { limits } });
  expect(exceedances).toEqual([]);
  expect(margins).toMatchObject([{ used: 0.8, extreme: 40, at: at(2), limitValue: 50 }]);
  expect(margins[0]?.levels.map(({ used }) => used)).toEqual([0.8, 0.5]);
});

it('a margin counts from 0, from the middle of two sides, or from the end of the range, and else has no share', () => {
  const two = levelLimit('two', 'A', { above: { caution: 60 }, below: { caution: -20 } });
  const low = levelLimit('low', 'A', { below: { caution: 10 } });
  const { margins } = reported({ values: [20, 30, 40], more: { limits: [...limits, two, low] } });
  const share = (limit: string, side: string) => margins.find((one) => one.limit === limit && one.side === side)?.used;
  expect(share('high', 'above')).toBe(40 / 50);
  expect(share('two', 'above')).toBe((40 - 20) / (60 - 20));
  expect(share('two', 'below')).toBe(0);
  expect(share('low', 'below')).toBe((20 - 500) / (10 - 500));
  const unbounded = { parameters: [parameter('A', 'main')], limits: [low] };
  expect(reported({ values: [20], more: unbounded }).margins).toMatchObject([{ datum: null, used: null, extreme: 20 }]);
});

it('a margin is against the value that was in force, not the one of now', () => {
  const values = { above: { caution: 25, warning: 80 }, persistence: 200_000, hysteresis: 5 };
  const said = { reason: 'tighter', pilotInformed: true, offCondition: true };
  const { margins, changes } = reported({
    values: [20, 24, 10, 10, 10, 20, 10],
    acts: [
      {
        after: 2,
        person: 'engineer',
        position: 'engine',
        action: { act: 'change limit', limit: 'high', values, ...said },
      },
    ],
    more: { limits },
  });
  expect(changes).toMatchObject([{ state: 'in force', from: at(2) }]);
  // 24 of 50 before, 20 of 25 after
  expect(margins).toMatchObject([{ used: 0.8, extreme: 20, at: at(5), limitValue: 25 }]);
});

it('a limit that is not in force has neither a margin nor an exceedance', () => {
  const { margins, exceedances } = reported({
    values: [10, 90, 90, 90, 90],
    more: {
      limits: [levelLimit('gated', 'A', { above: { caution: 50 }, while: 'B' })],
      parameters: [parameter('A', 'main', { unit: 'bar' }), parameter('B', 'main')],
    },
  });
  expect({ margins, exceedances }).toEqual({ margins: [], exceedances: [] });
});

const row = (bands: [value: number, seconds: number, cumulative: boolean][]) => ({
  maintenance: [
    {
      ...{ id: 'hot', text: 'Hot', parameter: 'A', side: 'above' as const, source: 'table 1' },
      bands: bands.map(([value, seconds, cumulative], i) => ({
        value,
        seconds,
        cumulative,
        action: `action ${i + 1}`,
      })),
    },
  ],
});

it('maintenance: each band by its own value and time, in one go or over the flight', () => {
  const values = [10, 60, 60, 10, 60, 60, 60, 90, 10];
  const { maintenance } = reported({
    values,
    more: row([
      [50, 0.6, true],
      [50, 0.3, false],
      [50, 0.5, false],
      [80, 0, false],
    ]),
  });
  expect(
    maintenance.map(({ action, beyondS, unsureS, peak, from, to }) => [action, beyondS, unsureS, peak, from, to]),
  ).toEqual([
    ['action 1', 0.6, 0, 90, at(1), at(7)],
    ['action 2', 0.4, 0, 90, at(4), at(7)],
    ['action 4', 0.1, 0, 90, at(7), at(7)],
  ]);
});

it('maintenance: what could have been beyond in a gap is one candidate, of the most severe band, and all of it unsure', () => {
  const gap = Array.from({ length: 19 }, () => undefined);
  const { maintenance } = reported({
    values: [10, 10, ...gap, 10, 10],
    more: row([
      [50, 0.5, false],
      [50, 1.5, false],
      [80, 3, false],
    ]),
  });
  expect(maintenance).toMatchObject([{ action: 'action 2', peak: null, beyondS: 1.9, unsureS: 1.9 }]);
  // one lost sample is no gap
  const short = reported({ values: [10, 10, undefined, 10], more: row([[50, 0, false]]) });
  expect(short.maintenance).toEqual([]);
});

it('a mission put in force later begins the report anew, and the one before is named', () => {
  const first = mission({ baselineId: 'first', groups: [group('main', 10)], limits });
  const second = { ...first, baselineId: 'second' };
  const frame = (n: number, A: number) =>
    frameEntry(at(n), frameBytes(first, n, at(n), [{ group: 'main', rows: [{ A }] }]));
  const entries: Entry[] = [
    { kind: 'configuration', ground: groundTime(at(0)), mission: first, files: [] },
    frame(1, 90),
    { kind: 'configuration', ground: groundTime(at(2)), mission: second, files: [] },
    frame(3, 20),
  ];
  const recording = Recording.open(recorded(entries));
  const report = reportOf(recording);
  recording.close();
  expect(report.earlier).toEqual([{ baselineId: 'first', from: at(0), to: at(2) }]);
  expect(report.mission.baselineId).toBe('second');
  expect(report.margins).toMatchObject([{ extreme: 20 }]);
});

it('a limit whose sensor was dead, or that never was in force, is told from one that was compared', () => {
  const dead = 900;
  const gap = Array.from({ length: 7 }, () => undefined);
  const { sight, exceedances } = reported({
    values: [10, 10, dead, dead, ...gap, 10, 10],
    more: {
      limits: [...limits, levelLimit('gated', 'A', { above: { caution: 50 }, while: 'OFF' })],
      parameters: [parameter('A', 'main', { physicalRange: [-500, 500] })],
      derived: [derived('OFF', 'A', 'A > 400')],
    },
  });
  // samples 0, 1 and 11 speak for 0.1 s each; 2 and 3 are not physical, and what follows 3 is a gap
  expect(exceedances).toEqual([]);
  expect(sight).toEqual([
    { limit: 'high', seen: 3 * STEP, unseen: 9 * STEP, off: 0 },
    { limit: 'gated', seen: 0, unseen: 9 * STEP, off: 3 * STEP },
  ]);
  const all = reported({ values: [dead, dead, dead, dead], more: { limits } });
  expect(all.exceedances).toEqual([]);
  expect(all.sight).toEqual([{ limit: 'high', seen: 0, unseen: 3 * STEP, off: 0 }]);
  const page = reportHtml(all);
  expect(page).toContain('<td>limits that saw nothing</td><td><b>1</b></td>');
});

it('thousands of alarms of one limit are counted, the farthest listed, and that without taking ever longer', () => {
  const times = 6000;
  const values = Array.from({ length: 2 * times }, (_, n) => (n % 2 === 0 ? 10 : 60 + (n === 4001 ? 30 : 0)));
  const chatter = [levelLimit('high', 'A', { above: { caution: 50, warning: 80 } })];
  const { exceedances, announcedMore, alarmLines } = reported({ values, more: { limits: chatter } });
  expect(alarmLines.filter((one) => one.limit === 'high' && one.change === 'raised')).toHaveLength(times);
  expect(announcedMore).toEqual([{ limit: 'high', crossings: times, listed: exceedances.length }]);
  expect(exceedances.length).toBeLessThan(1000);
  expect(Math.max(...exceedances.map(({ peak }) => peak ?? 0))).toBe(90);
}, 30_000);

it('what a discrete said is a timeline, not a curve', () => {
  const parameters = [
    parameter('A', 'main', { unit: 'bar', physicalRange: [-500, 500] }),
    parameter('MODE', 'main', { calibration: { kind: 'states', states: { 0: 'ground', 1: 'air' } } }),
  ];
  const limit = levelLimit('mode', 'MODE', { above: { caution: 2 } });
  const { traces } = reported({ values: [10, 60, 60, 60, 10], more: { parameters, limits: [...limits, limit] } });
  expect(traces.map((trace) => trace.parameter)).toEqual(['A']);
});

it('a recording that is damaged in the middle is reported up to there, and says so first', () => {
  const values = Array.from({ length: 2000 }, (_, n) => (n === 50 ? 99 : 10));
  const of = mission({ groups: [group('main', 10)], parameters: [parameter('A', 'main')], limits });
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: of, files: [] }];
  values.forEach((A, n) => {
    entries.push(frameEntry(at(n) + 10_000, frameBytes(of, n, at(n), [{ group: 'main', rows: [{ A }] }])));
  });
  const file = recorded(entries);
  const whole = Recording.open(file);
  const db = new Database(file);
  db.prepare("UPDATE block SET bytes = x'00' WHERE number = 3").run();
  db.close();
  const report = reportOf(whole);
  whole.close();
  expect(report.unread).toMatch(/^flown\.flight: .*block 3/);
  expect(report.exceedances).toMatchObject([{ peak: 99 }]);
  expect(report.aircraft.to).toBeLessThan(at(1500));
  expect(report.chain.whole).toBe(false);
  const page = reportHtml(report);
  expect(page.indexOf('could be read no further')).toBeGreaterThan(0);
  expect(page.indexOf('could be read no further')).toBeLessThan(page.indexOf('<table'));
});
