/**
 * Messages that are forged, replayed, late or malformed, over the real WebSocket of a real station: each is refused with a
 * reason, and whatever comes from somebody who is signed in is in the recording.
 */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { WebSocket } from 'ws';
import type { Action } from '../../protocol/entry.ts';
import { actionToWire, encodeToStation } from '../../protocol/wire.ts';
import { answer, FullRoom } from '../support/full-room.ts';
import { waitUntil } from '../support/wait-until.ts';

let room: FullRoom;
beforeEach(async () => {
  room = await FullRoom.open();
});
afterEach(() => room.close());

/** A message as a display would send it; `made` in ground time, microseconds. */
const message = (request: number, action: Action, made = 0): Uint8Array =>
  encodeToStation({ action: { request, madeGroundUs: made, action: actionToWire(action) } });
const nameFlight: Action = { act: 'name flight', number: '7', crew: '', note: '' };

describe('forged:', () => {
  it('a message caught from the conductor and sent by the engineer is the engineer\u2019s', async () => {
    const caught = message(1, nameFlight);
    const [conductor, engineer] = [await room.sit('test conductor'), await room.sit('engine')];
    conductor.socket.send(caught);
    expect(await answer(conductor, 1)).toEqual({ accepted: true, reason: '' });
    engineer.socket.send(caught);
    expect((await answer(engineer, 1)).reason).toContain('engine may not name flight');
    const kept = await room.recorded();
    expect(kept.map(({ entry, outcome }) => [entry.person, entry.position, outcome.accepted])).toEqual([
      ['test-conductor', 'test conductor', true],
      ['engine', 'engine', false],
    ]);
  });

  it('what a message adds of a person, a position or a connection is not read', async () => {
    const text = (field: number, value: string) => [(field << 3) | 2, value.length, ...Buffer.from(value)];
    const honest = message(1, nameFlight);
    const added = [
      ...text(1, 'test-director'),
      ...text(2, 'test director'),
      ...text(5, 'another'),
      ...text(9, 'test-director'),
    ];
    for (const field of [[], ...added.map((_, n) => added.slice(n))]) {
      const engineer = await room.sit('engine');
      const inner = [...honest.subarray(2), ...field];
      engineer.socket.send(Uint8Array.from([honest[0] as number, inner.length, ...inner]));
      await waitUntil('it is answered or closed', () => engineer.result(1) ?? engineer.closed);
      expect(engineer.result(1)?.accepted ?? false).toBe(false);
      engineer.socket.close();
    }
    const kept = await room.recorded();
    expect(kept).toHaveLength(added.length + 1);
    for (const { entry, outcome } of kept) {
      expect([entry.person, entry.position, outcome.accepted]).toEqual(['engine', 'engine', false]);
      expect(entry.session).not.toBe('another');
      expect(outcome.reason).not.toBe('');
    }
  });

  it('without a session, with a cookie that was changed, or from another page nobody gets in, and it is counted', async () => {
    const good = room.cookies.get('test-director') as string;
    const turnedAway = (headers: Record<string, string>) =>
      new Promise<string>((resolve, reject) => {
        const socket = new WebSocket(`${room.station.address.replace('http', 'ws')}/ws/v1`, { headers });
        socket.on('open', () => reject(new Error('it was let in')));
        socket.on('error', () => undefined);
        socket.on('unexpected-response', (_, response) => {
          let body = '';
          response.on('data', (part: Buffer) => {
            body += part.toString();
          });
          response.on('end', () => resolve(`${response.statusCode} ${body}`));
        });
      });
    const [name, value] = good.split('=') as [string, string];
    const flipped = `${value[0] === 'A' ? 'B' : 'A'}${value.slice(1)}`;
    expect(await turnedAway({})).toBe('401 not signed in');
    for (const cookie of [`${name}=${flipped}`, `${name}=`, `${name}=${value}x`, `x${name}=${value}`, value]) {
      expect(await turnedAway({ cookie })).toBe('401 not signed in');
    }
    for (const origin of [
      'http://example.test',
      'null',
      'http://127.0.0.1:1',
      `${room.station.address}.example.test`,
    ]) {
      expect(await turnedAway({ cookie: good, origin })).toBe('403 from another page');
    }
    const { turnedAway: counted } = (await (await fetch(`${room.station.address}/healthz`)).json()) as {
      turnedAway: Record<string, number>;
    };
    expect(counted).toEqual({ 'not signed in': 6, 'from another page': 4 });
    expect(await room.recorded()).toEqual([]);
  });

  it('an action that only the station writes is refused when a display sends it', async () => {
    const director = await room.sit('test director');
    director.socket.send(message(1, { act: 'unreadable', fault: 'x' }));
    expect((await answer(director, 1)).reason).toContain('could not be read');
    expect(await room.recorded()).toMatchObject([{ outcome: { accepted: false } }]);
  });
});

describe('replayed:', () => {
  it('the same message again, or a number out of order, is refused; the next number is not', async () => {
    const director = await room.sit('test director');
    const caught = message(5, { act: 'mark', text: 'once', aircraft: 0 });
    director.socket.send(caught);
    expect((await answer(director, 5)).accepted).toBe(true);
    for (const again of [caught, message(4, nameFlight), message(5, nameFlight)]) director.socket.send(again);
    director.socket.send(message(6, nameFlight));
    expect((await answer(director, 6)).accepted).toBe(true);
    const kept = await room.recorded();
    expect(kept.map(({ outcome }) => outcome.accepted)).toEqual([true, false, false, false, true]);
    for (const { outcome } of kept.slice(1, 4)) {
      expect(outcome.reason).toMatch(/request \d of this connection was taken already, or came out of order/);
    }
    expect(room.station.fold.room().marks).toHaveLength(1);
  });

  it('caught on one connection and sent later on another it is too late; a call and a mark keep their own time', async () => {
    const made = Date.now() * 1000 - 60_000_000;
    const director = await room.sit('test director');
    director.socket.send(message(1, nameFlight, made));
    expect((await answer(director, 1)).reason).toContain('which is too late');
    director.socket.send(message(2, nameFlight, Date.now() * 1000 + 60_000_000));
    expect((await answer(director, 2)).reason).toContain('the clocks differ');
    director.socket.send(message(3, { act: 'mark', text: 'kept here meanwhile', aircraft: 0 }, made));
    expect(await answer(director, 3)).toEqual({ accepted: true, reason: '' });
    director.socket.send(message(4, nameFlight, Date.now() * 1000));
    expect(await answer(director, 4)).toEqual({ accepted: true, reason: '' });
    const kept = await room.recorded();
    expect(kept.map(({ entry, outcome }) => [entry.request, outcome.accepted])).toEqual([
      [1, false],
      [2, false],
      [3, true],
      [4, true],
    ]);
    expect(kept[0]?.entry.made).toBe(made);
  });
});

describe('malformed:', () => {
  const whole = message(1, nameFlight);
  const levels = (level: object): Uint8Array =>
    encodeToStation({
      action: { request: 1, action: { changeLimit: { limit: 'limit-engine', values: { levels: [level] } } } },
    });
  const twice = { side: 'above', level: 'caution', value: 1 };
  const cases: [string, Uint8Array | string][] = [
    ...Array.from({ length: whole.length - 1 }, (_, n): [string, Uint8Array] => [
      `a message cut after ${n + 1} bytes`,
      whole.subarray(0, n + 1),
    ]),
    ['random bytes', Uint8Array.from({ length: 200 }, (_, n) => (n * 151 + 255) & 255)],
    ['an empty message', new Uint8Array(0)],
    ['text', '{"action":"name flight"}'],
    ['an action without an act', encodeToStation({ action: { request: 1 } })],
    ['a side there is none of', levels({ side: 'left', level: 'caution', value: 1 })],
    ['a level there is none of', levels({ side: 'above', level: 'red', value: 1 })],
    [
      'a level told twice',
      encodeToStation({ action: { action: { changeLimit: { values: { levels: [twice, twice] } } } } }),
    ],
    ['a text too long', message(1, { act: 'mark', text: 'x'.repeat(2001), aircraft: 0 })],
    ['a message too large', new Uint8Array(65_537)],
    ['a command of replay', encodeToStation({ playback: { speed: 2 } })],
  ];

  it('each closes its connection with a reason, changes nothing, and is one entry that is refused', {
    timeout: 60_000,
  }, async () => {
    let closed = 0;
    for (const [what, bytes] of cases) {
      const director = await room.sit('test director');
      director.socket.send(bytes);
      const end = await waitUntil(`${what} is answered`, () => director.closed ?? director.result(1) ?? undefined);
      // what is cut may still be a whole message that says less: then it is refused as any other
      if ('code' in end) {
        closed++;
        expect([1007, 1009], what).toContain(end.code);
        if (end.code === 1007) expect(end.reason, what).not.toBe('');
      } else expect([what, end.accepted]).toEqual([what, false]);
      director.socket.close();
    }
    expect(closed).toBeGreaterThan(cases.length - 10);
    expect(room.station.fold.room().flight.number).toBe('');
    const kept = await room.recorded();
    expect(kept).toHaveLength(cases.length);
    for (const { entry, outcome } of kept) {
      expect([entry.person, outcome.accepted]).toEqual(['test-director', false]);
      expect(outcome.reason).not.toBe('');
    }
    expect(kept.filter(({ entry }) => entry.action.act === 'unreadable')).toHaveLength(closed);
  });
});
