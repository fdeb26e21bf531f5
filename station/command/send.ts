/** `groundchase send`: the rehearsal aircraft, or the frames of a recording, sent as if they were flown now. */
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { nearestName } from '../../protocol/finding.ts';
import { isoMicroseconds, isTime } from '../../protocol/time.ts';
import { decodeEnvelope, encodeEnvelope } from '../../protocol/wire.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { RECORDING_ENDING } from '../../replay/recording/schema.ts';
import { Chance } from '../../replay/rehearsal/chance.ts';
import { openFlight } from '../../replay/rehearsal/flight.ts';
import { readScenario, type Scenario } from '../../replay/rehearsal/scenario.ts';
import { parseListenAddress } from '../receive/input.ts';
import {
  type Arguments,
  type Command,
  exitCode,
  jsonOption,
  print,
  printJson,
  say,
  sayFindings,
  Trouble,
  WrongUse,
} from './command.ts';
import { openOutlet, type Outlet } from './outlet.ts';
import { rehearsalMission, started, untilStopped, usableMission } from './running.ts';

/** One message and when it leaves, microseconds after the first. */
interface Departure {
  sendAtUs: number;
  bytes: Uint8Array;
}

export const command: Command = {
  name: 'send',
  summary: 'fly a rehearsal scenario, or a recording again, and send its telemetry',
  usage: 'SCENARIO|FILE',
  details: `SCENARIO is the name of a scenario or a file .yaml; FILE is a recording (${RECORDING_ENDING}). Frames leave in real time.

Example: groundchase send first-flight --to udp://127.0.0.1:47010 --loss 0.02`,
  options: [
    {
      name: 'to',
      kind: 'text',
      value: 'ADDRESS',
      required: true,
      summary: 'udp://HOST:PORT, tcp://HOST:PORT or ws://HOST:PORT',
    },
    { name: 'loss', kind: 'number', value: 'P', min: 0, max: 1, summary: 'share of frames lost on every link' },
    { name: 'delay', kind: 'number', value: 'MS', min: 0, max: 60_000, unit: 'ms', summary: 'delay of every link' },
    {
      name: 'receiver',
      kind: 'text',
      value: 'NAME',
      repeatable: true,
      summary: 'only by this receiver; for a recording: rename the receiver',
    },
    { name: 'seed', kind: 'number', value: 'N', whole: true, min: 0, summary: 'where all chance comes from' },
    {
      name: 'mission',
      kind: 'text',
      value: 'DIR',
      default: rehearsalMission,
      summary: 'mission folder that says how a scenario is packed',
    },
    {
      name: 'start',
      kind: 'text',
      value: 'TIME',
      summary:
        'aircraft time of the first frame, ISO 8601 in UTC; now when left out. Two senders given one time fly one flight',
    },
    { name: 'fast', kind: 'flag', summary: 'as fast as it goes instead of in real time' },
    jsonOption,
  ],
  async run(args) {
    const departures = openDepartures(args);
    if (departures === undefined) return exitCode.finding;
    const to = await started(Promise.resolve().then(() => parseListenAddress(args.text('to'))));
    if (to.port === 0) throw new WrongUse('--to needs the port that somebody listens on, not 0');
    const stopped = untilStopped();
    const outlet = await openOutlet(to);
    try {
      const lead = args.flag('fast') ? 0 : Math.max(0, startTime(args) / 1000 - Date.now());
      const sent = await sendAll(departures, outlet, { fast: args.flag('fast'), lead }, stopped);
      if (args.flag('json')) printJson(sent);
      else print(`${sent.messages} messages, ${sent.bytes} bytes in ${sent.seconds.toFixed(1)} s`);
    } finally {
      await outlet.close();
    }
    return exitCode.success;
  },
};

/** Undefined after what is wrong with the scenario or mission was told. */
function openDepartures(args: Arguments): Iterable<Departure> | undefined {
  const what = args.operand;
  if (extname(what) === RECORDING_ENDING || (existsSync(what) && extname(what) !== '.yaml')) {
    return recordedDepartures(what, args);
  }
  const scenario = openScenario(what);
  const loaded = usableMission(args.text('mission'));
  if (scenario === undefined || loaded === undefined) return undefined;
  const loss = args.optionalNumber('loss');
  const delay = args.optionalNumber('delay');
  const seed = args.optionalNumber('seed');
  const flight = openFlight({
    mission: loaded.mission,
    scenario,
    startUs: startTime(args),
    ...(seed === undefined ? {} : { seed }),
    link: {
      ...(loss === undefined ? {} : { loss }),
      ...(delay === undefined ? {} : { delayUs: delay * 1000 }),
    },
    ...(args.given('receiver') ? { receivers: args.texts('receiver') } : {}),
  });
  return {
    *[Symbol.iterator]() {
      for (let next = flight.next(); next !== undefined; next = flight.next()) yield next;
    },
  };
}

function startTime(args: Arguments): number {
  if (!args.given('start')) return Date.now() * 1000;
  const start = isoMicroseconds(args.text('start'));
  if (!isTime(start)) {
    throw new WrongUse(`--start expects a time like 2026-11-25T10:00:00Z, found ${args.text('start')}`);
  }
  return start;
}

const scenariosFolder = fileURLToPath(new URL('../../replay/rehearsal/scenarios', import.meta.url));

export const scenarioNames = (): string[] =>
  readdirSync(scenariosFolder)
    .filter((name) => name.endsWith('.yaml'))
    .map((name) => basename(name, '.yaml'));

/** Undefined after what is wrong with it was told. */
export function openScenario(name: string): Scenario | undefined {
  const file = extname(name) === '.yaml' ? name : join(scenariosFolder, `${name}.yaml`);
  if (!existsSync(file)) {
    const names = scenarioNames();
    const near = nearestName(name, names);
    throw new Trouble(
      `no scenario ${name}${near === undefined ? '' : `; did you mean ${near}?`} There are: ${names.join(', ')}`,
    );
  }
  let data: unknown;
  try {
    data = parse(readFileSync(file, 'utf8'));
  } catch (error) {
    throw new Trouble(`${file}: ${(error as Error).message}`);
  }
  const scenario = readScenario(data, file);
  if (scenario.value === undefined) sayFindings(scenario.findings);
  return scenario.value;
}

/** The frames of a recording, at the distances in ground time at which they were received. */
function* recordedDepartures(file: string, args: Arguments): Generator<Departure> {
  const loss = args.optionalNumber('loss') ?? 0;
  const delayUs = (args.optionalNumber('delay') ?? 0) * 1000;
  const [receiver] = args.texts('receiver');
  const chance = new Chance(args.optionalNumber('seed') ?? 1, 'send');
  const recording = Recording.open(file);
  let first = Number.NaN;
  try {
    for (const entry of recording.entries()) {
      if (entry.kind !== 'frame') continue;
      if (Number.isNaN(first)) first = entry.ground;
      if (loss > 0 && chance.uniform() < loss) continue;
      const bytes = receiver === undefined ? entry.bytes : renamed(entry.bytes, receiver);
      yield { sendAtUs: entry.ground - first + delayUs, bytes };
    }
  } finally {
    recording.close();
  }
}

function renamed(bytes: Uint8Array, receiver: string): Uint8Array {
  try {
    const { quality, frame } = decodeEnvelope(bytes);
    return encodeEnvelope(receiver, quality, frame);
  } catch {
    // Whatever arrived then arrives again.
    return bytes;
  }
}

interface Sent {
  messages: number;
  bytes: number;
  seconds: number;
}

async function sendAll(
  departures: Iterable<Departure>,
  outlet: Outlet,
  /** lead: milliseconds until the first message leaves */
  { fast, lead }: { fast: boolean; lead: number },
  stopped: Promise<void>,
): Promise<Sent> {
  const began = performance.now() + lead;
  const sent = { messages: 0, bytes: 0 };
  let over = false;
  let wake = (): void => undefined;
  const stop = stopped.then(() => {
    over = true;
    wake();
  });
  const wait = (ms: number) =>
    new Promise<void>((resolve) => {
      const timer = setTimeout(resolve, ms);
      wake = () => {
        clearTimeout(timer);
        resolve();
      };
    });
  for (const { sendAtUs, bytes } of departures) {
    const early = () => (fast ? 0 : sendAtUs / 1000 - (performance.now() - began));
    if (early() > 0) {
      // a timer may ring a little before its time; nothing leaves early
      for (let left = early(); left > 0 && !over; left = early()) await wait(Math.ceil(left));
    }
    // A turn of the loop now and then, so that Ctrl-C is heard and a busy receiver can keep up.
    else if (sent.messages % 64 === 63) await new Promise((resolve) => setImmediate(resolve));
    if (over) break;
    await outlet.send(bytes);
    sent.messages++;
    sent.bytes += bytes.length;
  }
  if (over) await stop;
  else say('the flight is over');
  return { ...sent, seconds: (performance.now() - began) / 1000 };
}
