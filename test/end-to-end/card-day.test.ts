/**
 * A day of test cards flown live, as its people fly it: four of them at windows of a real browser, the others at plain
 * displays. The room is made ready, and is refused to be before it is; points are flown, one of them to repeat; the step
 * gate reduces; the brief sheet is printed; and the report and the replay of that very recording say what the room saw.
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ConductView } from '../../protocol/conduct.ts';
import { columnIds } from '../../protocol/mission.ts';
import type { ChannelCheck } from '../../protocol/readiness.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { sheetId } from '../../protocol/sheet-id.ts';
import { launch } from '../browser/open-window.ts';
import { isHome, isShunted } from '../support/card-day.ts';
import { groundchase, Running } from '../support/groundchase.ts';
import { demonstrationMission } from '../support/rehearsal.ts';
import { waitUntil } from '../support/wait-until.ts';
import { FLIGHT, keptIn, Seat, Window } from './card-day-room.ts';

const mission = demonstrationMission();
const shunts = (mission.readiness?.morning?.channels ?? []).filter(({ shunt }) => shunt !== undefined);
const swept = mission.readiness?.sweep?.channels ?? [];
const notices = mission.readiness?.notices ?? [];

let browser: Browser;
let station: Running;
let folder: string;
/** where the controls rest before anybody moves them */
let rested: number[];
/** positions at windows */
let director: Window;
let conductor: Window;
let control: Window;
let instrumentation: Window;
/** the others */
let seats: Seat[];
let hears: Seat;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'card-day-'));
  browser = await launch();
  station = new Running(['rehearse', 'card-day', '--port', '0', '--recordings', folder]);
});

afterAll(async () => {
  for (const seat of seats ?? []) seat.close();
  await browser?.close();
  await station?.stop();
  rmSync(folder, { recursive: true, force: true });
});

const conduct = (): ConductView | undefined => hears.conduct();

/** Waits until the station says so of the conduct of the test. */
const told = (what: string, is: (view: ConductView) => boolean): Promise<ConductView> =>
  waitUntil(
    what,
    () => {
      const view = conduct();
      return view && is(view) ? view : undefined;
    },
    FLIGHT,
  );

async function sitDown(): Promise<void> {
  [instrumentation, conductor, director, control] = await Promise.all([
    Window.open(browser, station, 'instrumentation'),
    Window.open(browser, station, 'test conductor', { width: 1920, height: 1080 }),
    Window.open(browser, station, 'test director'),
    Window.open(browser, station, 'flight control'),
  ]);
  const at = ['engine', 'rotor and loads', 'handling qualities', 'range safety'];
  seats = await Promise.all(at.map((position) => Seat.open(station, position)));
  hears = seats[0] as Seat;
  await instrumentation.unfold('morning');
  await instrumentation.page.locator('gc-head-bar', { hasText: 'receiving' }).waitFor({ timeout: FLIGHT });
  await instrumentation.press(/^Gather zero/);
  const ids = columnIds(mission);
  hears.watch([...shunts, ...swept].map(({ parameter }) => ids.indexOf(parameter)));
  rested = await waitUntil('values come', () => places().length > 0 && places().every(Number.isFinite) && places());
  await told('zero is gathered', ({ readiness }) => readiness?.morning?.gathering === 'zero');
}

const places = (): number[] => hears.values().slice(shunts.length);

/** The poll is opened at once, and refuses ready with everything that is missing. */
async function refused(): Promise<void> {
  await conductor.press('Open the poll');
  await director.press('Answer ready');
  const alert = director.page.locator('gc-readiness-poll').getByRole('alert');
  await alert.waitFor();
  const said = (await alert.textContent()) ?? '';
  for (const missing of [
    'Not done: the room is not ready',
    'instrumentation: morning check not complete',
    'flight control: control sweep not done',
    'test director: notice not acknowledged',
    'engine has not answered ready',
  ])
    expect(said).toContain(missing);
  const listed = director.page.locator('gc-readiness-poll .group');
  for (const position of ['instrumentation', 'flight control', 'test director'])
    expect(await listed.and(director.page.locator(`[data-missing="${position}"]`)).count()).toBe(1);
  await director.picture('ready-refused');
}

/** Each shunt is gathered when it is seen in the values. */
async function morningCheck(): Promise<void> {
  for (const [i, channel] of shunts.entries()) {
    const { parameter } = channel as ChannelCheck;
    await waitUntil(
      `the shunt of ${parameter} is in`,
      () => isShunted(channel as ChannelCheck, hears.values()[i] ?? Number.NaN),
      FLIGHT,
    );
    await instrumentation.press(new RegExp(`^Gather shunt of ${parameter}, `));
    await told(
      `${parameter} is gathered`,
      ({ readiness }) => readiness?.morning?.gathering === `shunt of ${parameter}`,
    );
    if (i === shunts.length - 1) await instrumentation.picture('morning-check');
  }
  await told('all is gathered', ({ readiness }) => readiness?.morning?.complete === true);
  await instrumentation.press('End the check');
  const { readiness } = await told('the check is ended', ({ readiness }) => Boolean(readiness?.morning?.ended));
  const { channels = [], timeFaults, recorder } = readiness?.morning ?? {};
  expect(channels.flatMap(({ faults, cannotTell }) => [...faults, ...cannotTell])).toEqual([]);
  expect([timeFaults, recorder?.state]).toEqual([[], 'verified']);
  await instrumentation.part('morning').and(instrumentation.page.locator('[data-state="done"]')).waitFor();
}

async function sweep(): Promise<void> {
  await control.press('Begin the sweep');
  await told(
    'every control went through its travel, and back',
    ({ readiness }) =>
      readiness?.sweep?.channels.every(({ travel }) => (travel ?? 0) > 0.98) === true && isHome(rested, places()),
  );
  await control.press('End the sweep');
  const { readiness } = await told('the sweep is ended', ({ readiness }) => readiness?.sweep?.running === false);
  const found = readiness?.sweep?.channels.flatMap(({ faults, cannotTell }) => [...faults, ...cannotTell]);
  expect(found).toEqual([]);
  await control.part('sweep').and(control.page.locator('[data-state="done"]')).waitFor();
  await control.picture('control-sweep');
}

async function acknowledge(): Promise<void> {
  const read = async (window: Window): Promise<void> => {
    await window.unfold('notices');
    for (const { id } of notices) await window.press(/^I have read it/, window.page.locator(`[data-notice="${id}"]`));
    await window.unfold('notices');
  };
  await Promise.all([
    ...[director, conductor, control, instrumentation].map(read),
    ...seats.map(async (seat) => {
      for (const { id } of notices) await seat.act('acknowledge notice', { subject: id });
    }),
  ]);
}

/** The pilot was weighed in his boots. */
async function weigh(): Promise<void> {
  await conductor.unfold('weight');
  const part = conductor.part('weight');
  await part.getByLabel('Load', { exact: true }).selectOption('pilot');
  await part.getByLabel('Its mass, kg').fill('87');
  await part.getByLabel('Why the load is changed').fill('weighed in boots');
  await conductor.press('Set load', part);
  await part.locator('[data-load="pilot"]', { hasText: 'CHANGED' }).waitFor();
  await part.and(conductor.page.locator('[data-state="done"]')).waitFor();
  await conductor.picture('weight');
}

async function ready(): Promise<void> {
  await told('nothing is missing', ({ readiness }) => readiness?.missing.length === 0);
  await conductor.press('Ask every position anew');
  await told(
    'the poll is anew',
    ({ readiness }) => readiness?.poll.answers.every(({ answer }) => answer === '') === true,
  );
  await Promise.all([
    ...[conductor, control, instrumentation].map((window) => window.press('Answer ready')),
    ...seats.map((seat) => seat.act('answer poll', { choice: 'ready' })),
  ]);
  await director.press('Answer ready');
  for (const { page } of [director, conductor, control, instrumentation])
    await page.locator('gc-readiness-poll [data-room="ready"]').waitFor();
  await director.picture('ready');
}

/** The director decides the next step as it is advised. */
async function clear(point: string, step: string): Promise<void> {
  await director.cards(point);
  await director.page.locator('gc-step-gate [data-advice="clear"]').waitFor();
  await director.press(`Clear ${step}`);
  await director.page.locator('gc-step-gate [data-decided="clear"]', { hasText: step }).waitFor();
}

/** Begins the point and waits for the offer, as the voice says so then. */
async function onCondition(point: string, again = false): Promise<void> {
  await conductor.cards(point);
  await conductor.press(again ? `Begin ${point} again` : `Begin ${point}`);
  await conductor.page.getByText('Offered: on condition', { exact: true }).waitFor({ timeout: FLIGHT });
  await conductor.press('Log on condition said');
  await conductor.page.getByRole('region', { name: 'Record', exact: true }).waitFor();
}

async function judge(judgement: 'good' | 'repeat'): Promise<void> {
  await conductor.press('Log recover said');
  await conductor.page.locator(`gc-judge-form [data-advice="${judgement}"]`).waitFor();
  if (judgement === 'repeat') {
    const reasons = await conductor.page.getByLabel('Reasons to repeat').getByRole('listitem').allTextContents();
    expect(reasons[0]).toMatch(/^IAS was out of its data band, 67 to 73 kt, for [\d.]+ % of the record; 5 % may be$/);
    await conductor.picture('cards-repeat');
  }
  await conductor.press(`Judge ${judgement}`);
  const form = conductor.page.locator('gc-judge-form');
  const answer = form.locator(`[data-judged="${judgement}"]`).or(form.getByRole('alert'));
  await answer.first().waitFor();
  expect(await form.getByRole('alert').allTextContents()).toEqual([]);
  await conductor.press('Log admin said');
  await conductor.press('Close the run');
}

async function goodPoint(point: string, again = false, look?: () => Promise<void>): Promise<void> {
  await onCondition(point, again);
  await look?.();
  await conductor.page.getByText('Offered: complete', { exact: true }).waitFor({ timeout: FLIGHT });
  await judge('good');
  await conductor.page.locator(`gc-cards-page [data-point="${point}"][data-state="good"]`).waitFor();
}

/** The pilot drifts off; the record goes on for all of its time, so that nothing else is said against it. */
async function pointToRepeat(): Promise<void> {
  await onCondition('level-70');
  await conductor.page.locator('[data-band="IAS"] [data-told="outside"]').waitFor({ timeout: FLIGHT });
  await conductor.picture('cards-outside');
  const hold = mission.cards?.flatMap(({ points }) => points).find(({ id }) => id === 'level-70')?.hold ?? 0;
  await told('the hold is over', ({ points }) => (points.at(-1)?.recorded ?? 0) >= hold);
  expect(await conductor.page.getByText('Offered: complete', { exact: true }).count()).toBe(0);
  await judge('repeat');
  await conductor.page.locator('gc-cards-page [data-point="level-70"][data-state="repeat"]').waitFor();
}

async function reduce(): Promise<void> {
  await director.cards('level-80');
  const gate = director.page.locator('gc-step-gate');
  await gate.locator('[data-advice="reduce"]', { hasText: 'to 75 kt' }).waitFor();
  const why = await gate.getByLabel('Reasons', { exact: true }).getByRole('listitem').allTextContents();
  expect(why[0]).toMatch(/^Vibration at the seat: 0\.27\d* g predicted at 80 kt, .*touches the caution at 0\.275$/);
  expect(await gate.locator('gc-step-picture svg').count()).toBeGreaterThanOrEqual(2);
  expect(await gate.getByLabel('Smaller step, kt').inputValue()).toBe('75');
  await director.picture('cards-reduce');
  await director.press('Reduce to');
  await conductor.cards('level-80');
  await conductor.page.locator('gc-step-gate [data-decided="reduce"]', { hasText: '75 kt' }).waitFor();
  await conductor.picture('cards-reduced');
}

/** Opened from the window, printed by the browser: the same id on the paper as on every screen. */
async function printBrief(): Promise<void> {
  const id = sheetId(mission.baselineId);
  for (const { page } of [director, conductor]) await page.locator('gc-head-bar', { hasText: id }).waitFor();
  await director.page.keyboard.press('f');
  const opened = director.page.waitForEvent('popup');
  const panel = director.page.getByRole('dialog', { name: 'Flight' });
  await panel.getByRole('link', { name: /^Brief sheet/ }).click();
  const sheet = await opened;
  expect(new URL(sheet.url()).pathname).toBe('/sheets/brief');
  expect(await sheet.locator('header .id b').textContent()).toBe(id);
  for (const text of ['Level flight at 70 kt', 'KNOCK IT OFF', ...notices.map(({ title }) => title)])
    await sheet.getByText(text).first().waitFor();
  const paper = await sheet.pdf({ format: 'A4', preferCSSPageSize: true });
  expect(paper.subarray(0, 5).toString()).toBe('%PDF-');
  expect(await sheet.title()).toContain(id);
  if (keptIn !== '') writeFileSync(join(keptIn, 'brief.pdf'), paper);
  await sheet.close();
  await panel.getByRole('button', { name: /^Close panel/ }).click();
}

/** A stop call on the way home, seen by everybody, closed by its decision. */
async function stopCall(): Promise<void> {
  const { page } = conductor;
  await page.keyboard.press('F9');
  await page.getByLabel('Reason', { exact: true }).fill('practice call on the way home');
  await page.keyboard.press('Enter');
  const banner = director.page.getByLabel('Open stop call');
  await banner.waitFor();
  await director.picture('stop-call');
  for (const step of ['acknowledged by aircraft', 'recovering', 'pilot declares safe', 'review']) {
    await page.getByRole('button', { name: `Log: ${step}` }).click();
    await banner.locator('li.done', { hasText: step }).waitFor();
  }
  await director.page.getByLabel('Decision').selectOption('return');
  await director.page.getByRole('button', { name: 'Close with decision' }).click();
  await banner.waitFor({ state: 'detached' });
}

describe('the day of test cards', () => {
  it('is made ready, flown, judged, gated and reported by its people', { timeout: 2 * FLIGHT }, async () => {
    await sitDown();
    await Promise.all([
      morningCheck(),
      director.nameFlight('12').then(refused).then(acknowledge).then(weigh),
      control.unfold('sweep'),
    ]);
    await sweep();
    await ready();
    await clear('level-60', '60 kt');
    await told('it is picked up', ({ sequences }) =>
      sequences.some(({ id, state }) => id === 'pick-up' && state === 'done'),
    );
    await goodPoint('hover-steady', false, () => conductor.picture('cards-on-condition'));
    await goodPoint('level-60');
    await clear('level-70', '70 kt');
    await pointToRepeat();
    await goodPoint('level-70', true);
    await reduce();
    await printBrief();
    await stopCall();
    const seen = await told('nothing blocks the gate', ({ steps }) => steps[0]?.blocks.length === 0);
    await conductor.page.locator('gc-alarm-line').getByText('No alarm held').waitFor();
    for (const { errors } of [director, conductor, control, instrumentation]) expect(errors).toEqual([]);
    const file = await recordingOf(() => director.closeFlight());
    const { code, stderr } = await station.stop('SIGINT');
    expect(stderr).toContain('closed ');
    expect(code).toBe(0);
    await reported(file, seen);
  });
});

/** The recording that was going on, once what is done has ended it. */
async function recordingOf(ends: () => Promise<void>): Promise<string> {
  const recording = (): string => hears.room()?.recording?.file ?? '';
  const file = recording();
  expect(file).toMatch(/\.flight$/);
  await ends();
  await waitUntil('the next recording has begun', () => recording() !== file);
  return join(folder, basename(file));
}

interface AlarmLine {
  alarm: string;
  event: string;
  level: string;
  family: string;
}

/** The recording that was closed says what the room saw, in the report and in the replay. */
async function reported(file: string, seen: ConductView): Promise<void> {
  const out = keptIn === '' ? join(folder, 'report') : keptIn;
  mkdirSync(out, { recursive: true });
  const made = await groundchase('report', file, '--out', out);
  expect([made.code, made.stderr]).toEqual([0, expect.stringContaining('report.pdf')]);
  const report = JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')) as FlightReport;
  // judged and gated as the room saw it, to the last digit
  expect(report.conduct.points).toEqual(seen.points);
  expect(report.conduct.steps).toEqual(seen.steps);
  expect(report.conduct.faults).toEqual([]);
  expect(report.conduct.points.map(({ point, attempt, judged }) => [point, attempt, judged?.judgement])).toEqual([
    ['hover-steady', 1, 'good'],
    ['level-60', 1, 'good'],
    ['level-70', 1, 'repeat'],
    ['level-70', 2, 'good'],
  ]);
  expect(report.flight).toMatchObject({ number: '12', closed: true });
  expect(report.chain).toMatchObject({ whole: true, closed: true });
  expect([report.lostEntries, report.ids.match]).toEqual([0, true]);
  expect(report.calls.map(({ word, decision, step }) => [word, decision, step])).toEqual([
    ['KNOCK IT OFF', 'return', 'closed'],
  ]);
  expect(report.alarms.priorities).toMatchObject({ stop: 0, warning: 0, caution: 0, advisory: 0 });

  const info = await groundchase('info', file, '--verify', '--alarms', '--json');
  const { alarms } = JSON.parse(info.stdout) as { alarms: AlarmLine[] };
  // of the aircraft nothing; a busy machine may let data grow old, of which the report says as much as the alarm list
  const raised = alarms.filter(({ event }) => event === 'raised');
  expect(raised.filter(({ family }) => family === 'aircraft')).toEqual([]);
  const limits = new Set(mission.limits.map(({ id }) => id));
  const announced = report.exceedances.filter(({ alarm }) => alarm !== '').map(({ limit }) => limit);
  expect(announced.sort()).toEqual(raised.flatMap(({ alarm }) => (limits.has(alarm) ? [alarm] : [])).sort());
  expect(report.alarmLines.map(({ limit, change }) => [limit, change])).toEqual(
    alarms.map(({ alarm, event }) => [alarm, event]),
  );
  const replay = await groundchase('replay', file, '--alarms', '--json');
  const compared = JSON.parse(replay.stdout) as { live: number; replayed: number; differences: unknown[] };
  expect(compared).toMatchObject({ live: alarms.length, replayed: alarms.length, differences: [] });

  const page = readFileSync(join(out, 'report.html'), 'utf8');
  for (const text of [report.chain.value, 'level-70', 'KNOCK IT OFF', 'reduce']) expect(page).toContain(text);
  const paper = readFileSync(join(out, 'report.pdf'));
  expect(paper.subarray(0, 5).toString()).toBe('%PDF-');
}
