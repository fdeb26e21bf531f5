import type { Server } from 'node:http';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { WhatIfAnswer } from '../../protocol/difference.ts';
import { aircraftTime } from '../../protocol/time.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import type { Front } from './front.ts';
import { frontApp, listenHttp } from './http.ts';
import { openApi } from './open-api.ts';

const answer: WhatIfAnswer = {
  limit: 'nr-low',
  from: aircraftTime(1),
  to: aircraftTime(9),
  samples: 8,
  differences: [
    {
      alarm: 'nr-low',
      family: 'aircraft',
      kinds: ['lost'],
      before: {
        from: aircraftTime(2),
        to: aircraftTime(3),
        stands: false,
        level: 'caution',
        value: 96,
        limitValue: null,
      },
      after: null,
      startsBy: 0,
      lastsBy: 0,
    },
  ],
};
const question = { limit: 'nr-low', values: { below: { caution: 95 }, persistence: 500_000, hysteresis: 0.5 } };

let server: Server;
let base: string;
let asked: { person: string; what: unknown; signal: AbortSignal }[];
let answerWith: (signal: AbortSignal) => ReturnType<Front['whatIf']>;
beforeEach(async () => {
  asked = [];
  answerWith = () => Promise.resolve({ answer });
  const app = frontApp({
    mode: 'live',
    missionName: () => '',
    missionJson: () => '',
    mission: () => undefined,
    health: () => ({}),
    alarmMetrics: () => undefined,
    readings: (limit) => (limit === 'peak' ? [{ name: 's above 860', value: 1.5 }] : undefined),
    report: () => Promise.resolve({ status: 503, error: 'none here' }),
    whatIf: (person, what, signal) => {
      asked.push({ person, what, signal });
      return answerWith(signal);
    },
    visitor: (cookie) => (cookie === 'good' ? { person: 'ines', name: 'Ines', position: 'engine' } : undefined),
    openSession: () => undefined,
    byPassword: () => false,
    enter: () => Promise.resolve(undefined),
    closeSession: () => '',
    isOwnOrigin: (origin, host) => origin === undefined || origin === `http://${host}`,
    isOwnHost: () => true,
    display: '/nowhere',
  });
  server = await listenHttp(app, '127.0.0.1', 0);
  base = `http://127.0.0.1:${(server.address() as { port: number }).port}`;
});
afterEach(() => new Promise((resolve) => server.close(resolve).closeAllConnections()));

const ask = async (body: unknown, headers: Record<string, string> = {}, signal?: AbortSignal) => {
  const answered = await fetch(`${base}/api/v1/what-if`, {
    method: 'POST',
    headers: { cookie: 'good', 'content-type': 'application/json', ...headers },
    body: typeof body === 'string' ? body : JSON.stringify(body),
    ...(signal && { signal }),
  });
  return { status: answered.status, body: (await answered.json()) as Record<string, unknown> };
};

it('hands the question over with who asks, and answers as the description says', async () => {
  expect(await ask(question)).toEqual({ status: 200, body: JSON.parse(JSON.stringify(answer)) as object });
  expect(asked).toMatchObject([{ person: 'ines', what: question }]);
  const { components } = openApi() as { components: { schemas: { WhatIf: object } } };
  const described = z.fromJSONSchema(JSON.parse(JSON.stringify(components.schemas.WhatIf)));
  expect(described.safeParse(JSON.parse(JSON.stringify(answer))).error?.issues).toBeUndefined();
  expect(described.safeParse({ ...answer, differences: [{ alarm: 'x' }] }).success).toBe(false);
});

it('passes on why there is no answer', async () => {
  answerWith = () => Promise.resolve({ status: 409, error: 'still being answered' });
  expect(await ask(question)).toEqual({ status: 409, body: { error: 'still being answered' } });
});

it('tells when nobody waits any more', async () => {
  let over = false;
  answerWith = (signal) =>
    new Promise((resolve) =>
      signal.addEventListener('abort', () => {
        over = true;
        resolve({ status: 499, error: 'gone' });
      }),
    );
  const gone = new AbortController();
  const asking = ask(question, {}, gone.signal);
  await waitUntil('it is asked', () => asked.length === 1);
  gone.abort();
  await expect(asking).rejects.toThrow();
  await waitUntil('it is told', () => over);
});

describe('refuses, in words, and asks nobody:', () => {
  const deep = `${'['.repeat(3000)}${']'.repeat(3000)}`;
  it.each<[string, unknown, Record<string, string>, number, RegExp]>([
    ['whoever is not signed in', question, { cookie: 'bad' }, 401, /not signed in/],
    ['a page of somebody else', question, { origin: 'http://example.test' }, 403, /not of this station/],
    ['a form', 'limit=nr-low', { 'content-type': 'application/x-www-form-urlencoded' }, 415, /JSON is expected/],
    ['what is no JSON', '{"limit":', {}, 400, /not JSON/],
    ['nothing', '', {}, 400, /limit|expected/],
    ['a huge body', { ...question, limit: 'x'.repeat(20_000) }, {}, 413, /too large/],
    ['depth without end', deep, {}, 400, /expected|not understood/],
    ['a limit without a name', { ...question, limit: '' }, {}, 400, /limit/],
    ['a level there is none of', { ...question, values: { ...question.values, above: { red: 1 } } }, {}, 400, /red/],
    ['text for a value', { ...question, values: { ...question.values, below: { caution: '95' } } }, {}, 400, /caution/],
    [
      'a time before it begins',
      { ...question, values: { ...question.values, persistence: -1 } },
      {},
      400,
      /persistence/,
    ],
    ['half a microsecond', { ...question, values: { ...question.values, persistence: 0.5 } }, {}, 400, /persistence/],
    ['a field more', { ...question, person: 'td' }, {}, 400, /person/],
    ['a name of every object', '{"__proto__":{"limit":"x"},"limit":"x"}', {}, 400, /values|proto/],
  ])('%s', async (_, body, headers, status, words) => {
    const answered = await ask(body, headers);
    expect(answered.status).toBe(status);
    expect(answered.body['error']).toMatch(words);
    expect(asked).toEqual([]);
  });
});
