/** The report over HTTP: of a running station's recording, made by the real thread. */
import { createHash } from 'node:crypto';
import { createSocket } from 'node:dgram';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import type { FlightReport } from '../protocol/report.ts';
import { encodeEnvelope } from '../protocol/wire.ts';
import { Recording } from '../replay/recording/recording.ts';
import { reportHtml } from '../replay/report/html.ts';
import { temporaryFolder } from '../test/support/temporary-folder.ts';
import { cookieOf } from '../test/support/test-display.ts';
import { frameBytes, group, levelLimit, mission, parameter } from '../test/support/tiny-mission.ts';
import { waitUntil } from '../test/support/wait-until.ts';
import { reportOf } from './report.ts';
import { reportName, ReportThread } from './report-thread.ts';
import { Station } from './station.ts';

const tiny = mission({
  groups: [group('main', 100)],
  parameters: [parameter('A', 'main', { physicalRange: [-1000, 1000] })],
  limits: [levelLimit('a-high', 'A', { above: { caution: 10 } })],
});

const opened: (() => unknown)[] = [];
let station: Station;
let cookie: string;
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
});
afterEach(async () => {
  for (const close of opened.splice(0).reverse()) await close();
});

const get = (path: string, headers: Record<string, string> = { cookie }) =>
  fetch(`${station.address}${path}`, { headers, redirect: 'manual' });

function framesIn(file: string): number {
  const recording = Recording.open(file);
  try {
    return [...recording.entries()].filter(({ kind }) => kind === 'frame').length;
  } finally {
    recording.close();
  }
}

const report = async (): Promise<FlightReport> => (await get('/api/v1/report')).json() as Promise<FlightReport>;

/** Some frames with A the number of the frame; resolves when their recording holds them. */
async function fly(frames: number): Promise<void> {
  const socket = createSocket('udp4');
  const port = Number(station.inputs[0]?.split(':').at(-1));
  const startUs = Date.now() * 1000;
  for (let n = 0; n < frames; n++) {
    const bytes = frameBytes(tiny, n, startUs + n * 20_000, [{ group: 'main', rows: [{ A: n }, { A: n }] }]);
    await new Promise((resolve) => socket.send(encodeEnvelope('North', 60_000, bytes), port, '127.0.0.1', resolve));
  }
  socket.close();
  await waitUntil('all frames are on disk', () => framesIn(station.recordingFile) === frames);
}

it('is the flight so far as data, page and paper, for those signed in', { timeout: 60_000 }, async () => {
  await fly(20);
  const told = await report();
  expect(told.exceedances).toMatchObject([{ limit: 'a-high', level: 'caution', peak: 19 }]);
  expect(told.chain).toMatchObject({ whole: null, closed: false });

  const page = await get('/report');
  const html = await page.text();
  expect([page.status, page.headers.get('content-type')]).toEqual([200, 'text/html; charset=utf-8']);
  const style = /<style>([^]*)<\/style>/.exec(html)?.[1] as string;
  const policy = page.headers.get('content-security-policy') as string;
  expect(policy).toContain(`style-src 'sha256-${createHash('sha256').update(style).digest('base64')}'`);
  expect(policy).toContain("default-src 'none'");
  expect(policy).not.toContain('script-src');
  expect(html.includes('NOT CLOSED: the flight so far')).toBe(true);

  const paper = await get('/report.pdf');
  expect([paper.status, paper.headers.get('content-type')]).toEqual([200, 'application/pdf']);
  expect(paper.headers.get('content-disposition')).toMatch(/^inline; filename="[\w.-]+-report\.pdf"$/);
  expect((await paper.text()).startsWith('%PDF-')).toBe(true);
});

it('is nobody’s who is not signed in: the page leads to the sign-in, the rest is refused', async () => {
  const page = await get('/report', {});
  expect([page.status, page.headers.get('location')]).toEqual([303, '/']);
  expect((await get('/report.pdf', {})).status).toBe(401);
  expect((await get('/api/v1/report', {})).status).toBe(401);
});

it('is of the whole recording once that is closed, the same as the command makes', { timeout: 60_000 }, async () => {
  await fly(20);
  const file = station.recordingFile;
  await station.close();
  const recording = Recording.open(file);
  const expected = reportHtml(reportOf(recording));
  recording.close();
  const made = await new ReportThread({ file: () => file, growing: false }).ask('html', new AbortController().signal);
  expect('body' in made && Buffer.from(made.body).toString() === expected).toBe(true);
});

it('tells why there is none: no recording, an unreadable one, too long, too many, nobody waits, the end', async () => {
  const never = new AbortController().signal;
  await waitUntil('the file is there', () => station.recordingFile !== '');
  const options = { file: () => station.recordingFile, growing: true };
  const ask = (of: Partial<ConstructorParameters<typeof ReportThread>[0]>, signal = never) =>
    new ReportThread({ ...options, ...of }).ask('json', signal);
  expect(await ask({ file: () => '' })).toMatchObject({
    status: 503,
    error: expect.stringMatching(/no recording/) as string,
  });
  const damaged = join(temporaryFolder(), 'x.flight');
  writeFileSync(damaged, 'no recording');
  expect(await ask({ file: () => damaged })).toMatchObject({ status: 500 });
  expect(await ask({ within: 1 })).toMatchObject({
    status: 503,
    error: expect.stringMatching(/longer than/) as string,
  });
  expect(await ask({}, AbortSignal.abort())).toMatchObject({ status: 499 });
  const closing = new ReportThread({ ...options, atOnce: 1 });
  const one = closing.ask('pdf', never);
  expect(await closing.ask('pdf', never)).toMatchObject({
    status: 503,
    error: expect.stringMatching(/other reports/) as string,
  });
  await closing.close();
  expect(await one).toEqual({ status: 503, error: 'the station is closing' });
  expect(await closing.ask('pdf', never)).toMatchObject({ status: 503 });
});

it('names its file after the recording, in characters that no header trips over', () => {
  expect(reportName('/x/2026-11-25-SM1X-3.flight')).toBe('2026-11-25-SM1X-3-report');
  expect(reportName('/x/a "b"\r\n; c.flight')).toBe('a_b_c-report');
});
