import { createSocket } from 'node:dgram';
import { existsSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { Action } from '../protocol/entry.ts';
import { columnIds } from '../protocol/mission.ts';
import { encodeEnvelope } from '../protocol/wire.ts';
import { Recording } from '../replay/recording/recording.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { cookieOf, TestDisplay } from '../test/support/test-display.ts';
import { derived, frameBytes, group, levelLimit, mission, parameter } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { Station, type StationOptions } from './station.ts';

const tiny = mission({
  groups: [group('main', 100), group('slow', 2)],
  parameters: [parameter('A', 'main'), parameter('B', 'slow')],
  derived: [derived('TWICE', 'A', 'A + A')],
  limits: [levelLimit('a-high', 'A', { above: { warning: 100 } })],
});

let recordings: string;
const opened: (() => unknown)[] = [];
beforeEach(() => {
  recordings = temporaryFolder();
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

async function start(more: Partial<StationOptions> = {}) {
  const station = await Station.start({
    mode: 'rehearsal',
    mission: tiny,
    files: [{ name: 'mission.yaml', text: 'name: Tiny\n' }],
    listen: ['udp://127.0.0.1:0'],
    recordings,
    port: 0,
    ...more,
  });
  opened.push(() => station.close());
  return station;
}

async function signIn(station: Station, person: string): Promise<TestDisplay> {
  const link = station.links.find((who) => who.person === person)!;
  const opening = await TestDisplay.open(link.address);
  opened.push(() => opening.socket.terminate());
  return opening;
}

/** Sends frames of the tiny mission, 20 ms of aircraft time each, from a socket of its own. */
class Aircraft {
  readonly #socket = createSocket('udp4');
  readonly #port: number;
  #counter = 0;
  #timeUs = Date.now() * 1000;
  #timer: NodeJS.Timeout | undefined;

  constructor(station: Station) {
    this.#port = Number(station.inputs[0]!.split(':').at(-1));
    opened.push(() => this.stop());
  }

  frame(a: number): Uint8Array {
    const rows = [{ A: a }, { A: a }];
    const bytes = frameBytes(tiny, this.#counter++, this.#timeUs, [
      { group: 'main', rows },
      ...(this.#counter % 25 === 0 ? [{ group: 'slow', rows: [{ B: 1 }] }] : []),
    ]);
    this.#timeUs += 20_000;
    return encodeEnvelope('North', 60_000, bytes);
  }

  raw(bytes: Uint8Array): Promise<void> {
    return new Promise((resolve) => this.#socket.send(bytes, this.#port, '127.0.0.1', () => resolve()));
  }

  /** Flies in real time until stopped. */
  fly(a: () => number = () => 1) {
    this.#timer = setInterval(() => void this.raw(this.frame(a())), 20);
  }

  stop() {
    clearInterval(this.#timer);
    if (this.#timer !== undefined || this.#counter >= 0) this.#socket.close();
    this.#counter = -1;
    this.#timer = undefined;
    this.stop = () => undefined;
  }
}

const call = (reason: string): Action => ({
  act: 'stop call',
  stopClass: 1,
  word: 'KNOCK IT OFF',
  reason,
  caller: 'engine',
  alarm: '',
});
const wantAll = (display: TestDisplay) =>
  display.say({ subscribe: { columns: columnIds(tiny).map((_, i) => i), rateHz: 30, historyS: 10 } });

describe('two displays', () => {
  it('see the same flight and one stop call', async () => {
    const station = await start();
    new Aircraft(station).fly(() => 7);
    const conductor = await signIn(station, 'conductor');
    const engineer = await signIn(station, 'engineer');
    for (const display of [conductor, engineer]) {
      wantAll(display);
      await waitUntil('values come', () => display.updates().at(-1)?.latest?.[2]?.value === 14);
      await waitUntil('the stream is received', () => display.room()?.stream?.state === 'receiving');
    }
    engineer.act(5, call('oscillation'));
    await waitUntil('the call is answered', () => engineer.result(5));
    expect(engineer.result(5)).toMatchObject({ accepted: true, reason: '' });
    for (const display of [conductor, engineer]) {
      await waitUntil('the call is shown', () => display.room()?.calls?.length === 1);
      expect(display.room()!.calls![0]).toMatchObject({
        word: 'KNOCK IT OFF',
        reason: 'oscillation',
        person: 'engineer',
      });
    }
    expect(conductor.result(5)).toBeUndefined();
  });

  it('see an alarm within moments of the frame that holds it', async () => {
    const station = await start();
    let a = 1;
    new Aircraft(station).fly(() => a);
    const display = await signIn(station, 'conductor');
    await waitUntil('the stream is received', () => display.room()?.stream?.state === 'receiving');
    a = 101;
    const from = performance.now();
    await waitUntil('the alarm is shown', () => display.room()?.alarms?.some((alarm) => alarm.id === 'a-high'));
    expect(performance.now() - from).toBeLessThan(250);
    const alarm = display.room()!.alarms!.find(({ id }) => id === 'a-high')!;
    expect(alarm).toMatchObject({ level: 'warning', condition: 'outside', held: true, value: 101, limit: 100 });
    expect(alarm.groundUs! - alarm.aircraftUs!).toBeLessThan(1_000_000);
  });

  it('an action that the person may not take is refused in words, and is in the log', async () => {
    const station = await start();
    const engineer = await signIn(station, 'engineer');
    engineer.act(1, { act: 'close flight' });
    await waitUntil('it is answered', () => engineer.result(1));
    expect(engineer.result(1)!.accepted).toBe(false);
    expect(engineer.result(1)!.reason).not.toBe('');
    await station.close();
    const recording = Recording.open(station.recordingFile);
    opened.push(() => recording.close());
    expect(recording.actions()).toMatchObject([{ accepted: false, action: { person: 'engineer' } }]);
  });
});

describe('a display that misbehaves does not disturb another:', () => {
  const rubbish: [string, (display: TestDisplay) => void, number][] = [
    ['bytes that are no message', (display) => display.socket.send(Buffer.from([0xff, 0xff, 0xff, 0xff])), 1007],
    ['an empty message', (display) => display.socket.send(Buffer.alloc(0)), 1007],
    ['text', (display) => display.socket.send('hello'), 1007],
    ['an action without an act', (display) => display.say({ action: { request: 1 } }), 1007],
    ['a column that is not there', (display) => display.say({ subscribe: { columns: [999], rateHz: 1 } }), 1007],
    ['a replay command in a live room', (display) => display.say({ playback: { playing: true } }), 1007],
    ['a message over the cap', (display) => display.socket.send(Buffer.alloc(100_000)), 1009],
    [
      'a flood',
      (display) => {
        for (let n = 0; n < 3000; n++) display.say({ drawn: { sequence: 0 } });
      },
      1008,
    ],
  ];
  it.each(rubbish)('%s', async (_, misbehave, code) => {
    const station = await start();
    new Aircraft(station).fly();
    const good = await signIn(station, 'conductor');
    wantAll(good);
    const bad = await signIn(station, 'engineer');
    await waitUntil('values come', () => good.updates().length > 3);
    misbehave(bad);
    const closed = await waitUntil('it is cut off', () => bad.closed);
    expect(closed.code).toBe(code);
    if (code !== 1009) expect(closed.reason).not.toBe('');
    const before = good.updates().length;
    await waitUntil('values still come', () => good.updates().length > before + 10);
    expect(good.closed).toBeUndefined();
  });

  it('one that never reads', async () => {
    const station = await start();
    new Aircraft(station).fly();
    const good = await signIn(station, 'conductor');
    wantAll(good);
    const stuck = await signIn(station, 'engineer');
    wantAll(stuck);
    await waitUntil('both get values', () => good.updates().length > 3 && stuck.updates().length > 3);
    stuck.socket.pause();
    const before = good.updates().length;
    await waitUntil('the other still gets values', () => good.updates().length > before + 60);
    stuck.socket.resume();
    const skipped = () => stuck.updates().reduce((sum, update) => sum + (update.skipped ?? 0), 0);
    await waitUntil('it is told what was left out', () => skipped() > 10);
    expect(good.updates().reduce((sum, update) => sum + (update.skipped ?? 0), 0)).toBeLessThan(5);
  });
});

describe('nobody gets in', () => {
  const refused = async (address: string, headers: Record<string, string>) => {
    const socket = new WebSocket(`${address.replace('http', 'ws')}/ws/v1`, { headers });
    return new Promise<string>((resolve) => socket.on('error', (error) => resolve(error.message)));
  };
  it('without a session, with a foreign one, or from another page', async () => {
    const station = await start();
    expect(await refused(station.address, {})).toContain('401');
    expect(await refused(station.address, { cookie: 'groundchase=1' })).toContain('401');
    const cookie = await cookieOf(station.links[0]!.address);
    expect(await refused(station.address, { cookie, origin: 'http://example.test' })).toContain('403');
    const port = station.address.split(':').at(-1);
    expect(await refused(station.address, { cookie, host: `example.test:${port}` })).toContain('421');
  });

  it('to act in a live flight by the viewing link', async () => {
    const station = await start({ mode: 'live' });
    const observer = await signIn(station, 'observer');
    expect(observer.heard[0]!.welcome).toMatchObject({ mode: 'live', position: '', may: [] });
    observer.act(1, call('no'));
    await waitUntil('it is answered', () => observer.result(1));
    expect(observer.result(1)!.accepted).toBe(false);
  });
});

it('hostile datagrams are counted, and the flight goes on', async () => {
  const station = await start();
  const aircraft = new Aircraft(station);
  const display = await signIn(station, 'conductor');
  wantAll(display);
  await aircraft.raw(aircraft.frame(3));
  const whole = aircraft.frame(3);
  const broken = whole.slice();
  broken[broken.length - 3]! ^= 1;
  const foreign = encodeEnvelope('North', 1, frameBytes({ ...tiny, stream: 'OTHER' }, 1, Date.now() * 1000, []));
  const random = Uint8Array.from({ length: 400 }, (_, i) => (i * 7919) & 255);
  const hostile = [
    broken,
    whole.slice(0, 30),
    whole.slice(0, 1),
    foreign,
    random,
    new Uint8Array(60_000),
    Buffer.from('GET /'),
  ];
  for (const bytes of hostile) await aircraft.raw(bytes);
  const stream = () => display.room()?.stream;
  await waitUntil('all are counted', () => (stream()?.damaged ?? 0) + (stream()?.foreign ?? 0) === hostile.length);
  aircraft.fly(() => 9);
  await waitUntil('the flight goes on', () => display.updates().at(-1)?.latest?.[2]?.value === 18);
});

it('stops and starts again in one process, and leaves nothing open', async () => {
  const handles = () =>
    process
      .getActiveResourcesInfo()
      .filter((kind) => kind !== 'Immediate')
      .sort();
  const round = async () => {
    const station = await start({ listen: ['udp://127.0.0.1:0', 'tcp://127.0.0.1:0', 'ws://127.0.0.1:0'] });
    const aircraft = new Aircraft(station);
    const display = await signIn(station, 'conductor');
    await aircraft.raw(aircraft.frame(1));
    await waitUntil('the frame is seen', () => display.room()?.stream?.frames === 1);
    aircraft.stop();
    await station.close();
    await waitUntil('the display is closed', () => display.closed);
  };
  await round();
  const before = handles();
  await round();
  await waitUntil('nothing is left', () => JSON.stringify(handles()) === JSON.stringify(before));
  expect(readdirSync(recordings).filter((name) => name.endsWith('.flight'))).toHaveLength(2);
});

it('a port in use keeps it from starting, is named, and leaves no recording', async () => {
  const first = await start();
  const port = Number(first.address.split(':').at(-1));
  const elsewhere = temporaryFolder();
  await expect(start({ port, recordings: elsewhere })).rejects.toThrow(`port ${port} is in use`);
  await expect(start({ listen: [first.inputs[0]!], recordings: elsewhere })).rejects.toThrow('is in use');
  expect(readdirSync(elsewhere)).toEqual([]);
});

it('a folder that cannot be written keeps it from starting, in words', async () => {
  const file = join(recordings, 'a-file');
  writeFileSync(file, '');
  await expect(start({ recordings: join(file, 'under') })).rejects.toThrow(`Recordings cannot be kept in ${file}`);
});

it('says and records that somebody set the system clock; ground time does not follow', async () => {
  let set = 0;
  const station = await start({ systemClock: () => Date.now() * 1000 + set });
  const file = station.recordingFile;
  const isRaised = () =>
    station.fold
      .room()
      .alarms.some(({ definition, state }) => definition.id === 'data.system-clock' && state.level > 0);
  expect(isRaised()).toBe(false);
  const before = station.fold.ground;
  set = -3600_000_000;
  await waitUntil('the caution', isRaised);
  expect(station.fold.ground).toBeGreaterThanOrEqual(before);
  set = 0;
  await waitUntil('it ends when the clocks agree', () => !isRaised());
  await station.close();
  const recording = Recording.open(file);
  const told = [...recording.entries()].flatMap((entry) => (entry.kind === 'clock' ? [entry.difference] : []));
  recording.close();
  expect(told.map((difference) => Math.round(difference / 1e6) + 0)).toEqual([-3600, 0]);
});

describe('the recording', () => {
  it('holds every frame as received, and replays to the same state', async () => {
    const station = await start();
    const aircraft = new Aircraft(station);
    const display = await signIn(station, 'conductor');
    const sent = [1, 2, 101, 3].map((a) => aircraft.frame(a));
    for (const bytes of sent) await aircraft.raw(bytes);
    await waitUntil('all are seen', () => display.room()?.stream?.frames === 4);
    await station.close();
    const recording = Recording.open(station.recordingFile);
    opened.push(() => recording.close());
    expect(recording.closed).toBe(true);
    const frames = [...recording.entries()].flatMap((entry) => (entry.kind === 'frame' ? [entry.bytes] : []));
    expect(frames.map((bytes) => Buffer.from(bytes))).toEqual(sent.map((bytes) => Buffer.from(bytes)));
    expect(recording.alarms().map(({ alarm, event }) => `${alarm} ${event}`)).toContain('a-high raised');
  });

  it('of a closed flight ends, and the next flight begins in another', async () => {
    const station = await start();
    new Aircraft(station).fly();
    const first = station.recordingFile;
    const conductor = await signIn(station, 'conductor');
    wantAll(conductor);
    await waitUntil('values come', () => conductor.updates().length > 3);
    conductor.act(1, { act: 'close flight' });
    await waitUntil('it is answered', () => conductor.result(1));
    expect(conductor.result(1)!.accepted).toBe(true);
    expect(station.recordingFile).not.toBe(first);
    const before = conductor.updates().length;
    await waitUntil('the stream goes on', () => conductor.updates().length > before + 10);
    await waitUntil('the first is sealed', () => {
      const recording = Recording.open(first);
      const { closed } = recording;
      recording.close();
      return closed;
    });
    await waitUntil('the next is open', () => existsSync(station.recordingFile));
  });
});
