/**
 * A scenario: what day it is, what the pilot does, and what the links do. Pure: the command reads the file and parses
 * the YAML; `readScenario` checks what came out and reports all that is wrong with it at once.
 */
import { type Checked, type Finding, nearestName } from '../../protocol/finding.ts';
import { cleanLink, type LinkSettings } from './link.ts';
import { shuntNames } from './shunts.ts';

/** The day at the invented Harrowmoss flight test ground. */
export interface Day {
  /** static pressure at the ground, Pa */
  pressurePa: number;
  /** air temperature at the ground, K */
  temperatureK: number;
  /** the wind blows from here, degrees from true north */
  windFromDeg: number;
  windMps: number;
  /** standard deviation of the gusts, m/s */
  gustMps: number;
}

/** One step of the pilot's script. It begins when the one before is over. */
export interface Step {
  do: StepName;
  /** seconds; for a step that has a duration of its own choosing */
  for?: number;
  /** height above ground, metres */
  height?: number;
  /** airspeed, knots */
  speed?: number;
  /** degrees from true north */
  heading?: number;
  /** of a shunt: the channel; absent = every channel that has one, one after the other, each for this long */
  channel?: string;
  /** of a sweep: share of the travel it goes through, about the middle */
  reach?: number;
}

export const stepNames = [
  'wait',
  'zero',
  'shunt',
  'sweep',
  'start',
  'run up',
  'pick up',
  'hover',
  'turn',
  'fly',
  'autorotate',
  'set down',
  'cool down',
  'shut down',
] as const;
export type StepName = (typeof stepNames)[number];

/** One fault, put into the aircraft at its time; injection.ts says what each does. */
export interface Injection {
  do: InjectionName;
  /** seconds since the start of the flight */
  at: number;
  /** number of an actuator, 1 to 4 */
  actuator?: number;
  /** letter of a flight control computer */
  channel?: 'A' | 'B' | 'C';
  /** drift, deg/s for each second */
  drift?: number;
  /** id of the parameter whose sensor has the fault, and of the one it is swapped with */
  parameter?: string;
  with?: string;
  /** what is added to it, what it is multiplied by, or the standard deviation of its noise instead of its own, in its unit */
  by?: number;
}

export const injectionNames = [
  'fail engine',
  'jam actuator',
  'drift pitch rate',
  'shift sensor',
  'scale sensor',
  'freeze sensor',
  'swap sensors',
  'roughen sensor',
  'open shunt',
] as const;
export type InjectionName = (typeof injectionNames)[number];

export interface Scenario {
  name: string;
  title: string;
  seed: number;
  durationUs: number;
  day: Day;
  /** at the start: mass of crew and fixed test gear is in the empty aircraft; fuel in kg, gearbox oil in K */
  fuelForwardKg: number;
  fuelAftKg: number;
  gearboxOilK: number;
  script: Step[];
  injections: Injection[];
  links: LinkSettings[];
}

const topKeys = [
  ...['name', 'title', 'seed', 'duration', 'day'],
  ...['fuel forward kg', 'fuel aft kg', 'gearbox oil degC', 'script', 'injections', 'links'],
];
const dayKeys = ['pressure hPa', 'temperature degC', 'wind from', 'wind m/s', 'gusts m/s'];
const linkKeys = [
  ...['receiver', 'loss', 'delay ms', 'jitter ms', 'duplicates', 'reordered'],
  ...['bit errors', 'honest quality', 'outages'],
];

/** Takes what the YAML parser made of a scenario file. */
export function readScenario(data: unknown, file: string): Checked<Scenario> {
  const reader = new Reader(file);
  const top = reader.record(data, '', topKeys);
  const day = reader.record(top['day'], 'day', dayKeys);
  const scenario: Scenario = {
    name: reader.text(top['name'], 'name'),
    title: reader.text(top['title'], 'title'),
    seed: reader.number(top['seed'], 'seed', 0, Number.MAX_SAFE_INTEGER),
    durationUs: Math.round(reader.number(top['duration'], 'duration', 1, 86_400) * 1e6),
    day: {
      pressurePa: reader.number(day['pressure hPa'], 'day: pressure hPa', 500, 1100) * 100,
      temperatureK: reader.number(day['temperature degC'], 'day: temperature degC', -60, 60) + 273.15,
      windFromDeg: reader.number(day['wind from'], 'day: wind from', 0, 360),
      windMps: reader.number(day['wind m/s'], 'day: wind m/s', 0, 30),
      gustMps: reader.number(day['gusts m/s'], 'day: gusts m/s', 0, 10),
    },
    fuelForwardKg: reader.number(top['fuel forward kg'], 'fuel forward kg', 0, 150),
    fuelAftKg: reader.number(top['fuel aft kg'], 'fuel aft kg', 0, 100),
    gearboxOilK: reader.number(top['gearbox oil degC'], 'gearbox oil degC', -40, 150) + 273.15,
    script: reader.list(top['script'], 'script').map((step, i) => readStep(reader, step, `script ${i + 1}`)),
    injections: reader
      .optionalList(top['injections'], 'injections')
      .map((injection, i) => readInjection(reader, injection, `injections ${i + 1}`)),
    links: reader.list(top['links'], 'links').map((link, i) => readLink(reader, link, `links ${i + 1}`)),
  };
  return reader.findings.length > 0
    ? { value: undefined, findings: reader.findings }
    : { value: scenario, findings: [] };
}

function readStep(reader: Reader, data: unknown, where: string): Step {
  const record = reader.record(data, where, ['do', 'for', 'height', 'speed', 'heading', 'channel', 'reach']);
  const step: Step = { do: reader.oneOf(record['do'], `${where}: do`, stepNames) };
  if (record['for'] !== undefined) step.for = reader.number(record['for'], `${where}: for`, 0, 86_400);
  if (record['height'] !== undefined) step.height = reader.number(record['height'], `${where}: height`, 0, 3000);
  if (record['speed'] !== undefined) step.speed = reader.number(record['speed'], `${where}: speed`, 0, 110);
  if (record['heading'] !== undefined) step.heading = reader.number(record['heading'], `${where}: heading`, 0, 360);
  if (record['channel'] !== undefined) step.channel = reader.oneOf(record['channel'], `${where}: channel`, shuntNames);
  if (record['reach'] !== undefined) step.reach = reader.number(record['reach'], `${where}: reach`, 0, 1);
  return step;
}

function readLink(reader: Reader, data: unknown, where: string): LinkSettings {
  const record = reader.record(data, where, linkKeys);
  const share = (key: string): number =>
    record[key] === undefined ? 0 : reader.number(record[key], `${where}: ${key}`, 0, 1);
  const millis = (key: string, otherwise: number): number =>
    record[key] === undefined ? otherwise : reader.number(record[key], `${where}: ${key}`, 0, 10_000) * 1000;
  const outages = reader.optionalList(record['outages'], `${where}: outages`);
  return {
    receiver: reader.text(record['receiver'], `${where}: receiver`),
    loss: share('loss'),
    delayUs: millis('delay ms', cleanLink.delayUs),
    jitterUs: millis('jitter ms', cleanLink.jitterUs),
    duplicates: share('duplicates'),
    reordered: share('reordered'),
    bitErrors: share('bit errors'),
    honestQuality: record['honest quality'] !== false,
    outages: outages.map((outage, i) => {
      const span = reader.record(outage, `${where}: outages ${i + 1}`, ['from', 'to']);
      return {
        fromUs: reader.number(span['from'], `${where}: outages ${i + 1}: from`, 0, 86_400) * 1e6,
        toUs: reader.number(span['to'], `${where}: outages ${i + 1}: to`, 0, 86_400) * 1e6,
      };
    }),
  };
}

function readInjection(reader: Reader, data: unknown, where: string): Injection {
  const record = reader.record(data, where, ['do', 'at', 'actuator', 'channel', 'drift', 'parameter', 'with', 'by']);
  const injection: Injection = {
    do: reader.oneOf(record['do'], `${where}: do`, injectionNames),
    at: reader.number(record['at'], `${where}: at`, 0, 86_400),
  };
  if (injection.do === 'jam actuator')
    injection.actuator = reader.oneOf(record['actuator'], `${where}: actuator`, [1, 2, 3, 4]);
  if (injection.do === 'drift pitch rate') {
    injection.channel = reader.oneOf(record['channel'], `${where}: channel`, ['A', 'B', 'C'] as const);
    injection.drift = reader.number(record['drift'], `${where}: drift`, -100, 100);
  }
  if (/sensor|shunt/.test(injection.do)) injection.parameter = reader.text(record['parameter'], `${where}: parameter`);
  if (injection.do === 'swap sensors') injection.with = reader.text(record['with'], `${where}: with`);
  if (injection.do === 'shift sensor' || injection.do === 'scale sensor' || injection.do === 'roughen sensor')
    injection.by = reader.number(record['by'], `${where}: by`, -1e6, 1e6);
  return injection;
}

/** Takes values out of parsed data; what does not fit becomes a finding, and reading goes on. */
class Reader {
  readonly findings: Finding[] = [];
  private readonly file: string;

  constructor(file: string) {
    this.file = file;
  }

  /** A map with no other keys than these. */
  record(data: unknown, where: string, keys: readonly string[]): Record<string, unknown> {
    if (typeof data !== 'object' || data === null || Array.isArray(data)) {
      this.wrong(where, data, 'keys with values');
      return {};
    }
    for (const key of Object.keys(data)) if (!keys.includes(key)) this.unknownKey(where, key, keys);
    return data as Record<string, unknown>;
  }

  optionalList(data: unknown, where: string): unknown[] {
    return data === undefined ? [] : this.list(data, where);
  }

  list(data: unknown, where: string): unknown[] {
    if (Array.isArray(data)) return data;
    this.wrong(where, data, 'a list');
    return [];
  }

  text(data: unknown, where: string): string {
    if (typeof data === 'string' && data !== '') return data;
    this.wrong(where, data, 'a text');
    return '';
  }

  number(data: unknown, where: string, from: number, to: number): number {
    if (typeof data === 'number' && data >= from && data <= to) return data;
    this.wrong(where, data, `a number from ${from} to ${to}`);
    return from;
  }

  oneOf<T extends string | number>(data: unknown, where: string, allowed: readonly T[]): T {
    if (allowed.includes(data as T)) return data as T;
    this.wrong(where, data, `one of ${allowed.join(', ')}`);
    return allowed[0] as T;
  }

  private unknownKey(where: string, key: string, keys: readonly string[]): void {
    const near = nearestName(key, keys);
    this.findings.push({
      code: 'wrong-shape',
      file: this.file,
      line: 0,
      column: 0,
      found: `${where ? `${where}: ` : ''}the key ${JSON.stringify(key)}`,
      expected: `one of ${keys.join(', ')}`,
      ...(near && { hint: `did you mean ${near}?` }),
    });
  }

  private wrong(where: string, data: unknown, expected: string): void {
    const found = data === undefined ? `${where || 'the file'} missing` : `${where}: ${JSON.stringify(data)}`;
    this.findings.push({ code: 'wrong-shape', file: this.file, line: 0, column: 0, found, expected });
  }
}
