/** Who may sit at a station's displays, and what is kept of it: over the real HTTP and WebSocket. */
import { join } from 'node:path';
import { afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import { encodeToStation } from '../protocol/wire.ts';
import { Recording } from '../replay/recording/recording.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { cookieOf, TestDisplay } from '../test/support/test-display.ts';
import { mission } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { AccountBook } from './access/account-book.ts';
import { type Account, changeAccounts } from './access/account-file.ts';
import { hashPassword, type PasswordHash } from './access/password.ts';
import { Station } from './station.ts';

const PASSWORD = 'a long enough word';
let password: PasswordHash;
let file: string;
const opened: (() => unknown)[] = [];
beforeAll(async () => {
  password = await hashPassword(PASSWORD);
});
beforeEach(() => {
  file = join(temporaryFolder(), 'accounts.json');
  changeAccounts(file, () => [account('conductor'), account('engineer'), account('visitor')]);
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});
const account = (id: string): Account => ({
  id,
  name: `The ${id}`,
  password,
  created: '2026-11-25T10:00:00.000Z',
  disabled: false,
});
const change = (id: string, more: Partial<Account>) =>
  changeAccounts(file, (all) => all.map((one) => (one.id === id ? { ...one, ...more } : one)));

async function start(): Promise<Station> {
  const station = await Station.start({
    mode: 'live',
    mission: mission(),
    files: [],
    listen: ['udp://127.0.0.1:0'],
    recordings: temporaryFolder(),
    port: 0,
    accounts: new AccountBook(file),
  });
  opened.push(() => station.close());
  return station;
}

const post = (address: string, path: string, fields: Record<string, string>, headers: Record<string, string> = {}) =>
  fetch(`${address}${path}`, { method: 'POST', redirect: 'manual', body: new URLSearchParams(fields), headers });

async function signIn(station: Station, id: string): Promise<string> {
  const answer = await post(station.address, '/sign-in', { id, password: PASSWORD });
  expect(answer.status).toBe(303);
  return (answer.headers.get('set-cookie') as string).split(';')[0] as string;
}

async function display(station: Station, cookie: string): Promise<TestDisplay> {
  const one = new TestDisplay(station.address, cookie);
  opened.push(() => one.socket.terminate());
  await waitUntil('it is welcome', () => one.heard.some((message) => message.welcome));
  return one;
}
const welcomeOf = (one: TestDisplay) => one.heard.find((message) => message.welcome)?.welcome;

/** What became of every attempt, once the station is closed. */
async function attempts(station: Station) {
  await station.close();
  const recording = Recording.open(station.recordingFile);
  opened.push(() => recording.close());
  // what the station says by itself has nobody behind it
  const entries = [...recording.entries()].flatMap((entry) =>
    entry.kind === 'action' && entry.person !== '' ? [entry] : [],
  );
  return { entries, outcomes: recording.actions().filter(({ action }) => action.person !== '') };
}

describe('a live station with accounts', () => {
  it('has no links, and lets people act as the mission of the day says', async () => {
    const station = await start();
    expect(station.links).toEqual([]);
    const conductor = await display(station, await signIn(station, 'conductor'));
    expect(welcomeOf(conductor)).toMatchObject({
      person: 'conductor',
      personName: 'The conductor',
      position: 'test conductor',
    });
    expect(welcomeOf(conductor)?.may).toContain('name flight');
    const visitor = await display(station, await signIn(station, 'visitor'));
    expect(welcomeOf(visitor)).toMatchObject({ position: '', may: [] });
    visitor.act(1, { act: 'mark', text: 'seen', aircraft: 0 });
    conductor.act(1, { act: 'mark', text: 'heard', aircraft: 0 });
    await waitUntil('both are answered', () => visitor.result(1) && conductor.result(1));
    expect(conductor.result(1)).toMatchObject({ accepted: true });
    expect(visitor.result(1)).toMatchObject({ accepted: false });
    expect(visitor.result(1)?.reason).toContain('visitor is not a person of this mission');
    const { outcomes } = await attempts(station);
    expect(outcomes.map(({ action, accepted }) => [action.person, accepted])).toEqual([
      ['visitor', false],
      ['conductor', true],
    ]);
  });

  it('turns away whoever is not signed in, with a reason', async () => {
    const station = await start();
    const good = await signIn(station, 'conductor');
    expect((await post(station.address, '/sign-in', { id: 'conductor', password: 'the wrong one' })).status).toBe(403);
    const turnedAway = (headers: Record<string, string>) =>
      new Promise<string>((resolve) => {
        const socket = new WebSocket(`${station.address.replace('http', 'ws')}/ws/v1`, { headers });
        socket.on('error', () => undefined);
        socket.on('unexpected-response', (_, response) => {
          let body = '';
          response.on('data', (part: Buffer) => (body += part.toString()));
          response.on('end', () => resolve(`${response.statusCode} ${body}`));
        });
      });
    expect(await turnedAway({})).toBe('401 not signed in');
    expect(await turnedAway({ cookie: `${good.slice(0, -2)}xx` })).toBe('401 not signed in');
    expect(await turnedAway({ cookie: good, origin: 'http://example.test' })).toBe('403 from another page');
    const health = (await (await fetch(`${station.address}/healthz`)).json()) as { turnedAway: object };
    expect(health.turnedAway).toEqual({ 'not signed in': 2, 'from another page': 1 });
  });

  it('ends the displays of whoever signs out, and of no other', async () => {
    const station = await start();
    const cookie = await signIn(station, 'conductor');
    const [first, second] = [await display(station, cookie), await display(station, cookie)];
    const other = await display(station, await signIn(station, 'conductor'));
    const answer = await post(station.address, '/sign-out', {}, { cookie });
    expect(answer.headers.get('set-cookie')).toContain('Max-Age=0');
    await waitUntil('both are closed', () => first.closed && second.closed);
    expect(first.closed).toEqual({ code: 1008, reason: 'signed out' });
    expect(other.closed).toBeUndefined();
    expect((await fetch(`${station.address}/api/v1/session`, { headers: { cookie } })).status).toBe(401);
  });

  it('an account that is disabled cannot act from that moment, and the attempt is kept', async () => {
    const station = await start();
    const engineer = await display(station, await signIn(station, 'engineer'));
    engineer.act(1, { act: 'mark', text: 'before', aircraft: 0 });
    await waitUntil('it is answered', () => engineer.result(1));
    change('engineer', { disabled: true });
    engineer.act(2, { act: 'mark', text: 'after', aircraft: 0 });
    await waitUntil('the display is closed', () => engineer.closed);
    expect(engineer.result(2)).toMatchObject({ accepted: false, reason: 'the session has ended: sign in again' });
    expect((await post(station.address, '/sign-in', { id: 'engineer', password: PASSWORD })).status).toBe(403);
    const { entries, outcomes } = await attempts(station);
    expect(outcomes.map(({ accepted }) => accepted)).toEqual([true, false]);
    expect(entries[1]).toMatchObject({
      person: 'engineer',
      request: 2,
      action: { act: 'unreadable', fault: 'not done, since the session had ended: mark' },
    });
    expect(outcomes[1]?.reason).not.toBe('');
  });
});

it('every connection has an id of its own, kept with what was done there and when', async () => {
  const station = await start();
  const cookie = await signIn(station, 'conductor');
  const [first, second] = [await display(station, cookie), await display(station, cookie)];
  const mark = (text: string) => ({ mark: { text, aircraftUs: 0 } });
  const madeGroundUs = Date.now() * 1000 - 1000;
  first.say({ action: { request: 7, madeGroundUs, action: mark('one') } });
  await waitUntil('it is answered', () => first.result(7));
  second.say({ action: { request: 7, action: mark('two') } });
  await waitUntil('it is answered', () => second.result(7));
  const { entries } = await attempts(station);
  expect(entries.map(({ request, made }) => [request, made])).toEqual([
    [7, madeGroundUs],
    [7, undefined],
  ]);
  const sessions = entries.map(({ session }) => session as string);
  expect(new Set(sessions).size).toBe(2);
  for (const session of sessions) expect(session).toMatch(/^[0-9a-f]{8}-\d+$/);
});

describe('a message that makes no sense closes its socket and is an entry, one for each connection:', () => {
  const whole = encodeToStation({ action: { request: 9, action: { mark: { text: 'x', aircraftUs: 0 } } } });
  it.each<[string, Uint8Array | string, number, RegExp]>([
    ['random bytes', Uint8Array.of(0x81, 0xff, 0x03, 0x99, 0x00), 0, /message to the station/],
    ['half a message', whole.subarray(0, whole.length - 3), 0, /message to the station/],
    ['text', 'hello', 0, /binary messages only/],
    ['an action without an act', encodeToStation({ action: { request: 9 } }), 9, /none set/],
    [
      'a limit with a side there is none of',
      encodeToStation({
        action: {
          request: 9,
          action: { changeLimit: { values: { levels: [{ side: 'left', level: 'caution', value: 1 }] } } },
        },
      }),
      9,
      /side left/,
    ],
    [
      'a text too long',
      encodeToStation({ action: { request: 9, action: { mark: { text: 'x'.repeat(3000) } } } }),
      9,
      /3000 characters/,
    ],
    ['a message too large', new Uint8Array(70_000), 0, /message too large/],
  ])('%s', async (_, message, request, fault) => {
    const station = await start();
    const conductor = await display(station, await signIn(station, 'conductor'));
    conductor.socket.send(message);
    conductor.socket.send(message);
    await waitUntil('it is closed', () => conductor.closed);
    expect([1007, 1009]).toContain(conductor.closed?.code);
    const { entries, outcomes } = await attempts(station);
    expect(entries).toHaveLength(1);
    expect(entries[0]).toMatchObject({ person: 'conductor', position: 'test conductor', request });
    expect(entries[0]?.action).toMatchObject({ act: 'unreadable', fault: expect.stringMatching(fault) as string });
    expect(outcomes[0]?.accepted).toBe(false);
    expect(outcomes[0]?.reason).not.toBe('');
  });
});

it('nobody acts as somebody else: what a message adds of a person is not read', async () => {
  const station = await Station.start({
    mode: 'rehearsal',
    mission: mission(),
    files: [],
    listen: [],
    recordings: temporaryFolder(),
    port: 0,
  });
  opened.push(() => station.close());
  const link = station.links.find(({ person }) => person === 'engineer')?.address as string;
  const engineer = await display(station, await cookieOf(link));
  const honest = encodeToStation({ action: { request: 1, action: { nameFlight: { number: '7' } } } });
  // the entry's own fields of person and position (flight-log.proto), put where the display's message could carry them
  const text = (field: number, value: string) => [(field << 3) | 2, value.length, ...Buffer.from(value)];
  const forged = [...text(1, 'director'), ...text(2, 'test director'), ...text(5, 'another'), ...text(9, 'director')];
  const inner = [...honest.subarray(2), ...forged];
  engineer.socket.send(Uint8Array.from([honest[0] as number, inner.length, ...inner]));
  await waitUntil('it is answered or closed', () => engineer.result(1) ?? engineer.closed);
  const { entries, outcomes } = await attempts(station);
  expect(entries).toHaveLength(1);
  expect(entries[0]).toMatchObject({ person: 'engineer', position: 'engine' });
  expect(outcomes[0]?.accepted).toBe(false);
});
