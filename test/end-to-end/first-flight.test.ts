/**
 * The first rehearsal flown whole and live, as `npm start` flies it, watched from two browsers: its caution and its
 * warning appear and clear, a stop call logged in one is seen in the other, and the replay of that very recording says
 * the same, line for line.
 */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { launch, openWindow } from '../browser/open-window.ts';
import { groundchase, Running } from '../support/groundchase.ts';

/** The flight takes six minutes; the rest is patience for a busy machine. */
const FLIGHT = 480_000;

interface AlarmLine {
  alarm: string;
  event: string;
  level: string;
  family: string;
}

let browser: Browser;
let station: Running;
let recordings: string;

beforeAll(async () => {
  recordings = mkdtempSync(join(tmpdir(), 'first-flight-'));
  station = new Running(['rehearse', 'first-flight', '--port', '0', '--recordings', recordings]);
  browser = await launch();
});

afterAll(async () => {
  await browser?.close();
  await station?.stop();
  rmSync(recordings, { recursive: true, force: true });
});

const link = async (position: string): Promise<string> => {
  const line = await station.line(new RegExp(`, ${position}$`));
  return line.split(' ')[0] as string;
};

/** The alarm is shown as outside at this level, then not outside any more. */
async function comesAndGoes(page: Page, alarm: string, word: string): Promise<void> {
  const shown = page.locator(`gc-alarm-list li[data-alarm="${alarm}"]`);
  await shown.waitFor({ timeout: FLIGHT });
  expect(await shown.textContent()).toContain(word);
  const outside = page.locator(`gc-alarm-list li[data-alarm="${alarm}"]`, { hasText: 'outside now' });
  await outside.waitFor();
  await outside.waitFor({ state: 'detached', timeout: FLIGHT });
}

describe('the first rehearsal', () => {
  it('is watched live from two browsers and replays to the same alarm list', { timeout: 2 * FLIGHT }, async () => {
    expect(await station.address()).toMatch(/^http:\/\/127\.0\.0\.1:\d+$/);
    const conductor = await openWindow(browser, await link('test conductor'), { width: 1920, height: 1080 });
    const director = await openWindow(browser, await link('test director'));
    await conductor.page.getByText('REHEARSAL').waitFor();
    await conductor.page.locator('gc-value-block [data-value="IAS"]').waitFor();
    await conductor.page.locator('gc-alarm-line').getByText('No alarm held').waitFor();

    await comesAndGoes(conductor.page, 'gearbox-oil-temperature', 'CAUTION');

    await conductor.page.keyboard.press('F9');
    await conductor.page.getByLabel('Reason').fill('practice call in the hover');
    await conductor.page.keyboard.press('Enter');
    const banner = director.page.getByLabel('Open stop call');
    await banner.waitFor({ timeout: 2000 });
    expect(await banner.textContent()).toContain('KNOCK IT OFF');
    expect(await banner.textContent()).toContain('practice call in the hover');
    for (const step of ['acknowledged by aircraft', 'recovering', 'pilot declares safe', 'review']) {
      await conductor.page.getByRole('button', { name: `Log: ${step}` }).click();
      await banner.locator('li.done', { hasText: step }).waitFor();
    }
    await director.page.getByLabel('Decision').selectOption('resume');
    for (const said of ['the pilot agrees', 'the reason was found', 'limits and data']) {
      await director.page.getByLabel(said).check();
    }
    await director.page.getByRole('button', { name: 'Close with decision' }).click();
    await banner.waitFor({ state: 'detached' });

    await comesAndGoes(conductor.page, 'nr-high-power-off', 'WARNING');
    // a warning stays until its watcher has acknowledged
    const held = conductor.page.locator('gc-alarm-list li[data-alarm="nr-high-power-off"]');
    await held.waitFor();
    const rotorAndLoads = await openWindow(browser, await link('rotor and loads'));
    await rotorAndLoads.page.getByRole('button', { name: /^Acknowledge Rotor overspeed/ }).click();
    await held.waitFor({ state: 'detached' });

    await conductor.page.locator('[data-value="ENGINE_MODE"]', { hasText: /^off$/ }).waitFor({ timeout: FLIGHT });
    expect([...conductor.errors, ...director.errors, ...rotorAndLoads.errors]).toEqual([]);
    const { code, stderr } = await station.stop('SIGINT');
    expect(stderr).toContain('closed ');
    expect(code).toBe(0);

    const file = join(recordings, readdirSync(recordings).find((name) => name.endsWith('.flight')) as string);
    const info = await groundchase('info', file, '--verify', '--alarms', '--json');
    expect(info.code).toBe(0);
    const told = JSON.parse(info.stdout) as { alarms: AlarmLine[]; 'lost entries': number; state: string };
    expect(told.state).toBe('closed');
    expect(told['lost entries']).toBe(0);
    const raised = told.alarms.filter(({ family, event }) => family === 'aircraft' && event === 'raised');
    expect(raised.map(({ alarm, level }) => `${level} ${alarm}`)).toEqual([
      'caution gearbox-oil-temperature',
      'warning nr-high-power-off',
    ]);
    const replay = await groundchase('replay', file, '--alarms', '--json');
    const compared = JSON.parse(replay.stdout) as { live: number; replayed: number; differences: unknown[] };
    expect(compared.differences).toEqual([]);
    expect(compared.live).toBe(told.alarms.length);
    expect(compared.replayed).toBe(compared.live);
    expect(replay.code).toBe(0);
    console.log(
      `alarm list of the flight: ${compared.live} lines live, ${compared.replayed} in the replay, no difference`,
    );
  });
});
