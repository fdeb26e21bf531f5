/** What every page can do besides cards: sequences, checklists, voice, evidence, paper; and that a fault of ours is said. */
import { describe, expect, it } from 'vitest';
import type { ConductView, SequenceView } from '../../protocol/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { START } from './mock-station.ts';
import { halfReadyConduct, notBegun, startUnderWay } from './ready-mission.ts';
import { ReadyScreen } from './ready-screen.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const ready = new ReadyScreen(screen);
const { aircraft } = { aircraft: START + 124e6 };
const starting = (more: Partial<SequenceView>): ConductView => ({
  ...halfReadyConduct(),
  sequences: [{ ...startUnderWay(aircraft), ...more }, notBegun('pick-up', ['both skids up'])],
});
/** On the first page of the mission. */
const anyPage = (conduct = halfReadyConduct(), more = {}) => ready.open(conduct, more, false);

describe('sequences', () => {
  const panel = () => screen.page.locator('gc-sequence-panel [role="dialog"]');
  const step = (name: string) => panel().locator(`[data-step="${name}"]`);

  it('open on every page by a key: steps with the time each took and may take, and the one that is due', async () => {
    await anyPage(starting({ began: START + 128e6 }));
    await screen.page.keyboard.press('s');
    await panel().waitFor();
    expect((await screen.focus()).name).toMatch(/^Close/);
    expect(await ready.text(step('light-off'))).toMatch(/^light-off 10:02:08 ?4\.2 s of 10\.0 s done$/);
    expect(await ready.text(step('oil pressure'))).toMatch(/^oil pressure ?\d+\.\d s of 10\.0 s due$/);
    expect(await ready.text(step('idle'))).toMatch(/– of 25\.0 s to come$/);
    const counted = async () =>
      Number.parseFloat(/pressure ?([\d.]+) s/.exec(await ready.text(step('oil pressure')))?.[1] ?? '');
    const first = await counted();
    await waitUntil('it counts on', async () => (await counted()) > first);
    expect(await ready.text(panel().locator('[data-gate]'))).toBe(
      'At its beginning: Turbine outlet below 150 degC, holds',
    );
    await screen.page.keyboard.press('Escape');
    await panel().waitFor({ state: 'detached' });
    await screen.page.getByRole('button', { name: /Engine start/ }).waitFor();
    expect(screen.errors).toEqual([]);
  });

  it('say late and missing in words, and what was not seen beside what was measured', async () => {
    const { steps } = startUnderWay(aircraft);
    const [light, oil, idle] = steps as [
      SequenceView['steps'][number],
      SequenceView['steps'][number],
      SequenceView['steps'][number],
    ];
    await anyPage(
      starting({
        state: 'late',
        steps: [{ ...light, state: 'late', took: 11_300_000 }, { ...oil, state: 'missing' }, idle],
      }),
    );
    await screen.page.keyboard.press('s');
    await step('light-off').getByText('LATE').waitFor();
    await step('oil pressure').getByText('MISSING').waitFor();
    const measure = (title: string) => panel().locator(`[data-measure="${title}"]`);
    expect(await ready.text(measure('Peak turbine outlet temperature'))).toMatch(
      /742 °C ?0\.4 s NOT SEEN it may have been more$/,
    );
    await measure('Turbine outlet temperature now').getByText('CANNOT TELL').waitFor();
  });

  it('never show what cannot be told as inside or due', async () => {
    const { steps } = startUnderWay(aircraft);
    await anyPage(
      starting({
        ...{ state: 'cannot tell', gate: 'cannot tell' },
        steps: steps.map((one, i) => (i === 1 ? { ...one, state: 'cannot tell' as const } : one)),
      }),
    );
    await screen.page.keyboard.press('s');
    await step('oil pressure').getByText('CANNOT TELL').waitFor();
    expect(await ready.text(step('oil pressure'))).not.toContain('due');
    expect(await ready.text(panel().locator('[data-gate]'))).toContain('CANNOT TELL');
    expect(await ready.text(panel().locator('[data-gate]'))).not.toContain('holds');
    await panel().getByRole('button', { name: 'Engine start' }).waitFor();
    expect(await panel().locator('[data-sequence]').getAttribute('data-state')).toBe('cannot tell');
    screen.station.silent = true;
    await panel().locator('[data-sequence]').getByText('AS LAST HEARD').waitFor();
  });

  it('say before the next start that it has to wait, and keep what the earlier ones measured', async () => {
    const { steps, measures } = startUnderWay(aircraft);
    const run = {
      began: START + 20e6,
      ended: START + 31e6,
      state: 'broken off' as const,
      steps,
      measures,
      gate: 'outside' as const,
    };
    await anyPage(starting({ state: 'done', ended: aircraft + 30e6, times: 2, gate: 'outside', earlier: [run] }));
    await screen.page.keyboard.press('s');
    expect(await ready.text(panel().locator('[data-gate]'))).toBe(
      'Before the next one: Turbine outlet below 150 degC, DOES NOT HOLD wait',
    );
    expect(await ready.text(panel().locator('[data-earlier="1"]'))).toContain(
      'began 10:00:20, broken off begun although what must hold did not; Peak turbine outlet temperature 742 °C',
    );
    await panel().getByRole('button', { name: 'Pick-up' }).click();
    await panel().getByText('it begins by itself when the aircraft shows it').waitFor();
    await panel().getByRole('button', { name: 'Follow what runs' }).click();
    await panel().locator('[data-sequence="start"]').waitFor();
  });
});

describe('voice and checklists', () => {
  const banner = () => screen.page.locator('gc-checklist-banner [data-checklist="lost-voice"]');

  it('are led by the keys alone: voice reported lost, its checklist ticked by who did it, voice restored', async () => {
    await anyPage();
    expect(await banner().count()).toBe(0);
    await screen.page.keyboard.press('v');
    await waitUntil('the field has the keys', async () => (await screen.focus()).name === 'loop');
    await screen.page.keyboard.type('chase');
    await screen.page.keyboard.press('Enter');
    expect(await ready.acted('report voice')).toMatchObject({ choice: 'lost', text: 'chase' });
    await screen.page.getByRole('button', { name: /^Voice LOST/ }).waitFor();
    await banner().getByText('voice on chase reported lost by Bram Tolliver').waitFor();
    expect(await ready.text(banner())).toMatch(
      /^CHECKLIST Voice lost next: Call on the second radio, twice;.*0 of 3 done/,
    );
    await screen.page.keyboard.press('k');
    await waitUntil('the first open step has the keys', async () =>
      (await screen.focus()).name.includes('Call on the second radio'),
    );
    await screen.page.keyboard.press('Enter');
    expect(await ready.acted('tick checklist')).toMatchObject({ subject: 'lost-voice', number: 1, choice: 'done' });
    const first = banner().getByRole('checkbox').first();
    await waitUntil('it is ticked', async () => (await first.getAttribute('aria-checked')) === 'true');
    await banner()
      .getByText(/^Bram Tolliver, 10:0\d:\d\d$/)
      .waitFor();
    await first.click();
    expect(await ready.acted('tick checklist', 2)).toMatchObject({ number: 1, choice: 'open' });
    await screen.page.keyboard.press('Escape');
    await screen.page.getByRole('button', { name: /^Voice LOST/ }).click();
    await screen.page.getByRole('button', { name: 'Report voice restored' }).click();
    expect(await ready.acted('report voice', 2)).toMatchObject({ choice: 'restored', text: '' });
    await banner().waitFor({ state: 'detached' });
  });

  it('show a checklist on every page, with a refusal where its step is', async () => {
    const conduct = halfReadyConduct();
    conduct.checklists = [
      { id: 'lost-link', shownSince: START + 130e6, ticks: [{ step: 2, person: 'rl', ground: START + 131e6 }] },
    ];
    await anyPage(conduct);
    const shown = screen.page.locator('gc-checklist-banner [data-checklist="lost-link"]');
    for (let page = 1; page <= 7; page++) {
      await screen.page.keyboard.press(String(page));
      await shown.locator('.title', { hasText: 'Telemetry lost' }).waitFor();
    }
    await screen.page.getByRole('button', { name: /^Open Telemetry lost/ }).click();
    await shown.getByText('Ilse Corrand, 10:02:11').waitFor();
    screen.station.refuse = 'step 1 was ticked already, by rl';
    await shown.getByRole('checkbox').first().click();
    await shown.getByText('Not done: step 1 was ticked already, by rl').waitFor();
  });

  it('say where there is nothing to open, and are not ticked in a replay', async () => {
    await anyPage();
    await screen.page.keyboard.press('k');
    await screen.page.getByText('Not done: nothing asks for a checklist now').waitFor();
    await screen.page.close();
    await screen.station.stop();
    const conduct = halfReadyConduct();
    conduct.checklists = [{ id: 'lost-voice', shownSince: START + 130e6, ticks: [] }];
    await anyPage(conduct, { mode: 'replay' });
    await banner().waitFor();
    await screen.page.keyboard.press('k');
    const box = banner().getByRole('checkbox').first();
    expect(await box.getAttribute('aria-disabled')).toBe('true');
    await box.click({ force: true });
    await screen.page.getByText('Not done: this is a replay: nothing is added to it').waitFor();
    await screen.page.keyboard.press('v');
    expect(await screen.page.getByRole('button', { name: 'Report voice lost' }).getAttribute('aria-disabled')).toBe(
      'true',
    );
    expect(screen.station.actions).toEqual([]);
  });

  it('are all to be read on the page, before they are needed', async () => {
    await ready.open();
    const part = await ready.unfold('checklists');
    expect(await part.locator('[data-checklist="lost-link"] li').allTextContents()).toEqual([
      '1. Tell the pilot that the room is blind',
      '2. The point is stopped',
    ]);
    expect(await part.getByRole('checkbox').count()).toBe(0);
  });
});

describe('paper and evidence', () => {
  const panel = () => screen.page.locator('gc-flight-panel [role="dialog"]');

  it('are linked from the flight panel, each opening beside the room', async () => {
    await anyPage();
    await screen.page.keyboard.press('f');
    for (const [name, address] of [
      ['Brief sheet', '/sheets/brief'],
      ['Stop sheet', '/sheets/stop'],
      [/^Report\s*,/, '/report'],
      ['Report as PDF', '/report.pdf'],
    ]) {
      const link = panel().getByRole('link', { name });
      expect([await link.getAttribute('href'), await link.getAttribute('target')]).toEqual([address, '_blank']);
    }
    await panel().getByText('good while they bear 5F1D-0C7A').waitFor();
  });

  it('are held in one action with its reason, and said in the head of every page', async () => {
    await anyPage();
    await screen.page.keyboard.press('f');
    await screen.page.getByRole('button', { name: 'Hold evidence' }).click({ force: true });
    await screen.page.getByText('Not done: an evidence hold needs the reason why').waitFor();
    expect(ready.acts('hold evidence')).toEqual([]);
    await panel().getByLabel('Why the recording is held as evidence').fill('hard landing');
    await screen.page.getByRole('button', { name: 'Hold evidence' }).click();
    expect(await ready.acted('hold evidence')).toMatchObject({ text: 'hard landing' });
    await panel().getByText('Evidence: held').waitFor();
    await waitUntil('the head says it', async () => (await screen.words('gc-head-bar')).includes('Recording, HELD'));
    expect(await panel().getByRole('button', { name: 'Hold evidence' }).count()).toBe(0);
  });

  it('are held by nobody who may not', async () => {
    await anyPage(halfReadyConduct(), { person: 'rl' });
    await screen.page.keyboard.press('f');
    await screen.page.getByRole('button', { name: 'Hold evidence' }).click({ force: true });
    await screen.page
      .getByText(
        /^Not done: rotor and loads may not hold evidence; test director, test conductor, instrumentation may$/,
      )
      .waitFor();
    expect(screen.station.actions).toEqual([]);
  });
});

describe('a fault of ours', () => {
  it('is said plainly on every page, once', async () => {
    await anyPage({ ...halfReadyConduct(), faults: [{ part: 'sequences', fault: 'no such column' }] });
    for (let page = 1; page <= 7; page++) {
      await screen.page.keyboard.press(String(page));
      await waitUntil(`page ${page} says it once`, async () => {
        const said = screen.page.getByRole('alert').filter({ hasText: 'no such column' });
        return (
          (await said.count()) === 1 &&
          (await said.isVisible()) &&
          /sequences (has )?ended/.test((await said.textContent()) ?? '')
        );
      });
    }
  });
});
