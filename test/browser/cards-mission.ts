/** The small mission with two cards: a build-up in airspeed, and a point that stands alone. Values invented. */
import type { Card, Family, TestPoint } from '../../protocol/card.ts';
import type { ConductView, Done, PointRun, StepGateView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import { emptyConduct, runOf } from './mock-conduct.ts';
import { START } from './mock-station.ts';
import { smallMission } from './small-mission.ts';

const level = (speed: number, parent?: number): TestPoint => ({
  id: `LF-${String(speed).padStart(3, '0')}`,
  title: `Level flight, ${speed} kt`,
  card: 'LF',
  ...(parent === undefined ? {} : { parent: `LF-${String(parent).padStart(3, '0')}` }),
  family: 'level',
  step: speed,
  configuration: [
    { text: 'flight control mode air', when: 'AIRBORNE' },
    { text: 'rotor power below 140 kW', when: 'AIRBORNE' },
  ],
  tolerance: [
    { parameter: 'IAS', target: speed, below: 3, above: 3 },
    { parameter: 'NR', target: 100, below: 1.5, above: 1.5 },
    { parameter: 'HEADING', target: 270, below: 10, above: 10 },
  ],
  dwell: 5_000_000,
  data: [
    { parameter: 'IAS', target: speed, below: 3, above: 3 },
    { parameter: 'TQ', target: 68, below: 4, above: 4 },
  ],
  mayBeOutside: 0.05,
  hold: 20_000_000,
  manoeuvre: 'hold level, hands quiet, no trim changes',
  recordFrom: 'on condition',
  recover: 'slow to 80 kt, level',
  stops: ['nr-low', 'ias-stop'],
  required: ['IAS', 'TQ', 'NR'],
  dropout: 200_000,
  repeatRule: 'once, when the air is smooth',
  predicted: [
    { parameter: 'TQ', statistic: 'mean', value: 68.2, scatter: 0.8 },
    { parameter: 'NR', statistic: 'mean', value: 100, scatter: 0.2 },
  ],
});

const doublet: TestPoint = {
  ...level(80),
  id: 'HQ-1',
  title: 'Pitch doublet, 80 kt',
  card: 'HQ',
  recordFrom: 'manoeuvre',
  manoeuvre: 'pitch doublet, 10 % of travel, 1 s a side',
  configuration: [],
  predicted: [],
};
delete doublet.family;
delete doublet.step;

const cards: Card[] = [
  {
    id: 'LF',
    title: 'Card LF: level flight build-up',
    points: [level(100, 90), level(80), level(90, 80), level(110, 100)],
  },
  { id: 'HQ', title: 'Card HQ: handling at low speed', points: [doublet] },
];

const families: Family[] = [
  {
    id: 'level',
    title: 'Level flight, forward CG',
    of: 'airspeed',
    unit: 'kt',
    increment: 1,
    measures: [
      {
        id: 'shake',
        title: 'Twice per revolution at the seat',
        parameter: 'STRAIN_001',
        statistic: 'mean',
        unit: 'm/s²',
        side: 'above',
        caution: 2.45,
        scatter: 0.05,
      },
      {
        id: 'damping',
        title: 'Regressing mode, damping ratio',
        parameter: 'STRAIN_002',
        statistic: 'min',
        unit: '1',
        side: 'below',
        caution: 0.03,
        scatter: 0.001,
      },
    ],
    flown: [],
  },
];

export const cardsMission: Mission = { ...smallMission, cards, families };

export const done = (seconds: number, person = 'tc', position = 'test conductor'): Done => ({
  person,
  position,
  aircraft: START + seconds * 1e6,
  ground: START + 60_000 + seconds * 1e6,
});

const earlier = [
  { step: 80, source: 'flight 016, LF-080' },
  { step: 90, source: 'flight 016, LF-090' },
];
const line = (from: number, slope: number, half: number) =>
  Array.from({ length: 31 }, (_, i) => {
    const step = 80 + i;
    const value = from + slope * (step - 80);
    return { step, value, low: value - half - i * half * 0.02, high: value + half + i * half * 0.02 };
  });

/** A gate that advises to reduce: the prediction at 100 kt touches the caution. */
export const reduceGate = (more: Partial<StepGateView> = {}): StepGateView => ({
  family: 'level',
  next: 100,
  point: 'LF-100',
  advice: 'reduce',
  offered: 96,
  reasons: [
    'Twice per revolution at the seat: 2.38 m/s² predicted at 100 kt, from 2.24 to 2.52, touches the caution at 2.45',
  ],
  blocks: [],
  cleared: null,
  measures: [
    {
      measure: 'shake',
      flown: earlier.map((one, i) => ({ ...one, value: [1.1, 1.76][i] as number })),
      curve: line(1.1, 0.064, 0.1),
      predicted: 2.38,
      low: 2.24,
      high: 2.52,
      residual: 0.02,
      residualBand: 0.1,
      caution: 2.45,
      slope: 0.064,
    },
    {
      measure: 'damping',
      flown: earlier.map((one, i) => ({ ...one, value: [0.06, 0.0545][i] as number })),
      curve: line(0.06, -0.00055, 0.002),
      predicted: 0.049,
      low: 0.0462,
      high: 0.0518,
      residual: -0.004,
      residualBand: 0.002,
      caution: 0.03,
      slope: -0.00055,
    },
  ],
  decisions: [],
  ...more,
});

const statistic = (parameter: string, mean: number, sd: number, inBand: number | null, dropout = 0) => ({
  ...{ parameter, n: 2000, mean, sd, min: mean - 3 * sd, max: mean + 3 * sd, slope: sd / 50, inBand, dropout },
});

/** Statistics of a level record in smooth air. */
export const levelStatistics = (speed: number) => [
  statistic('IAS', speed + 0.4, 0.6, 0.98),
  statistic('TQ', 68.9, 0.7, 1),
  statistic('NR', 100.4, 0.1, null, 40_000),
];

/** One good point, one to be repeated, one being set up. */
export function busyConduct(): ConductView {
  const gates = (from: number): PointRun['gates'] => [
    { gate: 'setup', ...done(from) },
    { gate: 'on condition', ...done(from + 9) },
    { gate: 'recover', ...done(from + 31) },
    { gate: 'admin', ...done(from + 36) },
  ];
  const flown = (number: number, point: string, from: number, more: Partial<PointRun>): PointRun =>
    runOf({
      ...{ number, point, gate: 'closed', gates: gates(from), recordFrom: START + (from + 9) * 1e6 },
      ...{ recordTo: START + (from + 31) * 1e6, recorded: 22e6, statistics: levelStatistics(80) },
      ...more,
    });
  const reasons = [
    'IAS was out of its data band 11.4 % of the record, and 5 % may be',
    'TQ lacked 260 ms, and 200 ms may be',
  ];
  return {
    ...emptyConduct(),
    points: [
      flown(1, 'LF-080', 10, {
        advice: { judgement: 'good', reasons: [] },
        judged: { judgement: 'good', note: '', ...done(48) },
      }),
      flown(2, 'LF-090', 60, {
        advice: { judgement: 'repeat', reasons },
        judged: { judgement: 'repeat', note: 'gust in the turn', ...done(99) },
      }),
      runOf({
        ...{ number: 3, point: 'LF-090', attempt: 2, gates: [{ gate: 'setup', ...done(110) }] },
        bands: [
          { parameter: 'IAS', target: 90, below: 3, above: 3, value: 91, state: 'inside', since: START + 118e6 },
          { parameter: 'NR', target: 100, below: 1.5, above: 1.5, value: 100, state: 'inside', since: START + 112e6 },
          {
            parameter: 'HEADING',
            target: 270,
            below: 10,
            above: 10,
            value: 284,
            state: 'outside',
            since: START + 121e6,
          },
        ],
        configuration: [
          { text: 'flight control mode air', state: 'inside' },
          { text: 'rotor power below 140 kW', state: 'outside' },
        ],
      }),
    ],
    steps: [
      reduceGate({ cleared: 90, decisions: [{ step: 90, decision: 'clear', advice: 'clear', note: '', ...done(52) }] }),
    ],
    anomalies: [
      {
        number: 1,
        text: 'ticking from the left door in the turn',
        point: 'LF-080',
        opened: done(40, 'rl', 'rotor and loads'),
      },
    ],
  };
}

/** The same, where the record of the run being flown has ended with this advice. */
export function toJudge(judgement: 'good' | 'repeat' = 'good', reasons: string[] = []): ConductView {
  const conduct = busyConduct();
  Object.assign(conduct.points.at(-1) as PointRun, {
    ...{ gate: 'recover', recordFrom: START + 119e6, recordTo: START + 141e6, recorded: 22e6 },
    ...{ statistics: levelStatistics(90), advice: { judgement, reasons } },
  });
  return conduct;
}
