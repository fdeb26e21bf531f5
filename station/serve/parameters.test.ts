import type { Server } from 'node:http';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { derived, group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';
import { fullReport } from '../../test/support/flight-report.ts';
import { frontApp, listenHttp } from './http.ts';

const flight = mission({
  groups: [group('main', 100), group('own', 0, 1_000_000)],
  parameters: [
    parameter('NR', 'main', {
      name: 'Rotor speed',
      description: 'Sensed at the gearbox; 100 % is 395 rpm.',
      unit: '%',
      calibration: { kind: 'polynomial', coefficients: [0, 0.01] },
      calibrationSource: 'bench sheet 14',
      calibrationDate: '2026-10-01',
      physicalRange: [0, 130],
    }),
    parameter('GEAR', 'own', { format: 'u8', calibration: { kind: 'states', states: { '0': 'up', '1': 'down' } } }),
    parameter('ACC', 'main', { format: 'u16', bits: { shift: 4, width: 12, coding: "two's complement" }, unit: 'g' }),
  ],
  derived: [derived('NR_SPARE', 'NR', 'NR - 95[%]', { name: 'Rotor speed to spare', unit: '%' })],
  limits: [levelLimit('nr-low', 'NR', { below: { caution: 97 } })],
});

let inForce: Mission | undefined;
const quiet: AlarmMetrics = {
  from: groundTime(0),
  to: groundTime(0),
  positions: [],
  priorities: { advisory: 0, caution: 0, warning: 0, stop: 0, data: 0 },
  topTen: [{ alarm: 'nr-low', announced: 3, share: 1 }],
  topTenShare: 1,
  chattering: [{ alarm: 'nr-low', times: 1 }],
  fleeting: [],
  stale: [],
  standing: [{ alarm: 'nr-low', since: groundTime(1) }],
  shelved: [],
  outOfService: [],
  suppressed: [],
  noAction: [],
};
let server: Server;
let base: string;

beforeAll(async () => {
  const app = frontApp({
    mode: 'rehearsal',
    missionName: () => '',
    missionJson: () => (inForce ? JSON.stringify(inForce) : ''),
    mission: () => inForce,
    health: () => ({ status: 'ok' }),
    alarmMetrics: () => (inForce ? quiet : undefined),
    readings: (limit) => (limit === 'peak' ? [{ name: 's above 860', value: 1.5 }] : undefined),
    whatIf: () => Promise.resolve({ status: 503, error: 'none here' }),
    report: () => Promise.resolve({ body: Buffer.from(JSON.stringify(fullReport())), name: 'flight', policy: '' }),
    visitor: (cookie) => (cookie === 'good' ? { person: 'a', name: 'A', position: 'engine' } : undefined),
    openSession: () => undefined,
    isOwnHost: () => true,
    byPassword: () => false,
    enter: () => Promise.resolve(undefined),
    closeSession: () => '',
    isOwnOrigin: () => true,
    display: '/nowhere',
  });
  server = await listenHttp(app, '127.0.0.1', 0);
  base = `http://127.0.0.1:${(server.address() as { port: number }).port}`;
});
afterAll(() => new Promise((resolve) => server.close(resolve).closeAllConnections()));

const ask = async (path: string, cookie = 'good') => {
  const answer = await fetch(`${base}${path}`, { headers: { cookie } });
  return { status: answer.status, body: (await answer.json()) as Record<string, unknown> };
};
const found = async (question: string) => {
  inForce = flight;
  const { body } = await ask(`/api/v1/parameters?${question}`);
  return (body['parameters'] as { id: string }[]).map(({ id }) => id);
};

describe('parameters over the API', () => {
  it('are told to those signed in, once a mission is in force', async () => {
    inForce = undefined;
    expect((await ask('/api/v1/parameters')).status).toBe(503);
    inForce = flight;
    expect((await ask('/api/v1/parameters', 'bad')).status).toBe(401);
    const { status, body } = await ask('/api/v1/parameters');
    expect(status).toBe(200);
    expect(body).toMatchObject({ baselineId: 'tiny', found: 4 });
    expect((body['parameters'] as { id: string }[]).map(({ id }) => id)).toEqual(columnIds(flight));
    expect((body['parameters'] as object[])[0]).toEqual({
      id: 'NR',
      name: 'Rotor speed',
      description: 'Sensed at the gearbox; 100 % is 395 rpm.',
      unit: '%',
      kind: 'received',
      group: 'main',
      rate: 100,
      staleAfter: 0.5,
      origin: 'received i16, polynomial of degree 1, bench sheet 14, 2026-10-01',
      calibrationSource: 'bench sheet 14',
      calibrationDate: '2026-10-01',
      formula: '',
      range: [0, 130],
      limits: ['nr-low'],
    });
  });

  it('are found by name, unit, description, group, rate, calibration, formula, state and limit, every word of it', async () => {
    expect(await found('search=ROTOR%20speed')).toEqual(['NR', 'NR_SPARE']);
    expect(await found('search=gearbox')).toEqual(['NR']);
    expect(await found('search=bench+sheet')).toEqual(['NR']);
    expect(await found('search=2026-10')).toEqual(['NR']);
    expect(await found('search=NR%20-%2095%5B')).toEqual(['NR_SPARE']);
    expect(await found('search=derived')).toEqual(['NR_SPARE']);
    expect(await found('search=100/s+g')).toContain('ACC');
    expect(await found("search=two's+complement")).toEqual(['ACC']);
    expect(await found('search=down')).toEqual(['GEAR']);
    expect(await found('search=nr-low')).toEqual(['NR']);
    expect(await found('search=nothing+like+it')).toEqual([]);
  });

  it('come in parts where they are many', async () => {
    expect(await found('skip=1&limit=2')).toEqual(['GEAR', 'ACC']);
    expect(await found('skip=9')).toEqual([]);
    expect((await ask('/api/v1/parameters?limit=1')).body['found']).toBe(4);
  });

  it('are refused with the reason where the question makes no sense', async () => {
    inForce = flight;
    const cases: [string, RegExp][] = [
      ['limit=0', /limit: at least 1/],
      ['limit=ten', /limit: a whole number/],
      ['skip=-1', /skip: a whole number/],
      [`search=${'x'.repeat(300)}`, /search: at most 200/],
      ['search=a&search=b', /search: /],
      ['serach=a', /serach/],
      ['__proto__=a', /__proto__|not understood/],
    ];
    for (const [query, reason] of cases) {
      const { status, body } = await ask(`/api/v1/parameters?${query}`);
      expect([query, status]).toEqual([query, 400]);
      expect(body['error']).toMatch(reason);
    }
  });

  it('of another mission come once that one is in force', async () => {
    inForce = flight;
    await ask('/api/v1/parameters');
    inForce = mission({ baselineId: 'other' });
    expect((await ask('/api/v1/parameters')).body).toMatchObject({ baselineId: 'other', found: 1 });
  });
});

describe('the OpenAPI description', () => {
  interface Described {
    openapi: string;
    paths: Record<
      string,
      {
        get?: {
          responses: Record<string, { content?: Record<string, { schema: object }> }>;
          parameters?: { name: string; schema: object; description: string }[];
        };
      }
    >;
    components: { schemas: Record<string, object> };
  }
  const described = async () => (await ask('/api/v1/openapi.json')).body as unknown as Described;

  /** A checker for an answer, from the description alone. */
  const checker = (all: Described, path: string, status: number) => {
    const schema = all.paths[path]?.get?.responses[status]?.content?.['application/json']?.schema as object;
    const whole = JSON.stringify({ ...schema, $defs: all.components.schemas }).replaceAll(
      '#/components/schemas/',
      '#/$defs/',
    );
    return z.fromJSONSchema(JSON.parse(whole));
  };

  it('is for those signed in', async () => {
    expect((await ask('/api/v1/openapi.json', 'bad')).status).toBe(401);
    expect((await described()).openapi).toBe('3.1.0');
  });

  it('describes every address that answers in JSON, and what it answers', async () => {
    const all = await described();
    inForce = flight;
    for (const [path, { get }] of Object.entries(all.paths)) {
      // pages and sheets say of themselves what they are
      if (get?.responses[200]?.content?.['application/json'] === undefined) continue;
      const right = await ask(path.replace('{id}', 'peak'));
      expect([path, right.status]).toEqual([path, 200]);
      expect(checker(all, path, 200).safeParse(right.body).error?.issues, path).toBeUndefined();
      if (path === '/healthz') continue;
      const wrong = await ask(path.replace('{id}', 'peak'), 'bad');
      expect(wrong.status).toBe(401);
      expect(checker(all, path, 401).safeParse(wrong.body).success).toBe(true);
      expect(checker(all, path, 401).safeParse({ trouble: 1 }).success).toBe(false);
    }
    const answers = checker(all, '/api/v1/parameters', 200);
    expect(answers.safeParse({ baselineId: 'x', found: 1, parameters: [{ id: 'NR' }] }).success).toBe(false);
  });

  it('names what may be asked, each with its meaning', async () => {
    const { parameters } = (await described()).paths['/api/v1/parameters']!.get!;
    expect(parameters?.map(({ name }) => name)).toEqual(['search', 'skip', 'limit']);
    for (const { description } of parameters ?? []) expect(description).not.toBe('');
  });
});
