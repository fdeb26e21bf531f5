/** A report for tests of its layout: of a flight in which much happened. */
import type { ConductView, PointRun } from '../../protocol/conduct.ts';
import type { Level } from '../../protocol/limit.ts';
import type { Exceedance, FlightReport, MarginUsed, ReportTrace } from '../../protocol/report.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { namesOfReport, sightOfReport } from './flight-report-names.ts';
import { metrics } from './flight-report-alarms.ts';
import { conductOf } from './flight-report-conduct.ts';
import { stopCallOf } from './stop-call.ts';

/** Seconds after 2026-11-25 10:00 UTC. */
const at = (seconds: number): number => 1_795_600_800 * SECOND + Math.round(seconds * SECOND);

const baselineId = 'c4'.repeat(32);
const chainValue = '7d'.repeat(32);

/** A wave with a peak of one column and a hole where the data was missing. */
function traceOf(parameter: string, name: string, unit: string, shape: Shape): ReportTrace {
  const { from = 0, to = 900, middle, swing, peak, hole, levels = [], bands } = shape;
  const columns = 400;
  const low: (number | null)[] = [];
  const high: (number | null)[] = [];
  for (let column = 0; column < columns; column++) {
    const share = column / columns;
    const isHole = hole !== undefined && share > hole[0] && share < hole[1];
    const value = middle + swing * Math.sin(share * 9) * Math.cos(share * 3.1);
    low.push(isHole ? null : value - Math.abs(swing) * 0.08);
    high.push(isHole ? null : value + Math.abs(swing) * (peak !== undefined && column === peak ? 1.6 : 0.08));
  }
  return { parameter, name, unit, from: at(from), to: at(to), low, high, levels, ...(bands && { bands }) };
}

interface Shape extends Pick<Partial<ReportTrace>, 'levels' | 'bands'> {
  from?: number;
  to?: number;
  middle: number;
  swing: number;
  peak?: number;
  hole?: [number, number];
}

const exceedance = (more: Partial<Exceedance>): Exceedance => ({
  limit: 'tq-high',
  text: 'Torque',
  parameter: 'TQ',
  unit: '%',
  side: 'above',
  level: 'caution',
  limitValue: 95,
  alarm: 'caution',
  raised: at(300.5),
  cleared: at(304.2),
  from: at(300),
  to: at(304),
  peak: 97.34,
  peakAt: at(302.02),
  beyond: [{ level: 'caution', value: 95, time: 3.96 * SECOND, unsure: 0 }],
  phase: 'hover',
  point: '',
  run: 0,
  quality: { samples: 400, unusable: 0, longestGap: 10_000 },
  detail: '',
  ...more,
});

const margin = (limit: string, text: string, used: number | null, more: Partial<MarginUsed> = {}): MarginUsed => ({
  limit,
  text,
  level: 'caution',
  side: 'above',
  unit: '%',
  limitValue: 95,
  datum: used === null ? null : 0,
  extreme: (used ?? 0.9) * 95,
  at: at(302),
  used,
  levels: [],
  phase: 'hover',
  point: '',
  run: 0,
  ...more,
});

const limitLevels = (...list: [Level, number, 'above' | 'below'][]): ReportTrace['levels'] =>
  list.map(([level, value, side]) => ({ level, value, side }));

/** A flight of a quarter of an hour with exceedances, a stop call, points good and to repeat, gaps, and a held recording. */
export function fullReport(more: Partial<FlightReport> = {}): FlightReport {
  const conduct: ConductView = conductOf();
  return {
    file: '2026-11-25-SM1X-3.flight',
    mission: {
      name: 'Envelope expansion, day 4',
      aircraft: 'Sedgemerle SM-1X',
      baselineId,
      softwareId: 'FCC-4.2',
      configurationId: 'SM1X-A7',
    },
    names: namesOfReport(),
    unread: '',
    flight: { number: '27', crew: 'I. Penhallow, R. Dacre', note: 'speed build-up, first day', closed: true },
    mode: 'live',
    aircraft: { from: at(0), to: at(900) },
    ground: { from: at(-4), to: at(905) },
    chain: { value: chainValue, blocks: 4512, whole: true, closed: true },
    ids: { match: true, softwareId: 'FCC-4.2', configurationId: 'SM1X-A7' },
    lostEntries: 0,
    earlier: [],
    phases: [
      ['ground', 'On the ground', 0, 60],
      ['start', 'Start', 60, 130],
      ['hover', 'Hover', 130, 380],
      ['forward', 'Forward flight', 380, 780],
      ['ground', 'On the ground', 780, 900],
    ].map(([id, name, from, to]) => ({
      id: String(id),
      name: String(name),
      from: at(Number(from)),
      to: at(Number(to)),
    })),
    states: [
      {
        parameter: 'FCS_MODE',
        name: 'Flight control mode',
        spans: [
          { state: 'ground', from: at(0), to: at(131) },
          { state: 'air', from: at(131), to: at(640) },
          { state: '', from: at(640), to: at(643.2) },
          { state: 'air', from: at(643.2), to: at(781) },
          { state: 'ground', from: at(781), to: at(900) },
        ],
        more: 0,
      },
    ],
    conduct,
    announcedMore: [],
    sight: sightOfReport(900 * SECOND),
    margins: [
      margin('tq-high', 'Torque', 1.0246),
      margin('seat-two-per-rev', 'Seat vibration, two a turn', 0.93, { unit: 'g', limitValue: 0.3, extreme: 0.279 }),
      margin('nr-low', 'Rotor speed', 0.71, { side: 'below', limitValue: 97, extreme: 98.2, phase: 'forward' }),
      margin('vne', 'Airspeed against never-exceed speed', 0.66, { unit: 'kt', limitValue: 120, extreme: 79.2 }),
      margin('range-edge', 'Time to the edge of the range', null, { unit: 's', limitValue: 30, extreme: 44 }),
    ],
    pointMargins: { 1: [margin('nr-low', 'Rotor speed', 0.52)], 2: [margin('tq-high', 'Torque', 0.97)] },
    exceedances: [
      exceedance({}),
      exceedance({
        limit: 'seat-two-per-rev',
        text: 'Seat vibration, two a turn',
        parameter: 'SEAT_2P',
        unit: 'g',
        level: 'stop',
        alarm: 'stop',
        limitValue: 0.3,
        from: at(512.31),
        to: at(518.4),
        raised: at(512.81),
        cleared: at(519),
        peak: 0.412,
        peakAt: at(515.02),
        beyond: [
          { level: 'caution', value: 0.2, time: 6.09 * SECOND, unsure: 0.4 * SECOND },
          { level: 'stop', value: 0.3, time: 2.11 * SECOND, unsure: 0 },
        ],
        phase: 'forward',
        point: 'S2-080',
        run: 2,
        quality: { samples: 1218, unusable: 80, longestGap: 400_000 },
      }),
      exceedance({
        limit: 'gearbox-oil-temperature',
        text: 'Gearbox oil temperature',
        parameter: 'GB_OIL_TEMP',
        unit: 'degC',
        level: 'warning',
        alarm: '',
        limitValue: 110,
        from: at(822),
        to: at(900),
        raised: at(822),
        cleared: 0,
        peak: 111.7,
        peakAt: at(880),
        beyond: [{ level: 'warning', value: 110, time: 78 * SECOND, unsure: 0 }],
        phase: 'ground',
      }),
      exceedance({
        limit: 'gearbox-failing',
        text: 'Gearbox failing',
        unit: '',
        level: 'advisory',
        limitValue: null,
        peak: null,
        peakAt: 0,
        from: at(850),
        to: at(851),
        beyond: [],
        phase: 'ground',
        detail: 'chip light',
      }),
    ],
    unannounced: [{ limit: 'tq-high', crossings: 31, listed: 20 }],
    maintenance: [
      {
        row: 'tq-transient',
        text: 'Torque above the take-off rating',
        parameter: 'TQ',
        unit: '%',
        side: 'above',
        action: 'Inspect the mast coupling before the next flight',
        value: 95,
        seconds: 3,
        cumulative: true,
        peak: 97.34,
        peakAt: at(302.02),
        beyondS: 3.96,
        from: at(300),
        to: at(304),
        unsureS: 0.4,
        phases: ['hover'],
        source: 'SM-1X maintenance notes, issue 2, table 4',
      },
    ],
    alarms: metrics(),
    alarmLines: Array.from({ length: 60 }, (_, index) => ({
      limit: index % 3 === 0 ? 'tq-high' : index % 3 === 1 ? 'seat-two-per-rev' : 'stream-gap',
      text: index % 3 === 0 ? 'Torque' : index % 3 === 1 ? 'Seat vibration, two a turn' : 'Telemetry stream has a gap',
      change: ['raised', 'acknowledged', 'cleared'][index % 3] as string,
      level: ['caution', 'stop', 'caution'][index % 3] as string,
      aircraft: at(300 + index * 5),
      ground: at(300.1 + index * 5),
      value: index % 3 === 2 ? null : 96.2 + index / 100,
      limitValue: 95,
      detail: '',
      person: index % 3 === 1 ? 'rl' : '',
      position: index % 3 === 1 ? 'rotor and loads' : '',
    })),
    calls: [
      stopCallOf({
        word: 'KNOCK IT OFF',
        reason: 'seat vibration',
        person: 'tc',
        alarm: 'seat-two-per-rev',
        step: 'closed',
        decision: 'reduce',
        facts: { ...stopCallOf().facts, phase: 'forward', value: 0.31, limitValue: 0.3 },
        steps: (['called', 'safe', 'closed'] as const).map((step, index) => ({
          step,
          person: 'tc',
          position: 'test conductor',
          ground: groundTime(at(514 + index * 7)),
          aircraft: aircraftTime(at(514 + index * 7)),
          note: '',
        })),
      }),
      stopCallOf({
        number: 2,
        stopClass: 2,
        word: 'STOP TEST',
        reason: 'data lost in the turn',
        person: 'in',
        caller: 'instrumentation',
        steps: [
          {
            step: 'called',
            person: 'in',
            position: 'instrumentation',
            ground: groundTime(at(641)),
            aircraft: aircraftTime(at(641)),
            note: '',
          },
        ],
      }),
    ],
    people: [
      { id: 'td', name: 'Maud Ellery', position: 'test director' },
      { id: 'tc', name: 'Bram Tolliver', position: 'test conductor' },
      { id: 'rl', name: 'Una Kettlewell', position: 'rotor and loads' },
      { id: 'in', name: 'Jory Mapstone', position: 'instrumentation' },
    ],
    changes: [
      {
        number: 1,
        baselineId,
        limit: 'tq-high',
        before: { above: { caution: 100, warning: 105 }, persistence: 0.5 * SECOND, hysteresis: 1 },
        after: { above: { caution: 95, warning: 105 }, persistence: 0.5 * SECOND, hysteresis: 1 },
        tightens: true,
        reason: 'hot day',
        state: 'in force',
        person: 'td',
        position: 'test director',
        ground: groundTime(at(50)),
        aircraft: aircraftTime(at(50)),
        phase: 'ground',
        decidedBy: '',
        decidedPosition: '',
        decidedGround: groundTime(0),
        note: '',
        offCondition: true,
        pilotInformed: true,
        from: aircraftTime(at(50)),
      },
    ],
    marks: [
      {
        aircraft: aircraftTime(at(515)),
        ground: groundTime(at(515.2)),
        person: 'rl',
        kind: 'event',
        text: 'felt in the seat',
      },
      {
        aircraft: aircraftTime(at(200)),
        ground: groundTime(at(200.1)),
        person: 'tc',
        kind: 'hack',
        text: 'hack for the fuel',
      },
    ],
    link: {
      frames: 89_120,
      lost: 512,
      duplicates: 42_000,
      late: 3,
      damaged: 120,
      foreign: 0,
      receivers: [
        { name: 'North', frames: 84_000, damaged: 90, missed: 5632, chosen: 61_000 },
        { name: 'South', frames: 47_500, damaged: 30, missed: 42_132, chosen: 28_120 },
      ],
      gaps: [
        { from: at(640), to: at(643.2) },
        { from: at(700), to: at(700.8) },
      ],
      gapTime: 4 * SECOND,
      gapCount: 2,
    },
    traces: [
      traceOf('TQ', 'Torque', '%', {
        middle: 70,
        swing: 20,
        peak: 134,
        hole: [0.711, 0.7147],
        levels: limitLevels(['caution', 95, 'above'], ['warning', 105, 'above']),
      }),
      traceOf('NR', 'Rotor speed', '%', {
        middle: 100,
        swing: 1.2,
        levels: limitLevels(['warning', 95, 'below'], ['caution', 97, 'below'], ['caution', 103, 'above']),
      }),
      traceOf('GB_OIL_TEMP', 'Gearbox oil temperature', 'degC', {
        middle: 90,
        swing: 15,
        hole: [0.3, 0.38],
        levels: limitLevels(['caution', 104.9, 'above'], ['warning', 105.1, 'above'], ['stop', 105.2, 'above']),
      }),
      { ...traceOf('OAT', 'Outside air temperature', 'degC', { middle: 1, swing: 1 }), low: [null], high: [null] },
    ],
    pointTraces: Object.fromEntries(
      conduct.points.map((run: PointRun) => [
        run.number,
        [
          traceOf('CAS', 'Calibrated airspeed', 'kt', {
            from: 400 + run.number * 60,
            to: 440 + run.number * 60,
            middle: 80,
            swing: run.number === 2 ? 5 : 1.5,
            bands: [
              { kind: 'tolerance', low: 78, high: 82 },
              { kind: 'data', low: 76, high: 84 },
            ],
          }),
        ],
      ]),
    ),
    cautions: ['Telemetry was lost in the turn at the end of the range: nothing of it was seen.'],
    ...more,
  };
}
