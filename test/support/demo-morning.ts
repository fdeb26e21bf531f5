/**
 * The morning of the rehearsal's own aircraft, with every fault that each channel of its check can have: put into sensors,
 * calibrations and links, and looked for over frames, decoding, conversion and the whole fold.
 */
import type { Entry } from '../../protocol/entry.ts';
import type { MorningView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ChannelCheck, MorningCheckPlan, ReadinessPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import type { Injection, Scenario } from '../../replay/rehearsal/scenario.ts';
import { signals } from '../../replay/rehearsal/sensors.ts';
import { shuntNames } from '../../replay/rehearsal/shunts.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { type Act, flownEntries } from './flown.ts';

/** Seconds after which every shunt has been in. */
const LASTS = 62;

/** Samples of a channel from which noise and rate can be told. */
const MANY = 20;

/** One fault of one channel. */
export interface SeededFault {
  channel: string;
  what: string;
  /** channels that may show it */
  about: string[];
  /** what must be said of the channel */
  begins: RegExp;
  injections: Injection[];
  /** the calibration that is in force, where it is not the one flown with: times the slope, and added, in the unit */
  calibration?: { slope: number; zero: number };
}

const morningPlan = (mission: Mission): MorningCheckPlan => mission.readiness?.morning as MorningCheckPlan;

/** Nothing applied from 4 s on, a shunt every 7 s from 12 s on, as the scenario has it. */
function acts(mission: Mission): Act[] {
  const person = mission.people.find((one) => one.position === 'instrumentation')?.id ?? '';
  const by = (at: number, act: 'begin check' | 'end check', subject: string, choice: string): Act => {
    const action = { act, subject, number: 0, choice, text: '', value: 0, aircraft: 0 };
    return { at, person, position: 'instrumentation', action };
  };
  return [
    by(5, 'begin check', '', 'zero'),
    ...shuntNames.map((name, i) => by(13 + 7 * i, 'begin check', name, 'shunt')),
    by(LASTS - 0.5, 'end check', '', ''),
  ];
}

/**
 * The check of one morning. `inForce`: the mission that the station has, when it is another than the aircraft flies. A shunt
 * that is refused, since a zero is not known, is let be.
 */
export function demoMorning(mission: Mission, scenario: Scenario, inForce: Mission = mission): MorningView {
  const pipeline = new Pipeline({ gather: 200_000 });
  const flown = { ...scenario, durationUs: LASTS * 1e6 };
  for (const entry of flownEntries(mission, flown, acts(mission))) {
    pipeline.step(entry.kind === 'configuration' ? ({ ...entry, mission: inForce } satisfies Entry) : entry);
  }
  pipeline.flush();
  return pipeline.conduct()?.readiness?.morning as MorningView;
}

/** Every fault that every channel can have, from a little beyond what is allowed on. */
export function demoFaults(mission: Mission): SeededFault[] {
  const { channels } = morningPlan(mission);
  return [...channels.flatMap((check) => ownFaults(mission, check)), ...swaps(mission)];
}

function ownFaults(mission: Mission, check: ChannelCheck): SeededFault[] {
  const { parameter: channel, zero, zeroTolerance, noise, shunt, shuntTolerance = 0 } = check;
  const own = signals[channel]?.noise ?? 0;
  const [, top] = mission.parameters.find(({ id }) => id === channel)?.physicalRange ?? [0, 0];
  const one = (
    what: string,
    begins: RegExp,
    injections: Omit<Injection, 'at'>[],
    calibration?: SeededFault['calibration'],
  ) => ({
    ...{ channel, what, begins, about: [channel] },
    injections: injections.map((injection): Injection => ({ ...injection, at: 1, parameter: channel })),
    ...(calibration && { calibration }),
  });
  const isOff = check.counts ? /^calibration: mean/ : /^offset: mean/;
  const list = [
    ...[1.6, -1.6, 6].map((times) =>
      one(`offset ${times}`, /^offset: mean/, [{ do: 'shift sensor', by: times * zeroTolerance }]),
    ),
    ...[1.6, -1.6].map((times) => one(`calibration ${times}`, isOff, [], { slope: 1, zero: times * zeroTolerance })),
    one('range', /^range: /, [{ do: 'shift sensor', by: 1.05 * top - zero }]),
  ];
  const share = (1.5 * zeroTolerance) / Math.abs(zero);
  if (zero !== 0) list.push(one('gain', /^offset: mean/, [{ do: 'scale sensor', by: 1 + share }]));
  // a few samples tell neither noise nor that there is none
  if (isFast(mission, channel))
    list.push(
      one('frozen', /^dead: /, [{ do: 'freeze sensor' }]),
      one('noisy', /^noisy: /, [{ do: 'roughen sensor', by: 1.4 * noise[1] }]),
      one('offset and noise', /^offset: /, [
        { do: 'shift sensor', by: 2 * zeroTolerance },
        { do: 'roughen sensor', by: 1.4 * noise[1] },
      ]),
    );
  // of angular rates the noise is that of the flight control computers
  if (own > 0 && noise[0] > 0) list.push(one('quiet', /^dead: /, [{ do: 'roughen sensor', by: 0.02 * own }]));
  if (shunt === undefined) return list;
  // with a zero that is not 0 a gain moves that too
  const off = (1.5 * shuntTolerance) / Math.abs(shunt);
  return [
    ...list,
    ...[1 + off, 1 - off, 0.3, -1].map((by) => one(`gain ${by.toFixed(3)}`, /^gain: /, [{ do: 'scale sensor', by }])),
    ...[1 + off, 1 - off].map((slope) =>
      one(`slope ${slope.toFixed(3)}`, /^calibration: the shunt/, [], { slope, zero: 0 }),
    ),
    one('no step', /^no step: /, [{ do: 'open shunt' }]),
    one('no step and offset', /^no step: /, [{ do: 'open shunt' }, { do: 'shift sensor', by: 2 * zeroTolerance }]),
    one('gain and calibration', /^calibration: the shunt/, [{ do: 'scale sensor', by: 1 / 1.2 }], {
      slope: 1.2,
      zero: 0,
    }),
  ];
}

const rateOf = (mission: Mission, id: string): number => {
  const group = mission.parameters.find((one) => one.id === id)?.group;
  return mission.groups.find((one) => one.id === group)?.rate ?? 0;
};

/** Wires of two channels, where a shunt or another zero can show it. */
function swaps(mission: Mission): SeededFault[] {
  const { channels } = morningPlan(mission);
  const unitOf = (id: string): string => mission.parameters.find((one) => one.id === id)?.unit ?? '';
  return channels.flatMap((check, i) =>
    channels.slice(i + 1).flatMap((other): SeededFault[] => {
      const isShown = check.shunt !== undefined || other.shunt !== undefined || check.zero !== other.zero;
      if (!isShown || unitOf(check.parameter) !== unitOf(other.parameter)) return [];
      const { parameter: channel } = check;
      const begins =
        check.shunt === undefined
          ? /^offset: /
          : new RegExp(`^swapped: the shunt of ${channel} steps ${other.parameter}`);
      return [
        {
          ...{ channel, what: `swapped with ${other.parameter}`, begins, about: [channel, other.parameter] },
          injections: [{ do: 'swap sensors', at: 1, parameter: channel, with: other.parameter }],
        },
      ];
    }),
  );
}

/** Whether a channel brings enough samples for its rate to be told. */
export const isFast = (mission: Mission, id: string): boolean =>
  rateOf(mission, id) * (morningPlan(mission).gather / SECOND) >= MANY;

/** Faults put together for one morning, no two of them about one channel. */
export function mornings(faults: readonly SeededFault[], most: number): SeededFault[][] {
  const list: SeededFault[][] = [];
  for (const fault of faults) {
    const busy = (morning: SeededFault[]): boolean =>
      morning.length >= most || morning.some(({ about }) => about.some((id) => fault.about.includes(id)));
    const free = list.find((morning) => !busy(morning));
    if (free) free.push(fault);
    else list.push([fault]);
  }
  return list;
}

export interface Found {
  seeded: number;
  found: number;
  /** what was not found, and what was said of a channel that has no fault; in words */
  wrong: string[];
}

/** A morning with these faults. */
export function lookFor(mission: Mission, scenario: Scenario, faults: readonly SeededFault[]): Found {
  const injections = faults.flatMap((fault) => fault.injections);
  const { channels } = demoMorning(mission, { ...scenario, injections }, calibrated(mission, faults));
  const saidOf = (id: string): string[] => channels.find(({ parameter }) => parameter === id)?.faults ?? [];
  const missed = faults.filter(({ channel, begins }) => !saidOf(channel).some((said) => begins.test(said)));
  const about = new Set(faults.flatMap((fault) => fault.about));
  const blamed = channels.filter(({ parameter, faults: said }) => said.length > 0 && !about.has(parameter));
  return {
    seeded: faults.length,
    found: faults.length - missed.length,
    wrong: [
      ...missed.map(({ channel, what }) => `${channel}, ${what}: ${saidOf(channel).join('; ') || 'nothing said'}`),
      ...blamed.map(({ parameter, faults: said }) => `${parameter} without a fault: ${said.join('; ')}`),
    ],
  };
}

function calibrated(mission: Mission, faults: readonly SeededFault[]): Mission {
  const parameters = mission.parameters.map((parameter) => {
    const other = faults.find(({ channel, calibration }) => channel === parameter.id && calibration)?.calibration;
    const { calibration } = parameter;
    if (other === undefined || calibration.kind !== 'polynomial') return parameter;
    const [c0 = 0, ...rest] = calibration.coefficients;
    const coefficients = [c0 * other.slope + other.zero, ...rest.map((c) => c * other.slope)];
    return { ...parameter, calibration: { ...calibration, coefficients } };
  });
  return { ...mission, parameters };
}

/** Every receiver loses this share of its frames: every channel comes too seldom. */
export const lossy = (scenario: Scenario, loss: number): Scenario => ({
  ...scenario,
  links: scenario.links.map((link) => ({ ...link, loss })),
});

/** Calibrations may be so many days old. */
export const aged = (mission: Mission, calibrationDays: number): Mission => ({
  ...mission,
  readiness: { ...(mission.readiness as ReadinessPlan), morning: { ...morningPlan(mission), calibrationDays } },
});
