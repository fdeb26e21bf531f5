import { createHash } from 'node:crypto';
import type { Server } from 'node:http';
import express from 'express';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Mission } from '../../protocol/mission.ts';
import { mission } from '../../test/support/tiny-mission.ts';
import type { Front } from './front.ts';
import { listenHttp } from './http.ts';
import { openApi } from './open-api.ts';
import { answerSheets, sheets } from './sheets.ts';

let server: Server;
let base: string;
let inForce: Mission | undefined;

beforeEach(async () => {
  const app = express();
  const visitor: Front['visitor'] = (cookie) =>
    cookie === 'session=good' ? { person: 'd', name: 'D', position: 'engine' } : undefined;
  answerSheets(app, { visitor, mission: () => inForce } as Front);
  server = await listenHttp(app, '127.0.0.1', 0);
  base = `http://127.0.0.1:${(server.address() as { port: number }).port}`;
});
afterEach(() => new Promise((resolve) => server.close(resolve).closeAllConnections()));

const get = (name: string, cookie = 'session=good') => fetch(`${base}/sheets/${name}`, { headers: { cookie } });

describe.each(Object.keys(sheets))('the %s sheet over HTTP', (name) => {
  it('is for those who are signed in, once a mission is in force, and never kept by the browser', async () => {
    inForce = undefined;
    expect((await get(name, 'session=bad')).status).toBe(401);
    expect((await get(name)).status).toBe(503);
    inForce = mission({ baselineId: 'ab345d735e79' });
    const answer = await get(name);
    expect([answer.status, answer.headers.get('cache-control')]).toEqual([200, 'no-store']);
    expect(answer.headers.get('content-type')).toMatch(/^text\/html/);
    expect(await answer.text()).toContain('AB34-5D73');
  });

  it('may use its own style and nothing else', async () => {
    inForce = mission();
    const answer = await get(name);
    const style = (await answer.text()).match(/<style>([^]*?)<\/style>/)?.[1] as string;
    const hash = createHash('sha256').update(style).digest('base64');
    expect(answer.headers.get('content-security-policy')).toBe(
      `default-src 'none'; style-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`,
    );
  });

  it('is described', () => {
    expect((openApi() as { paths: object }).paths).toHaveProperty(`/sheets/${name}`);
  });
});
