/** The conduct of the flight that test/support/flight-report.ts reports. */
import type { ConductView, Done, PointRun, PointStatistic, ReadinessView } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';

const at = (seconds: number): number => (1_795_600_800 + seconds) * SECOND;
const done = (seconds: number, person = 'tc', position = 'test conductor'): Done => ({
  person,
  position,
  aircraft: at(seconds),
  ground: at(seconds + 0.1),
});

const statistic = (parameter: string, mean: number, more: Partial<PointStatistic> = {}): PointStatistic => ({
  parameter,
  n: 2000,
  mean,
  sd: 0.4123456,
  min: mean - 1.2,
  max: mean + 1.3,
  slope: 0.0123,
  inBand: 0.998,
  dropout: 0,
  ...more,
});

function runOf(number: number, point: string, more: Partial<PointRun>): PointRun {
  const begin = 400 + number * 60;
  return {
    number,
    point,
    attempt: 1,
    gate: 'closed',
    gates: [
      { gate: 'setup', ...done(begin) },
      { gate: 'on condition', ...done(begin + 8) },
      { gate: 'recover', ...done(begin + 30) },
      { gate: 'closed', ...done(begin + 40) },
    ],
    offer: '',
    offered: 0,
    bands: [],
    configuration: [{ text: 'doors closed', state: 'inside' }],
    recordFrom: at(begin + 8),
    recordTo: at(begin + 30),
    recorded: 22 * SECOND,
    statistics: [statistic('CAS', 80.1), statistic('TQ', 71.2, { inBand: null }), statistic('SEAT_2P', 0.18)],
    advice: { judgement: 'good', reasons: [] },
    judged: { judgement: 'good', note: '', ...done(begin + 41) },
    ...more,
  };
}

const readiness = (): ReadinessView => ({
  notices: [
    {
      id: 'blade-trim',
      acknowledged: [
        { person: 'td', position: 'test director', ground: at(-600) },
        { person: 'tc', position: 'test conductor', ground: at(-590) },
      ],
    },
  ],
  watch: [
    { position: 'engine', limits: ['tq-high', 'tot-run', 'engine-oil-pressure'] },
    { position: 'rotor and loads', limits: ['seat-two-per-rev', 'nr-low'] },
  ],
  unwatched: [],
  morning: {
    gathering: '',
    channels: [
      {
        parameter: 'PITCH_LINK',
        zero: 1.2,
        noise: 0.4,
        shunt: 812,
        rate: 100,
        faults: [],
        cannotTell: [],
        looked: ['zero', 'shunt', 'rate', 'range'],
      },
      {
        parameter: 'MAST_TORQUE',
        zero: 14.1,
        noise: 0.3,
        shunt: null,
        rate: 100,
        faults: ['zero 14.1 N m, 0 within 5 N m expected'],
        cannotTell: [],
        looked: ['zero'],
      },
    ],
    time: { offset: 0.002, drift: 0.0001 },
    timeFaults: [],
    recorder: { state: 'verified', text: '1203 blocks read back' },
    complete: false,
    ended: null,
    faults: 1,
  },
  sweep: {
    running: false,
    done: true,
    faults: 0,
    channels: [
      {
        parameter: 'COLLECTIVE',
        low: 0.5,
        high: 99.4,
        travel: 0.989,
        spread: 0.004,
        tracking: 0.01,
        delay: 0.03,
        hysteresis: 0.002,
        missing: 0,
        faults: [],
        cannotTell: [],
      },
    ],
  },
  weight: {
    loads: [{ id: 'ballast', name: 'Ballast, nose', massKg: 24, armM: 1.1, lateralM: 0, changedBy: 'tc' }],
    now: { name: 'now', massKg: 1512.4, armM: 3.021, lateralM: 0.011, fuelKg: 92.1, state: 'inside' },
    planned: [
      { name: 'full', massKg: 1580, armM: 3.03, lateralM: 0.01, fuelKg: 160, state: 'inside' },
      { name: 'reserve', massKg: null, armM: null, lateralM: null, fuelKg: 20, state: 'cannot tell' },
    ],
    toKnockOffS: 1200,
  },
  ids: { match: true, softwareId: 'FCC-4.2', configurationId: 'SM1X-A7', differences: [] },
  missing: [{ position: 'instrumentation', text: 'the morning check is not complete' }],
  poll: {
    opened: done(-300),
    answers: [
      { position: 'test director', answer: 'ready', text: '', person: 'td', ground: at(-290) },
      { position: 'instrumentation', answer: 'not ready', text: 'mast torque zero', person: 'in', ground: at(-280) },
      { position: 'engine', answer: '', text: '', person: '', ground: 0 },
    ],
    ready: false,
  },
});

const flown = (values: number[]) =>
  values.map((value, index) => ({ step: 40 + index * 10, value, source: `flight 26, S2-0${40 + index * 10}` }));

const curve = Array.from({ length: 26 }, (_, index) => {
  const step = 40 + index * 2;
  const value = 0.06 + (step - 40) * 0.0035;
  const band = 0.012 + Math.abs(step - 60) * 0.0007;
  return { step, value, low: value - band, high: value + band };
});

export const conductOf = (): ConductView => ({
  points: [
    runOf(1, 'S2-070', {}),
    runOf(2, 'S2-080', {
      advice: {
        judgement: 'repeat',
        reasons: ['CAS was outside its data band for 6.1 % of the record (5 % allowed)', 'TQ lacked 0.42 s of samples'],
      },
      judged: { judgement: 'repeat', note: 'call 1', ...done(561) },
      statistics: [statistic('CAS', 81.9, { inBand: 0.939 }), statistic('TQ', 73.4, { mean: null, slope: null })],
    }),
    runOf(3, 'S2-080', { attempt: 2, gate: 'recover', judged: undefined as never, recordFrom: at(588) }),
  ],
  steps: [
    {
      family: 'speed-build-up',
      next: 90,
      point: 'S2-090',
      advice: 'reduce',
      offered: 85,
      reasons: ['seat-two-per-rev: the band at 90 kt reaches 0.268 g, the caution is 0.25 g'],
      blocks: ['stop call 2 is open', 'anomaly 1 is open'],
      cleared: null,
      measures: [
        {
          measure: 'seat-two-per-rev',
          flown: flown([0.061, 0.094, 0.131, 0.166, 0.203]),
          curve,
          predicted: 0.235,
          low: 0.202,
          high: 0.268,
          residual: 0.004,
          residualBand: 0.026,
          caution: 0.25,
          slope: 0.0035,
        },
      ],
      decisions: [
        { step: 80, decision: 'clear', advice: 'clear', note: '', ...done(450, 'td', 'test director') },
        { step: 85, decision: 'reduce', advice: 'hold', note: 'seat known', ...done(600, 'td', 'test director') },
      ],
    },
  ],
  anomalies: [
    { number: 1, text: 'seat rub heard at 80 kt', point: 'S2-080', opened: done(530, 'rl', 'rotor and loads') },
    {
      number: 2,
      text: 'torque reads 2 % high on the ground',
      point: '',
      opened: done(20, 'in', 'instrumentation'),
      closed: { text: 'old calibration sheet; replaced', ...done(40, 'td', 'test director') },
    },
  ],
  readiness: readiness(),
  sequences: [
    {
      id: 'start',
      state: 'done',
      times: 2,
      began: at(60),
      ended: at(124),
      steps: [
        { name: 'light-off', state: 'done', at: at(66), took: 6 * SECOND, within: 10 * SECOND },
        { name: 'idle', state: 'late', at: at(104), took: 38 * SECOND, within: 30 * SECOND },
        { name: 'generator on', state: 'missing', at: 0, took: 0, within: 20 * SECOND },
      ],
      measures: [{ title: 'peak TOT', value: 812.4, unit: 'degC', missing: 0.4 * SECOND }],
      gate: 'inside',
      earlier: [
        {
          ...{ began: at(20), ended: at(29), state: 'broken off' },
          steps: [
            { name: 'light-off', state: 'done', at: at(24), took: 4 * SECOND, within: 10 * SECOND },
            { name: 'idle', state: 'waiting', at: 0, took: 0, within: 30 * SECOND },
            { name: 'generator on', state: 'waiting', at: 0, took: 0, within: 20 * SECOND },
          ],
          measures: [{ title: 'peak TOT', value: 871.3, unit: 'degC', missing: 0 }],
          gate: 'inside',
        },
      ],
      dropped: 0,
    },
  ],
  checklists: [],
  stopwatches: [],
  voiceLost: null,
  evidence: { reason: 'stop call 1', ...done(700, 'td', 'test director') },
  faults: [],
});
