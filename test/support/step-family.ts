/** A family of level-flight points, and runs of them as the point runner tells them, for tests of the step gate. */
import type { Card, Family, FamilyMeasure, TestPoint } from '../../protocol/card.ts';
import type { PointRun, PointStatistic } from '../../protocol/conduct.ts';
import { groundTime } from '../../protocol/time.ts';

export const measure = (more: Partial<FamilyMeasure> = {}): FamilyMeasure => ({
  id: 'vibration',
  title: 'Vibration',
  parameter: 'VIB',
  statistic: 'max',
  unit: 'g',
  side: 'above',
  caution: 0.25,
  scatter: 0.005,
  ...more,
});

export const damping = measure({
  ...{ id: 'damping', title: 'Damping', parameter: 'ZETA', statistic: 'mean', unit: '1' },
  ...{ side: 'below', caution: 0.03, scatter: 0.0004 },
});

export const family = (more: Partial<Family> = {}): Family => ({
  id: 'level',
  title: 'Level flight',
  of: 'airspeed',
  unit: 'kt',
  increment: 2,
  measures: [measure()],
  flown: [],
  ...more,
});

export const point = (step: number, more: Partial<TestPoint> = {}): TestPoint => ({
  id: `L${step}`,
  title: `Level flight at ${step} kt`,
  card: 'level',
  family: 'level',
  step,
  configuration: [],
  tolerance: [],
  dwell: 0,
  data: [],
  mayBeOutside: 0,
  hold: 1,
  manoeuvre: 'steady',
  recordFrom: 'on condition',
  recover: 'slow down',
  stops: [],
  required: [],
  dropout: 0,
  repeatRule: '',
  predicted: [],
  ...more,
});

export const cardOf = (...points: TestPoint[]): Card => ({ id: 'level', title: 'Level flight', points });

export const statistic = (parameter: string, value: number | null): PointStatistic => ({
  ...{ parameter, n: 100, mean: value, sd: 0, min: value, max: value, slope: 0, inBand: 1, dropout: 0 },
});

/** A run of the point at a step that was judged, with these statistics. */
export const run = (
  number: number,
  step: number,
  values: Record<string, number | null>,
  judgement: 'good' | 'repeat' | 'skip' | '' = 'good',
): PointRun => ({
  number,
  point: `L${step}`,
  attempt: 1,
  gate: 'closed',
  gates: [],
  offer: '',
  offered: 0,
  bands: [],
  configuration: [],
  recordFrom: 0,
  recordTo: 0,
  recorded: 0,
  statistics: Object.entries(values).map(([parameter, value]) => statistic(parameter, value)),
  ...(judgement !== '' && {
    judged: {
      judgement,
      note: '',
      ...{ person: 'tc', position: 'test conductor', aircraft: 0, ground: groundTime(number) },
    },
  }),
});

export const planOf = (...points: TestPoint[]): Map<string, TestPoint> => new Map(points.map((one) => [one.id, one]));
