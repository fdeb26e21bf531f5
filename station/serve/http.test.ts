import { mkdirSync, writeFileSync } from 'node:fs';
import type { Server } from 'node:http';
import { request } from 'node:http';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { cautions } from '../../protocol/cautions.ts';
import type { Front } from './front.ts';
import { frontApp, listenHttp } from './http.ts';

let server: Server;
let base: string;
let display: string;
const visitor = { person: 'dana', name: 'Dana Quill', position: 'test conductor' };
let inForce: Mission | undefined;
let accounts = false;
let enter: Front['enter'];
const front = (): Front => ({
  mode: 'rehearsal',
  missionName: () => 'A <mission>',
  missionJson: () => '{"name":"A"}',
  mission: () => inForce,
  health: () => ({ status: 'ok' }),
  alarmMetrics: () => undefined,
  readings: (limit) => (limit === 'peak' ? [{ name: 's above 860', value: 1.5 }] : undefined),
  whatIf: () => Promise.resolve({ status: 503, error: 'none here' }),
  report: () => Promise.resolve({ status: 503, error: 'none here' }),
  visitor: (cookie) => (cookie === 'session=good' ? visitor : undefined),
  openSession: (token) => (token === 'right' ? 'session=good; Path=/' : undefined),
  byPassword: () => accounts,
  enter: (id, password) => enter(id, password),
  closeSession: (cookie) => `session=; was ${cookie}; Max-Age=0`,
  isOwnOrigin: (origin, host) => origin === undefined || origin === `http://${host}`,
  isOwnHost: (host) => host?.startsWith('127.0.0.1') ?? false,
  display,
});

beforeEach(async () => {
  accounts = false;
  enter = () => Promise.resolve(undefined);
  display = temporaryFolder();
  server = await listenHttp(frontApp(front()), '127.0.0.1', 0);
  base = `http://127.0.0.1:${(server.address() as { port: number }).port}`;
});
afterEach(() => new Promise((resolve) => server.close(resolve).closeAllConnections()));

const get = (path: string, cookie?: string) =>
  fetch(`${base}${path}`, { redirect: 'manual', headers: cookie ? { cookie } : {} });
const good = 'session=good';
const built = () => {
  mkdirSync(join(display, 'assets'));
  writeFileSync(join(display, 'index.html'), '<title>display</title>');
  writeFileSync(join(display, 'assets', 'main-1234.js'), 'let a;');
};

describe('whoever is not signed in', () => {
  it('gets the sign-in page with every caution, and no display', async () => {
    built();
    const page = await (await get('/')).text();
    for (const caution of cautions) expect(page.replaceAll('&#39;', "'")).toContain(caution);
    expect(page).toContain('A &lt;mission&gt;');
    expect(page).not.toContain('<title>display');
  });
  it.each(['/api/v1/mission', '/api/v1/session', '/api/v1/parameters', '/api/v1/openapi.json'])(
    'gets 401 from %s',
    async (path) => {
      expect((await get(path)).status).toBe(401);
      expect((await get(path, 'session=bad')).status).toBe(401);
    },
  );
  it('may ask for health', async () => {
    expect(await (await get('/healthz')).json()).toEqual({ status: 'ok' });
  });
});

describe('a sign-in link', () => {
  it('sets the session and leads to the display', async () => {
    const answer = await get('/sign-in/right');
    expect(answer.status).toBe(303);
    expect(answer.headers.get('location')).toBe('/');
    expect(answer.headers.get('set-cookie')).toContain('session=good');
  });
  it('that is not known says so and sets nothing', async () => {
    const answer = await get('/sign-in/wrong');
    expect(answer.status).toBe(403);
    expect(answer.headers.get('set-cookie')).toBeNull();
    expect(await answer.text()).toContain('not known');
  });
});

describe('signing in by password', () => {
  const form = (fields: Record<string, string>) => new URLSearchParams(fields);
  const post = (path: string, body: RequestInit['body'], headers: Record<string, string> = {}) =>
    fetch(`${base}${path}`, { method: 'POST', redirect: 'manual', ...(body != null && { body }), headers });
  beforeEach(() => {
    accounts = true;
    enter = (id, password) =>
      Promise.resolve(id === 'busy' ? 'busy' : id === 'dana' && password === 'the right one' ? good : undefined);
  });

  it('the page has a form when there are accounts, and none when there are not', async () => {
    const page = await (await get('/')).text();
    expect(page).toContain('<form method="post" action="/sign-in">');
    expect(page).toContain('type="password"');
    for (const caution of cautions) expect(page.replaceAll('&#39;', "'")).toContain(caution);
    accounts = false;
    expect(await (await get('/')).text()).not.toContain('<form');
  });
  it("sends a browser's own forms with their origin", async () => {
    expect((await get('/')).headers.get('referrer-policy')).toBe('same-origin');
  });
  it('the right one opens a session and leads to the display', async () => {
    const answer = await post('/sign-in', form({ id: 'dana', password: 'the right one' }));
    expect(answer.status).toBe(303);
    expect(answer.headers.get('location')).toBe('/');
    expect(answer.headers.get('set-cookie')).toBe(good);
  });
  it('says the same of a wrong id as of a wrong password, and repeats neither', async () => {
    const answers = await Promise.all(
      [
        { id: 'dana', password: 'wrong <one>' },
        { id: 'nobody', password: 'the right one' },
      ].map(async (fields) => {
        const answer = await post('/sign-in', form(fields));
        expect(answer.headers.get('set-cookie')).toBeNull();
        return { status: answer.status, text: await answer.text() };
      }),
    );
    expect(answers[0]).toEqual(answers[1]);
    expect(answers[0]?.status).toBe(403);
    expect(answers[0]?.text).toContain('do not go together');
    for (const told of ['wrong', 'dana"', 'nobody', 'the right one']) expect(answers[0]?.text).not.toContain(told);
  });
  it.each([
    [
      'a page of somebody else',
      form({ id: 'dana', password: 'the right one' }),
      { origin: 'http://example.test' },
      403,
    ],
    ['a page that hides where it is', form({ id: 'dana', password: 'the right one' }), { origin: 'null' }, 403],
    ['JSON', '{"id":"dana","password":"the right one"}', { 'content-type': 'application/json' }, 415],
    ['nothing', null, {}, 415],
    ['no password', form({ id: 'dana' }), {}, 400],
    ['a field more', form({ id: 'dana', password: 'the right one', position: 'test director' }), {}, 400],
    [
      'an id twice',
      'id=dana&id=ivo&password=the+right+one',
      { 'content-type': 'application/x-www-form-urlencoded' },
      400,
    ],
    ['a huge body', form({ id: 'dana', password: 'x'.repeat(100_000) }), {}, 413],
    ['too many at once', form({ id: 'busy', password: 'x' }), {}, 503],
  ] as const)('refuses %s', async (_, body, headers, status) => {
    const answer = await post('/sign-in', body, headers);
    expect(answer.status).toBe(status);
    expect(answer.headers.get('set-cookie')).toBeNull();
    expect(await answer.text()).not.toContain('node_modules');
  });
  it('there is nothing to sign in to without accounts', async () => {
    accounts = false;
    expect((await post('/sign-in', form({ id: 'dana', password: 'the right one' }))).status).toBe(403);
  });
  it('signing out takes the cookie away; a page of somebody else cannot do it', async () => {
    const answer = await post('/sign-out', null, { cookie: good });
    expect(answer.status).toBe(303);
    expect(answer.headers.get('set-cookie')).toContain(`was ${good}; Max-Age=0`);
    const forged = await post('/sign-out', null, { cookie: good, origin: 'http://example.test' });
    expect(forged.status).toBe(403);
    expect(forged.headers.get('set-cookie')).toBeNull();
  });
});

describe('whoever is signed in', () => {
  it('gets the display, the mission and the session', async () => {
    built();
    expect(await (await get('/', good)).text()).toContain('<title>display');
    expect(await (await get('/api/v1/mission', good)).json()).toEqual({ name: 'A' });
    expect(await (await get('/api/v1/session', good)).json()).toEqual({ ...visitor, mode: 'rehearsal' });
    expect((await get('/assets/main-1234.js', good)).headers.get('cache-control')).toContain('immutable');
  });
  it('is told when the display is not built', async () => {
    const answer = await get('/', good);
    expect(answer.status).toBe(503);
    expect(await answer.text()).toContain('has not been built');
  });
});

it('lets only its own scripts run, in no frame, and says nothing of itself', async () => {
  const { headers } = await get('/');
  const policy = headers.get('content-security-policy') ?? '';
  expect(policy).toContain("script-src 'self';");
  expect(policy).toContain("frame-ancestors 'none'");
  expect(policy).not.toContain('unsafe');
  expect(headers.get('x-powered-by')).toBeNull();
  expect(headers.get('strict-transport-security')).toBeNull();
});

it('answers to no other host name', async () => {
  const status = await new Promise<number>((resolve, reject) =>
    request(`${base}/healthz`, { headers: { host: 'example.test' } }, (answer) => {
      answer.resume();
      resolve(answer.statusCode ?? 0);
    })
      .on('error', reject)
      .end(),
  );
  expect(status).toBe(421);
});

it.each(['/../package.json', '/%2e%2e/package.json', '/sign-in/', '/assets/../../x', '/%ff', '/api/v1/nothing'])(
  'gives nothing away at %s',
  async (path) => {
    const answer = await get(path, good);
    expect([400, 403, 404]).toContain(answer.status);
    expect(await answer.text()).not.toContain('node_modules');
  },
);

it('refuses to listen outside this machine, and says why', async () => {
  for (const host of ['0.0.0.0', '192.168.1.1', '::'])
    await expect(listenHttp(frontApp(front()), host, 0)).rejects.toThrow('TLS and accounts');
});

it('names the port that is in use', async () => {
  const { port } = server.address() as { port: number };
  await expect(listenHttp(frontApp(front()), '127.0.0.1', port)).rejects.toThrow(`port ${port} is in use`);
});

it('tells the numbers that a limit keeps, to who is signed in, and that there is no such limit', async () => {
  expect((await get('/api/v1/limits/peak/readings')).status).toBe(401);
  expect(await (await get('/api/v1/limits/peak/readings', good)).json()).toEqual({
    readings: [{ name: 's above 860', value: 1.5 }],
  });
  const none = await get('/api/v1/limits/other/readings', good);
  expect([none.status, await none.json()]).toEqual([404, { error: 'there is no such limit' }]);
});
