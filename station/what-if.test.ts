/** Over the real recording of a running station, with the real fold. */
import { createSocket } from 'node:dgram';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { WhatIfAnswer } from '../protocol/difference.ts';
import { groundTime, SECOND } from '../protocol/time.ts';
import { encodeEnvelope } from '../protocol/wire.ts';
import { changeOfLimit, changeReplay } from '../replay/change-replay.ts';
import { Recording } from '../replay/recording/recording.ts';
import { RecordingWriter } from '../replay/recording/writer.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { cookieOf } from '../test/support/test-display.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { Pipeline } from './pipeline.ts';
import { alarmMetricsAnswer } from './serve/alarm-metrics.ts';
import { whatIfAnswer } from './serve/what-if.ts';
import { Station } from './station.ts';
import { WhatIf } from './what-if.ts';

const tiny = mission({
  groups: [group('main', 100)],
  parameters: [parameter('A', 'main', { physicalRange: [-1000, 1000] })],
  limits: [
    levelLimit('a-high', 'A', { above: { caution: 100 } }),
    levelLimit('b-high', 'A', { above: { caution: 120 } }),
  ],
});
const caution = (value: number) => ({ above: { caution: value }, persistence: 0, hysteresis: 0 });

const opened: (() => unknown)[] = [];
let station: Station;
let cookie: string;
let startUs: number;
beforeEach(async () => {
  station = await Station.start({
    mode: 'rehearsal',
    mission: tiny,
    files: [],
    listen: ['udp://127.0.0.1:0'],
    recordings: temporaryFolder(),
    port: 0,
  });
  opened.push(() => station.close());
  cookie = await cookieOf(station.links.find(({ person }) => person === 'engineer')?.address as string);
  startUs = Date.now() * 1000;
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

/** Flies for some frames, 20 ms each in real time, with A the number of the frame; gives the time of the last sample. */
async function fly(frames: number): Promise<number> {
  const socket = createSocket('udp4');
  const port = Number(station.inputs[0]?.split(':').at(-1));
  let at = startUs;
  await new Promise<void>((resolve) => {
    let n = 0;
    const timer = setInterval(() => {
      const bytes = frameBytes(tiny, n, at, [{ group: 'main', rows: [{ A: n }, { A: n }] }]);
      at += 20_000;
      const isLast = ++n === frames;
      if (isLast) clearInterval(timer);
      socket.send(encodeEnvelope('North', 60_000, bytes), port, '127.0.0.1', () => {
        if (isLast) socket.close(() => resolve());
      });
    }, 20);
  });
  return at - 10_000;
}

const post = (body: object, more: RequestInit = {}) =>
  fetch(`${station.address}/api/v1/what-if`, {
    method: 'POST',
    headers: { cookie, 'content-type': 'application/json', origin: station.address },
    body: JSON.stringify(body),
    ...more,
  });

/** Asks until everything up to `to` is in the recording. */
const askUpTo = (to: number, body: object): Promise<WhatIfAnswer> =>
  waitUntil('all of it is looked at', async () => {
    const answered = await post(body);
    expect(answered.status).toBe(200);
    const answer = (await answered.json()) as WhatIfAnswer;
    return answer.to >= to ? answer : undefined;
  });

it('answers from the flight so far what a tighter and a looser limit would have meant', {
  timeout: 60_000,
}, async () => {
  const last = await fly(150);
  const tighter = await askUpTo(last, { limit: 'a-high', values: caution(50) });
  expect(whatIfAnswer.safeParse(tighter).error?.issues).toBeUndefined();
  expect(tighter).toMatchObject({ limit: 'a-high', from: startUs, to: last, samples: 300 });
  expect(tighter.differences).toEqual([
    {
      alarm: 'a-high',
      family: 'aircraft',
      kinds: ['earlier', 'longer'],
      before: { from: startUs + 101 * 20_000, to: last, stands: true, level: 'caution', value: 101, limitValue: 100 },
      after: { from: startUs + 51 * 20_000, to: last, stands: true, level: 'caution', value: 51, limitValue: 50 },
      startsBy: -SECOND,
      lastsBy: SECOND,
    },
  ]);
  const looser = await askUpTo(last, { limit: 'a-high', values: caution(500) });
  expect(looser.differences.map(({ alarm, kinds }) => [alarm, kinds])).toEqual([['a-high', ['lost']]]);
  expect((await askUpTo(last, { limit: 'b-high', values: caution(120) })).differences).toEqual([]);
  // the flight itself knows nothing of it
  expect(station.fold.mission?.limits[0]?.above).toEqual({ caution: 100 });

  const metrics = (await (
    await fetch(`${station.address}/api/v1/alarm-metrics`, { headers: { cookie } })
  ).json()) as object;
  expect(alarmMetricsAnswer.safeParse(metrics).error?.issues).toBeUndefined();
  expect(metrics).toMatchObject({ priorities: { caution: 2 } });

  // the same of the closed recording, without a thread
  await station.close();
  const recording = Recording.open(station.recordingFile);
  opened.push(() => recording.close());
  const replayed = changeReplay({
    entries: recording.entries(),
    makeFold: () => new Pipeline({ gather: 0 }),
    change: changeOfLimit('a-high', caution(50)),
  });
  const ofLimits = replayed.differences.filter(({ family }) => family === 'aircraft');
  expect(JSON.parse(JSON.stringify(ofLimits))).toEqual(tighter.differences);
});

describe('it is refused in words', () => {
  it.each<[string, object, number, RegExp]>([
    ['for a limit that is not there', { limit: 'c-high', values: caution(1) }, 404, /no limit c-high/],
    ['without any level', { limit: 'a-high', values: { persistence: 0, hysteresis: 0 } }, 400, /no level/],
    ['for values that are not physical', { limit: 'a-high', values: caution(5000) }, 400, /physical range/],
    [
      'for levels in a wrong order',
      { limit: 'a-high', values: { above: { caution: 100, warning: 90 }, persistence: 0, hysteresis: 0 } },
      400,
      /warning above 90/,
    ],
  ])('%s', async (_, body, status, words) => {
    const answered = await post(body);
    expect(answered.status).toBe(status);
    expect(((await answered.json()) as { error: string }).error).toMatch(words);
  });

  it('when the same person asks something else meanwhile; that is answered', async () => {
    await fly(10);
    const file = station.recordingFile;
    const whatIf = new WhatIf({ mission: () => tiny, file: () => file });
    const never = new AbortController().signal;
    const ask = (value: number) => whatIf.ask('a', { limit: 'a-high', values: caution(value) }, never);
    const [first, second, third] = await Promise.all([ask(5), ask(6), ask(7)]);
    const replaced = { status: 409, error: 'you asked something else meanwhile' };
    expect([first, second]).toEqual([replaced, replaced]);
    expect(third).toMatchObject({ answer: { limit: 'a-high' } });
  });
});

it('whoever goes away is not waited for, and may ask again', async () => {
  await fly(10);
  const body = { limit: 'a-high', values: caution(5) };
  const gone = new AbortController();
  const asking = post(body, { signal: gone.signal });
  setImmediate(() => gone.abort());
  await expect(asking).rejects.toThrow();
  await waitUntil('the next is answered', async () => (await post(body)).status === 200);
});

it('the flight goes on while it is worked out', { timeout: 60_000 }, async () => {
  const frames = 40_000;
  const file = join(temporaryFolder(), 'long.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: startUs });
  writer.append({ kind: 'configuration', ground: groundTime(startUs), mission: tiny, files: [] });
  for (let n = 0; n < frames; n++) {
    const at = startUs + n * 20_000;
    writer.append(frameEntry(at, frameBytes(tiny, n, at, [{ group: 'main', rows: [{ A: n % 200 }, { A: n % 200 }] }])));
  }
  writer.close(startUs);
  const asked = { limit: 'a-high', values: caution(90) };
  const options = { mission: () => tiny, file: () => file };
  let longest = 0;
  let before = performance.now();
  const turn = setInterval(() => {
    longest = Math.max(longest, performance.now() - before);
    before = performance.now();
  }, 5);
  const began = performance.now();
  const outcome = await new WhatIf(options).ask('a', asked, new AbortController().signal);
  const spent = performance.now() - began;
  clearInterval(turn);
  expect(outcome).toMatchObject({ answer: { samples: 2 * frames } });
  // worked out here it would have held everything up for nearly all of that time
  expect(longest).toBeLessThan(spent / 3);
});

it('stops when it takes too long, when nobody waits, and when the station closes', async () => {
  await fly(10);
  await waitUntil('the file is there', () => station.recordingFile !== '');
  const options = { mission: () => station.fold.mission, file: () => station.recordingFile };
  const asked = { limit: 'a-high', values: caution(5) };
  const never = new AbortController().signal;
  expect(await new WhatIf({ ...options, within: 1 }).ask('a', asked, never)).toMatchObject({
    status: 503,
    error: expect.stringContaining('longer than') as string,
  });
  expect(await new WhatIf(options).ask('a', asked, AbortSignal.abort())).toMatchObject({ status: 499 });
  const closing = new WhatIf({ ...options, atOnce: 1 });
  const one = closing.ask('a', asked, never);
  expect(await closing.ask('b', asked, never)).toMatchObject({ status: 503 });
  await closing.close();
  expect(await one).toMatchObject({ status: 503, error: 'the station is closing' });
  expect(await closing.ask('a', asked, never)).toMatchObject({ status: 503 });
  expect(await new WhatIf({ ...options, file: () => '' }).ask('a', asked, never)).toMatchObject({ status: 503 });
  const nowhere = await new WhatIf({ ...options, file: () => '/nowhere/x.flight' }).ask('a', asked, never);
  expect(nowhere).toEqual({ status: 500, error: 'the recording cannot be read to its end' });
  const damaged = join(temporaryFolder(), 'x.flight');
  writeFileSync(damaged, 'no recording');
  expect(await new WhatIf({ ...options, file: () => damaged }).ask('a', asked, never)).toMatchObject({ status: 500 });
  const half = await new WhatIf({ ...options, until: () => startUs + 60_000 }).ask('a', asked, never);
  expect('answer' in half && half.answer.to).toBeLessThan(startUs + 100_000);
});
