/**
 * The first flight as it truly is, without sensor noise: which limits it crosses, when, and how far it stays from all the
 * others. The limits are judged here by a slow referee of this file's own, from the models and not from the telemetry.
 */
import { beforeAll, describe, expect, test } from 'vitest';
import type { Level, Limit } from '../../protocol/limit.ts';
import { demonstrationMission, scenarioFile } from '../../test/support/rehearsal.ts';
import { Aircraft } from './aircraft.ts';
import { EngineMode } from './governor.ts';
import { signals } from './sensors.ts';

const KNOT = 1852 / 3600;
const mission = demonstrationMission();
const scenario = scenarioFile('first-flight');

const airborne = (a: Aircraft): boolean => !a.leftDown && !a.rightDown;
const powerOff = (a: Aircraft): boolean => airborne(a) && a.tq < 0.05 && a.nr > 0.6;

/** What derived.yaml means, written from the models. */
const derived: Record<string, (a: Aircraft) => number> = {
  AIRBORNE: (a) => Number(airborne(a)),
  ENGINE_RUNNING: (a) => Number(a.governor.mode >= EngineMode.idle),
  ROTOR_GOVERNED: (a) => Number(a.governor.mode === EngineMode.governed && a.drive.engaged && airborne(a)),
  ACT_ERROR: (a) => Math.max(...a.actuators.command.map((c, i) => Math.abs(c - a.actuators.position[i]!))),
  // a freewheel that is apart lets no torque through
  PHASE_WRONG: (a) => Number(!a.drive.engaged && a.tq > 0.2),
  FUEL: (a) => a.fuel.forward + a.fuel.aft,
};

/** What phases.yaml means by the phases in which limits of this file are in force, written from the models. */
const phases: Record<string, (a: Aircraft) => boolean> = {
  start: (a) => a.governor.mode === EngineMode.starting,
  autorotation: powerOff,
};

/** Limits of the other kinds have referees of their own; here are high and low values. */
const limits = mission.limits.filter(({ kind }) => kind === 'level');

/** How far inside every limit the flight must stay where it is not meant to cross, in the limit's own unit. */
const margins: Record<string, number> = {
  'nr-low': 0.7,
  'nr-high': 0.4,
  'nr-low-power-off': 4,
  'nr-high-power-off': 0,
  'tot-start': 60,
  'tot-run': 25,
  'tq-high': 10,
  'engine-oil-pressure': 1,
  'gearbox-oil-temperature': 0,
  'gearbox-oil-pressure': 0.5,
  'phase-against-torque': 0.4,
  'actuator-tracking': 0.4,
  'load-factor': 0.01,
  'pitch-link': 500,
  'fuel-low': 100,
  'bus-a': 1,
};

const ranged = mission.parameters.filter((p) => p.physicalRange && signals[p.id]);

interface Sample {
  time: number;
  value: number;
  inForce: boolean;
}

interface Crossing {
  limit: string;
  level: Level;
  /** seconds: persistence over, and back inside by hysteresis */
  from: number;
  to: number;
  peak: number;
}

interface Flown {
  samples: Map<string, Sample[]>;
  aircraft: Aircraft;
  lightOff: number;
  pickUp: number;
  setDown: number;
  stopped: number;
  highest: number;
  /** skids above the ground between entering autorotation and the hover after it */
  lowestGlide: number;
  /** parameters that were not physical at some time */
  outside: Set<string>;
  fastest: number;
}

const truth = (id: string) => derived[id] ?? signals[id]!.read;

/** Whether the aircraft is where a limit is in force. */
function gateOf(limit: Limit): (a: Aircraft) => boolean {
  if (limit.while !== undefined) {
    const open = truth(limit.while);
    return (a) => open(a) !== 0;
  }
  if (limit.phases === undefined) return () => true;
  const inPhases = limit.phases.map((id) => phases[id]!);
  return (a) => inPhases.some((is) => is(a));
}

function fly(seed: number): Flown {
  const aircraft = new Aircraft(scenario, seed);
  const samples = new Map(limits.map((limit) => [limit.id, [] as Sample[]]));
  const flown: Flown = {
    samples,
    aircraft,
    lightOff: 0,
    pickUp: 0,
    setDown: 0,
    stopped: 0,
    highest: 0,
    lowestGlide: 1e9,
    outside: new Set(),
    fastest: 0,
  };
  const watched = limits.map((limit) => ({
    list: samples.get(limit.id)!,
    read: truth(limit.parameter),
    inForce: gateOf(limit),
  }));
  while (aircraft.steps < scenario.durationUs / 1000) {
    aircraft.step();
    const { time } = aircraft;
    // every 10 ms: as fine as any limit's parameter but the loads, which are judged by their amplitude anyhow
    if (aircraft.steps % 10 === 0)
      for (const { list, read, inForce } of watched)
        list.push({ time, value: read(aircraft), inForce: inForce(aircraft) });
    if (aircraft.engine.lit) flown.lightOff ||= time;
    if (airborne(aircraft)) {
      flown.pickUp ||= time;
      flown.setDown = 0;
    } else if (flown.pickUp > 0) flown.setDown ||= time;
    if (flown.setDown > 0 && aircraft.drive.rotorSpeed === 0) flown.stopped ||= time;
    if (aircraft.steps % 100 === 0)
      for (const { id, physicalRange } of ranged) {
        const value = signals[id]!.read(aircraft);
        if (value < physicalRange![0] || value > physicalRange![1]) flown.outside.add(`${id} ${value}`);
      }
    if (aircraft.pilot.begun.at(-1)?.step === 'autorotate')
      flown.lowestGlide = Math.min(flown.lowestGlide, aircraft.skidHeight);
    flown.highest = Math.max(flown.highest, aircraft.skidHeight);
    flown.fastest = Math.max(flown.fastest, aircraft.calibrated / KNOT);
  }
  return flown;
}

/** Every crossing of every limit, its values moved inwards by `closer` of its margin. */
function crossings({ samples }: Flown, closer: number): Crossing[] {
  return limits.flatMap((limit) =>
    (['above', 'below'] as const).flatMap((side) =>
      Object.entries(limit[side] ?? {}).flatMap(([level, value]) => {
        const sign = side === 'above' ? 1 : -1;
        const at = sign * value - closer * margins[limit.id]!;
        const list = samples.get(limit.id)!;
        return runs(list, sign, at, limit.persistence / 1e6, limit.hysteresis).map((run) => ({
          limit: limit.id,
          level: level as Level,
          ...run,
        }));
      }),
    ),
  );
}

function runs(samples: Sample[], sign: number, at: number, persistence: number, hysteresis: number) {
  const found: { from: number; to: number; peak: number }[] = [];
  let since = Number.NaN;
  let open: (typeof found)[0] | undefined;
  for (const { time, value, inForce } of samples) {
    const beyond = sign * value - at;
    if (open) {
      open.peak = sign * Math.max(sign * open.peak, sign * value);
      if (inForce && beyond > -hysteresis) continue;
      open.to = time;
      open = undefined;
      since = Number.NaN;
    } else if (!inForce || beyond <= 0) since = Number.NaN;
    else if (Number.isNaN(since)) since = time;
    if (!open && time - since >= persistence) {
      open = { from: time, to: Number.POSITIVE_INFINITY, peak: value };
      found.push(open);
    }
  }
  return found;
}

describe.each([scenario.seed, 1, 20_261_125])('first flight, seed %d', (seed) => {
  let flown: Flown;
  beforeAll(() => {
    flown = fly(seed);
  });

  test('goes from start to shutdown in its six minutes', () => {
    const { lightOff, pickUp, setDown, stopped } = flown;
    expect(lightOff).toBeGreaterThan(6);
    expect(lightOff).toBeLessThan(12);
    expect(pickUp).toBeGreaterThan(55);
    expect(pickUp).toBeLessThan(70);
    expect(setDown).toBeGreaterThan(285);
    expect(setDown).toBeLessThan(315);
    expect(stopped).toBeGreaterThan(330);
    expect(stopped).toBeLessThan(scenario.durationUs / 1e6);
    expect(flown.aircraft.pilot.finished).toBe(true);
    expect(flown.fastest).toBeGreaterThan(78);
    expect(flown.fastest).toBeLessThan(86);
    expect(flown.highest).toBeGreaterThan(270);
    expect(flown.highest).toBeLessThan(310);
    expect(flown.lowestGlide).toBeGreaterThan(1.5);
  });

  test('brings one caution and one warning, each once, and clears both', () => {
    const found = crossings(flown, 0);
    expect(found.map(({ limit, level }) => `${limit} ${level}`)).toEqual([
      'nr-high-power-off warning',
      'gearbox-oil-temperature caution',
    ]);
    const [overspeed, oil] = found as [Crossing, Crossing];
    expect(oil.from).toBeGreaterThan(112);
    expect(oil.from).toBeLessThan(128);
    expect(oil.to - oil.from).toBeGreaterThan(20);
    expect(oil.to - oil.from).toBeLessThan(45);
    expect(oil.peak).toBeGreaterThan(102);
    // well below the warning at 110 degC
    expect(oil.peak).toBeLessThan(107);
    expect(overspeed.from).toBeGreaterThan(260);
    expect(overspeed.from).toBeLessThan(280);
    expect(overspeed.to - overspeed.from).toBeGreaterThan(0.7);
    expect(overspeed.to - overspeed.from).toBeLessThan(4);
    expect(overspeed.peak).toBeGreaterThan(108);
    expect(overspeed.peak).toBeLessThan(115);
  });

  test('is never outside what a parameter calls physical', () => {
    expect([...flown.outside]).toEqual([]);
  });

  test('stays inside every other limit by a margin', () => {
    expect(crossings(flown, 1).map(({ limit, level }) => `${limit} ${level}`)).toEqual([
      'nr-high-power-off warning',
      'gearbox-oil-temperature caution',
    ]);
  });
});

test('the referee finds a crossing, its persistence, its hysteresis, and the end of what it is watched in', () => {
  const samples = [0, 0, 5, 5, 5, 5, 3.5, 2, 0, 5, 5, 5, 5].map((value, i) => ({ time: i, value, inForce: i < 12 }));
  expect(runs(samples, 1, 4, 2, 1)).toEqual([
    { from: 4, to: 7, peak: 5 },
    { from: 11, to: 12, peak: 5 },
  ]);
  expect(runs(samples, 1, 4, 4, 1)).toEqual([]);
});
