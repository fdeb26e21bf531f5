/** Names, roles and contrast, by the rules of WCAG 2.1 A and AA. */
import AxeBuilder from 'axe-core';
import { describe, expect, it } from 'vitest';
import type { ConductView } from '../../protocol/conduct.ts';
import { alarmOf } from './alarm-of.ts';
import { busyConduct, toJudge } from './cards-mission.ts';
import { halfReadyConduct, readyMission } from './ready-mission.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();

async function putAside(): Promise<void> {
  screen.station.floods = [{ position: 'test conductor', sinceUs: 1, firstCause: 'nr-low', folded: ['tq-high'] }];
  screen.station.alarms.push(alarmOf({ id: 'tot-high', availability: 'shelved', asideReason: 'drifts' }));
  screen.station.sendRoom();
  await screen.page.keyboard.press('3');
  await screen.page.getByRole('button', { name: /1 folded under it/ }).click();
  await screen.page
    .getByRole('button', { name: /^Put aside/, disabled: false })
    .first()
    .click();
  await screen.page.locator('gc-aside-form').waitFor();
}

async function editLimit(): Promise<void> {
  const values = { levels: [{ side: 'above', level: 'caution', value: 104 }], persistenceUs: 1e6, hysteresis: 1 };
  screen.station.changes = [
    {
      number: 1,
      limit: 'nr-high',
      before: values,
      after: { ...values, hysteresis: 0.5 },
      state: 'proposed',
      person: 'rl',
    },
  ];
  screen.station.cannotTell = ['tot-high'];
  await screen.page.keyboard.press('4');
  await screen.page.locator('[data-limit][data-condition="inside"]').first().waitFor();
  await screen.page.locator('[data-limit="nr-high"]').click();
  await screen.page.getByLabel('warning above').fill('108');
  await screen.page.getByRole('button', { name: 'What would it have done?' }).click();
  await screen.page.getByText('No answer').waitFor();
}

async function waitWithCriterion(): Promise<void> {
  const prompts = [{ alarm: 'nr-low', text: 'Rotor speed low', parameter: 'NR', stopClass: 1, words: ['STOP'] }];
  screen.station.prompts = prompts;
  screen.station.mute = true;
  screen.station.sendRoom();
  await screen.page.locator('gc-criterion-banner [data-prompt]').waitFor();
  await screen.page.keyboard.press('F9');
  await screen.page.keyboard.press('Enter');
  await screen.page.getByRole('button', { name: /NOT FILED YET/ }).click();
  // the call answered it; it is met again
  screen.station.prompts = prompts;
  screen.station.sendRoom();
  await screen.page.locator('gc-criterion-banner [data-prompt]').waitFor();
}

/** The page of cards with this flight, and on it what is looked at. */
async function toCards(conduct: ConductView, more?: () => Promise<unknown>): Promise<void> {
  screen.station.conduct = conduct;
  screen.station.sendConduct();
  await screen.page.keyboard.press('5');
  await screen.page.locator('gc-point-run').waitFor();
  await more?.();
}

const parts = ['notices', 'morning', 'sweep', 'weight', 'ids', 'watch', 'hazards', 'sequences', 'checklists'];

/** The page of what must be true before a flight, with these parts of it open. */
async function toReady(open: readonly string[]): Promise<void> {
  screen.station.conduct = halfReadyConduct();
  screen.station.sendConduct();
  await screen.page.keyboard.press('r');
  for (const id of open) await screen.page.locator(`[data-part="${id}"] .head`).click();
  await screen.page.locator('gc-checklist-list, gc-readiness-poll').first().waitFor();
}

/** A checklist open, the sequences beside it, a fault said, voice being reported. */
async function toProcedures(): Promise<void> {
  const checklists = [{ id: 'lost-voice', shownSince: 1, ticks: [{ step: 2, person: 'rl', ground: 1 }] }];
  const voiceLost = { since: 1, person: 'rl', loop: 'chase, tower' };
  screen.station.conduct = { ...halfReadyConduct(), checklists, voiceLost, faults: [{ part: 'points', fault: 'x' }] };
  screen.station.sendConduct();
  await screen.page.locator('gc-fault-banner [data-fault]').waitFor();
  await screen.page.keyboard.press('k');
  await screen.page.keyboard.press('s');
  await screen.page.keyboard.press('v');
  await screen.page.getByRole('button', { name: 'All voice restored' }).waitFor();
}

describe('accessibility', () => {
  it.each([
    'watch page with alarms and a call',
    'table',
    'stop call panel',
    'flight panel',
    'key list',
    'alarms page with an alarm being put aside',
    'limits page with the editor and a change to decide',
    'criterion banner and calls that wait',
    'page of cards, a point being set up',
    'page of cards, a point to be judged',
    'page of cards, the ledger',
    'mark with its words, and the stopwatch running',
    'page Ready, every part open',
    'checklist, sequences, voice and a fault on any page',
  ] as const)('has no violation on the %s', async (what) => {
    await screen.open({ mission: readyMission });
    screen.station.alarms = [
      alarmOf({ id: 'nr-low' }),
      alarmOf({
        id: 'tq-high',
        level: 'caution',
        parameter: 'TQ',
        value: 101,
        limit: 100,
        ...{ shelvable: true, removable: true },
        acknowledgedBy: ['test conductor'],
      }),
    ];
    screen.station.calls = [
      {
        number: 1,
        stopClass: 1,
        word: 'KNOCK IT OFF',
        reason: 'rotor noise',
        caller: 'pilot',
        person: 'tc',
        step: 'called',
        steps: [{ step: 'called', person: 'tc', position: 'test conductor', groundUs: screen.station.ground }],
      },
    ];
    screen.station.validity.set('IAS', 12);
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm]').waitFor();
    if (what === 'table') await screen.page.keyboard.press('/');
    if (what === 'stop call panel') await screen.page.keyboard.press('F9');
    if (what === 'flight panel') await screen.page.keyboard.press('f');
    if (what === 'key list') await screen.page.keyboard.press('?');
    if (what === 'table') await screen.page.locator('[data-parameter="NR"]').waitFor();
    if (what.startsWith('alarms page')) await putAside();
    if (what.startsWith('limits page')) await editLimit();
    if (what.startsWith('criterion')) await waitWithCriterion();
    if (what.startsWith('page of cards, a point being')) await toCards(busyConduct());
    if (what.startsWith('page of cards, a point to'))
      await toCards(toJudge(), () => screen.page.locator('gc-point-statistics').waitFor());
    if (what.endsWith('ledger'))
      await toCards(busyConduct(), () => screen.page.getByRole('tab', { name: /^Ledger/ }).click());
    if (what.startsWith('page Ready')) await toReady(parts);
    if (what.startsWith('checklist')) await toProcedures();
    if (what.startsWith('mark')) {
      await screen.page.keyboard.press('w');
      await screen.page.keyboard.press('c');
      await screen.page.getByText(/Mark at/).waitFor();
    }
    await screen.page.evaluate(AxeBuilder.source);
    const found = await screen.page.evaluate(async () => {
      const axe = (globalThis as unknown as { axe: typeof AxeBuilder }).axe;
      const result = await axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa'] });
      return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join('; ')}`);
    });
    expect(found).toEqual([]);
  });
});
