/**
 * The first flight through the whole pipeline: what the library makes of the telemetry, against the models of the aircraft
 * that sent it, which share no formula with it; and the alarms, which the formulas beside the limits must not change.
 */
import { beforeAll, describe, expect, it } from 'vitest';
import { columnIds } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { encodeEnvelope } from '../../protocol/wire.ts';
import type { Aircraft } from '../../replay/rehearsal/aircraft.ts';
import { FRAME_US, Telemetry } from '../../replay/rehearsal/telemetry.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';

const mission = demonstrationMission();
const scenario = scenarioFile('first-flight');
const START = 1_795_600_800_000_000;
const KNOT = 1852 / 3600;
const RADIUS = 5.4;
const FULL_SPEED = (392 / 60) * 2 * Math.PI;
const G = 9.80665;

const massOf = (a: Aircraft): number => 1370 + a.fuel.forward + a.fuel.aft;
const densityOf = (a: Aircraft): number => a.air.pressure / (287.05287 * a.air.temperature);
const inducedOf = (a: Aircraft): number => Math.sqrt((massOf(a) * G) / (2 * densityOf(a) * Math.PI * RADIUS ** 2));
const tipOf = (a: Aircraft): number => a.nr * FULL_SPEED * RADIUS;
/** true airspeed along the nose boom */
const boomSpeed = (a: Aircraft): number => a.calibrated * Math.sqrt(1.225 / densityOf(a));

/** Truth in the unit of the parameter, and how far noise and lag may take it; undefined while it is not to be judged. */
const truths: Record<string, [of: (a: Aircraft) => number | undefined, within: number]> = {
  VH: [inducedOf, 0.03],
  DESCENT_RATIO: [(a) => a.body.climb / inducedOf(a), 0.06],
  ADVANCE_RATIO: [(a) => (a.nr > 0.9 && a.calibrated > 20 * KNOT ? boomSpeed(a) / tipOf(a) : undefined), 0.006],
  THRUST_COEFFICIENT: [
    (a) =>
      a.nr > 0.9 ? (massOf(a) * G * a.body.nz) / (densityOf(a) * Math.PI * RADIUS ** 2 * tipOf(a) ** 2) : undefined,
    // load factor is as it was up to a sample earlier
    0.0005,
  ],
  CONTROL_MARGIN: [(a) => Math.min(...a.actuators.position.map((x) => Math.min(x, 100 - x))), 0.8],
  CG: [(a) => (1370 * 2.493 + a.fuel.forward * 2.35 + a.fuel.aft * 3.55) / massOf(a), 0.004],
  // the flare of the autorotation included, where the boom does not measure along the ground
  WIND_SPEED: [(a) => (boomSpeed(a) > 45 * KNOT ? Math.hypot(a.air.windNorth, a.air.windEast) / KNOT : undefined), 5],
};

interface Seen {
  judged: number;
  worst: number;
}

const seen = new Map<string, Seen>();
const alarms: string[] = [];
const ring: number[] = [];
const edge: number[] = [];
/** phases of flight in the order they came, and what each limit measured at the lowest and at the highest */
const phases: string[] = [];
const measured = new Map<string, [lowest: number, highest: number]>();

/** How far the limits of other kinds than high and low values may come in this flight, in the unit of each. */
const ranges: Record<string, [number, number]> = {
  'seat-two-per-rev': [0, 0.15],
  'pitch-link-damage': [0, 3],
  'tq-five-minutes': [0, 0],
  'actuator-1-model': [0, 0.3],
  'actuator-3-model': [0, 0.3],
  'actuator-3-rate': [0, 5],
  'roll-oscillation': [0, 1.5],
  'mast-torque-peak': [0, 6500],
  'fuel-trend': [3600, 86_400],
  vne: [-130, -15],
  'pitch-rate-miscompare': [0, 0.2],
  'airspeed-miscompare': [0, 1],
  'vortex-ring': [-1, 0.25],
  'height-velocity': [0, 1],
  'range-edge': [60, 3600],
  'height-by-pressure': [0, 15],
  'cg-aft': [2.5, 2.53],
};

beforeAll(() => {
  const pipeline = new Pipeline({ gather: 0 });
  pipeline.step({ kind: 'configuration', ground: groundTime(START), mission, files: [] } as never);
  const telemetry = new Telemetry({ mission, scenario, seed: scenario.seed, startUs: START });
  const columns = new Map(columnIds(mission).map((id, column) => [id, column]));
  const latest = (id: string): number => {
    const column = columns.get(id) as number;
    return (pipeline.latest.validity[column] as number) < 8 ? (pipeline.latest.value[column] as number) : Number.NaN;
  };
  for (let frame = 0; frame < scenario.durationUs / FRAME_US; frame++) {
    const bytes = telemetry.frame();
    const ground = groundTime(START + (frame + 1) * FRAME_US + 30_000);
    for (const receiver of ['North', 'South']) {
      const envelope = encodeEnvelope(receiver, 60_000, bytes);
      const { alarms: told } = pipeline.step({ kind: 'frame', ground, input: 'test', bytes: envelope });
      for (const { alarm, event } of told) alarms.push(`${alarm} ${event}`);
    }
    const phase = mission.phases?.phases[latest('PHASE')]?.name ?? 'unknown';
    if (phase !== phases.at(-1)) phases.push(phase);
    if (frame < 100 || frame % 25 !== 0) continue;
    const { value } = pipeline.limits();
    for (const [i, { id }] of mission.limits.entries()) {
      const now = value[i] as number;
      if (Number.isNaN(now)) continue;
      const [lowest, highest] = measured.get(id) ?? [now, now];
      measured.set(id, [Math.min(lowest, now), Math.max(highest, now)]);
    }
    for (const [id, [of, within]] of Object.entries(truths)) {
      const truth = of(telemetry.aircraft);
      if (truth === undefined) continue;
      const of_ = seen.get(id) ?? { judged: 0, worst: 0 };
      of_.judged++;
      const gap = Math.abs(latest(id) - truth) / within;
      of_.worst = Math.max(of_.worst, Number.isNaN(gap) ? Number.POSITIVE_INFINITY : gap);
      seen.set(id, of_);
    }
    ring.push(latest('RING_MARGIN'));
    edge.push(latest('RANGE_TIME'));
  }
}, 120_000);

describe('the library over the first flight', () => {
  it.each(Object.keys(truths))('%s is what the aircraft was doing', (id) => {
    const { judged, worst } = seen.get(id) as Seen;
    expect(judged).toBeGreaterThan(50);
    expect(worst).toBeLessThan(1);
  });

  it('keeps clear of the vortex ring and of the edge of the range, and always knows how far', () => {
    expect(ring.some(Number.isNaN)).toBe(false);
    expect(Math.min(...ring)).toBeLessThan(Math.max(...ring) - 0.5);
    expect(edge.filter(Number.isNaN)).toEqual([]);
    expect(Math.min(...edge)).toBeGreaterThan(60);
    expect(Math.min(...edge)).toBeLessThan(1000);
  });

  it('is told its phase all the way, each once as it was flown', () => {
    expect(phases).toEqual([
      // the slow parameters come with the fourth frame
      'unknown',
      'On the ground',
      'Start',
      'Ground run',
      'Pick-up',
      'Hover',
      'Transition',
      'Forward flight',
      'Autorotation',
      'Transition',
      'Hover',
      'Set-down',
      'Ground run',
      'Run-down',
      'On the ground',
    ]);
  });

  it.each(Object.entries(ranges))('%s stays where this flight keeps it', (id, [from, to]) => {
    const [lowest, highest] = measured.get(id) as [number, number];
    expect(lowest).toBeGreaterThanOrEqual(from);
    expect(highest).toBeLessThanOrEqual(to);
  });

  it('brings the alarms of the flight, and no other', () => {
    expect(alarms.filter((line) => line.endsWith(' raised'))).toEqual([
      'gearbox-oil-temperature raised',
      'nr-high-power-off raised',
    ]);
  });
});
