/** Logging a stop call and taking it through its steps. */
import { beforeEach, describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { alarmOf } from './alarm-of.ts';
import type { StopCallAction } from '../../protocol/entry.ts';
import { type OpenOptions, useScreen } from './screen.ts';

const screen = useScreen();

describe('a stop call', () => {
  beforeEach(() => screen.open());

  it('logs a stop call by keyboard alone, with class, word, reason and caller', async () => {
    await screen.page.keyboard.press('F9');
    await screen.page.getByRole('heading', { name: 'Log a stop call that was made by voice' }).waitFor();
    await screen.page.keyboard.type('rotor noise');
    await screen.page.keyboard.press('Enter');
    const call = await waitUntil('the call arrives', () => screen.station.actions.find((a) => a.act === 'stop call'));
    const { key, made, ...said } = call as StopCallAction;
    expect(said).toEqual({
      act: 'stop call',
      stopClass: 1,
      word: 'KNOCK IT OFF',
      reason: 'rotor noise',
      caller: 'test conductor',
      alarm: '',
    });
    expect(key).toMatch(/^[0-9a-f]{32}$/);
    expect(screen.station.ground - (made?.ground ?? 0)).toBeLessThan(5_000_000);
    await screen.page.locator('gc-stop-call-banner [data-call="1"]').waitFor();
    expect(await screen.words('gc-stop-call-banner')).toContain('KNOCK IT OFF');
  });

  it('logs no call without a reason, and gives the criterion met as one when an alarm is outside', async () => {
    await screen.page.keyboard.press('F9');
    await screen.page.keyboard.press('Enter');
    await screen.page.keyboard.press('Escape');
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm="nr-low"]').waitFor();
    await screen.page.keyboard.press('F9');
    await screen.page.keyboard.press('Enter');
    const call = await waitUntil('the call arrives', () => screen.station.actions.find((a) => a.act === 'stop call'));
    expect(screen.station.actions.filter((a) => a.act === 'stop call')).toHaveLength(1);
    expect(call).toMatchObject({ reason: 'criterion met: Rotor speed low, 94.2 below 95.0 %', alarm: 'nr-low' });
  });

  it('takes a call through its steps; the test conductor may not close it', async () => {
    await screen.page.keyboard.press('F9');
    await screen.page.keyboard.type('doubt');
    await screen.page.keyboard.press('Enter');
    const banner = screen.page.locator('gc-stop-call-banner');
    for (const label of ['acknowledged by aircraft', 'recovering', 'pilot declares safe', 'review'])
      await banner.getByRole('button', { name: `Log: ${label}` }).click();
    await waitUntil(
      'four steps arrive',
      () => screen.station.actions.filter((a) => a.act === 'stop step').length === 4,
    );
    await waitUntil('closing is offered and refused to this position', () =>
      banner.getByRole('button', { name: 'Close with decision' }).isDisabled(),
    );
    expect(await screen.page.getByRole('button', { name: /terminate|send/i }).count()).toBe(0);
  });

  it('keeps a call that was made while the station was away, and logs it when the station is back', async () => {
    screen.station.down = true;
    screen.station.hangUp();
    await screen.page.getByText('STATION SILENT').waitFor();
    await screen.page.keyboard.press('F9');
    const pressed = screen.station.ground;
    await screen.page.keyboard.type('lost data');
    await screen.page.keyboard.press('Enter');
    await screen.page.getByRole('button', { name: '1 CALL NOT FILED YET' }).waitFor();
    screen.station.down = false;
    const call = await waitUntil(
      'the call arrives',
      () => screen.station.actions.find((a) => a.act === 'stop call'),
      8000,
    );
    await screen.page.getByRole('button', { name: '1 CALL NOT FILED YET' }).waitFor({ state: 'detached' });
    // the time on it is that of the key, which the station learns afterwards
    expect(Math.abs(((call as StopCallAction).made?.ground ?? 0) - pressed)).toBeLessThan(1_500_000);
  });

  it('sends a call again under the same key when its answer was lost', async () => {
    screen.station.mute = true;
    await screen.page.keyboard.press('F9');
    await screen.page.keyboard.type('doubt');
    await screen.page.keyboard.press('Enter');
    const calls = () => screen.station.actions.filter((a) => a.act === 'stop call');
    await waitUntil('the call arrives', () => calls().length === 1);
    screen.station.hangUp();
    await waitUntil('it arrives again', () => calls().length === 2, 8000);
    expect(calls()[1]).toEqual(calls()[0]);
  });
});

describe('a call made while the station is away', () => {
  beforeEach(() => screen.open());

  const calls = () => screen.station.actions.filter((a) => a.act === 'stop call');
  const waiting = () => screen.page.getByRole('button', { name: /NOT FILED YET/ });

  async function makeCall(reason: string): Promise<void> {
    await screen.page.keyboard.press('F9');
    await screen.page.getByLabel('Reason').waitFor();
    await screen.page.keyboard.type(reason);
    await screen.page.keyboard.press('Enter');
  }

  it('survives a reload of the page with its time, and is filed once, under its key', async () => {
    screen.station.down = true;
    screen.station.filesStay = true;
    screen.station.hangUp();
    await screen.page.getByText('STATION SILENT').waitFor();
    const pressed = screen.station.ground;
    await makeCall('lost data');
    await waiting().waitFor();
    await screen.page.reload();
    await screen.page.getByText('WAITING FOR THE STATION').waitFor();
    await waiting().click();
    await screen.page.locator('[data-waiting]', { hasText: 'lost data' }).waitFor();
    // words and position are known though no mission could be loaded; the time is worked out from what passes since
    const second = screen.station.ground;
    await makeCall('still nothing');
    await screen.page.getByRole('button', { name: '2 CALLS NOT FILED YET' }).waitFor();
    screen.station.down = false;
    await waitUntil('both are filed', () => calls().length === 2, 12_000);
    await waiting().waitFor({ state: 'detached' });
    const [first, other] = calls() as [StopCallAction, StopCallAction];
    expect(first).toMatchObject({ reason: 'lost data', word: 'KNOCK IT OFF', caller: 'test conductor' });
    expect(Math.abs((first.made?.ground ?? 0) - pressed)).toBeLessThan(1_500_000);
    expect(Math.abs((other.made?.ground ?? 0) - second)).toBeLessThan(2_500_000);
    expect(first.key).not.toBe(other.key);
    expect(screen.station.calls).toHaveLength(2);
    await screen.page.reload();
    await screen.page.locator('gc-stop-call-banner [data-call]').waitFor();
    expect(await waiting().count()).toBe(0);
    expect(calls()).toHaveLength(2);
  });

  it('is one call when its answer was lost and the page was loaded again', async () => {
    screen.station.mute = true;
    await makeCall('doubt');
    await waitUntil('it arrives', () => calls().length === 1);
    screen.station.mute = false;
    await screen.page.reload();
    await waitUntil('it arrives again', () => calls().length === 2, 8000);
    expect(calls()[1]).toEqual(calls()[0]);
    expect(screen.station.calls).toHaveLength(1);
    await waiting().waitFor({ state: 'detached' });
  });

  it('is not filed by itself under another name, but by hand', async () => {
    screen.station.down = true;
    screen.station.filesStay = true;
    screen.station.hangUp();
    await screen.page.getByText('STATION SILENT').waitFor();
    await makeCall('lost data');
    await waiting().waitFor();
    await screen.page.context().addCookies([{ name: 'person', value: 'td', url: screen.station.url }]);
    screen.station.down = false;
    await screen.page.reload();
    await screen.page.locator('gc-head-bar', { hasText: 'Ottoline Marsk' }).waitFor();
    await waiting().click();
    await screen.page.getByText('Bram Tolliver logged it, and another person is signed in').waitFor();
    expect(calls()).toEqual([]);
    await screen.page.getByRole('button', { name: 'File it as Ottoline Marsk' }).click();
    await waitUntil('it is filed', () => calls().length === 1);
    await waiting().waitFor({ state: 'detached' });
  });

  it('stays, with what the station said, when the station refuses it', async () => {
    screen.station.refuse = 'nobody of that name';
    await makeCall('doubt');
    await screen.page.getByText('Not done: nobody of that name').waitFor();
    await waiting().click();
    await screen.page.getByText('not filed: nobody of that name').waitFor();
    await screen.page.getByRole('button', { name: /^File it as/ }).click();
    await waitUntil('it is filed', () => calls().length === 1);
  });
});

describe('what every action carries', () => {
  it('has the ground time it was done at and a request number that rises, also after the link was lost', async () => {
    await screen.open();
    for (const text of ['one', 'two', 'three']) {
      await screen.page.keyboard.press('m');
      await screen.page.getByText(/Mark at/).waitFor();
      await screen.page.keyboard.type(text);
      await screen.page.keyboard.press('Enter');
      await waitUntil('it arrives', () => screen.station.actions.some((a) => a.act === 'mark' && a.text === text));
      expect(Math.abs((screen.station.madeAt.at(-1) ?? 0) - screen.station.ground)).toBeLessThan(1_000_000);
      if (text !== 'two') continue;
      const { subscriptions } = screen.station;
      screen.station.hangUp();
      // the link may be back before anybody sees that it was lost
      await waitUntil('the link is back', () => screen.station.subscriptions > subscriptions);
      await screen.page.getByText('STATION SILENT').waitFor({ state: 'detached' });
    }
    const { requests } = screen.station;
    expect(requests).toHaveLength(3);
    expect([...new Set(requests)].sort((a, b) => a - b)).toEqual(requests);
  });
});

describe('briefed words', () => {
  beforeEach(() => screen.open());

  it('offers the call of the start phase, chosen by itself in that phase, and says which words are locked', async () => {
    screen.station.phase = 'start';
    screen.station.sendRoom();
    await screen.page.locator('gc-stop-call-bar .words', { hasText: 'ABORT START' }).waitFor();
    await screen.page.keyboard.press('F9');
    const form = screen.page.locator('gc-stop-call-form');
    await form.getByText('Locked: TERMINATE').waitFor();
    expect(await form.getByRole('radio', { name: /TERMINATE/ }).count()).toBe(0);
    expect(await form.getByRole('radio', { name: /^Start phase/ }).isChecked()).toBe(true);
    await screen.page.keyboard.type('hot start');
    await screen.page.keyboard.press('Enter');
    const call = await waitUntil('the call arrives', () => screen.station.actions.find((a) => a.act === 'stop call'));
    expect(call).toMatchObject({ stopClass: 1, word: 'ABORT START', reason: 'hot start' });
  });

  it('shows a call of one position in the window of another at once, with its evidence window', async () => {
    const director = await screen.another('td');
    await screen.page.keyboard.press('F9');
    await screen.page.keyboard.type('rotor noise');
    await screen.page.keyboard.press('Enter');
    const banner = director.locator('gc-stop-call-banner [data-call="1"]');
    await banner.waitFor({ timeout: 1500 });
    const words = ((await banner.textContent()) ?? '').replace(/\s+/g, ' ');
    expect(words).toContain('CALL 1, CLASS 1: KNOCK IT OFF');
    expect(words).toContain('called by test conductor');
    expect(words).toMatch(/Evidence \d\d:\d\d:\d\d to \d\d:\d\d:\d\d aircraft time, \d+ s still to come/);
  });
});

describe('closing a call', () => {
  beforeEach(() => screen.open({ person: 'td' }));

  const reviewed = () => ({
    number: 1,
    stopClass: 1,
    word: 'KNOCK IT OFF',
    reason: 'doubt',
    caller: 'pilot',
    person: 'tc',
    step: 'review',
    steps: [{ step: 'called', person: 'tc', position: 'test conductor', groundUs: screen.station.ground }],
  });

  it('resumes by keyboard alone, and only when all three things are said', async () => {
    screen.station.calls = [reviewed()];
    screen.station.sendRoom();
    await screen.page.locator('gc-stop-call-banner [data-call]').waitFor();
    await screen.tabTo('Decision');
    await screen.page.keyboard.type('resume');
    const close = screen.page.getByRole('button', { name: 'Close with decision' });
    for (const left of ['the pilot agrees', 'the reason was found', 'limits and data']) {
      expect(await close.getAttribute('title')).toContain(left);
      await screen.page.getByLabel(left).focus();
      await screen.page.keyboard.press('Space');
    }
    await close.focus();
    await screen.page.keyboard.press('Enter');
    const step = await waitUntil('it is closed', () => screen.station.actions.find((a) => a.act === 'stop step'));
    expect(step).toMatchObject({
      step: 'closed',
      decision: 'resume',
      pilotAgrees: true,
      reasonFound: true,
      rechecked: true,
    });
  });

  it('closes with nothing but return once testing has ended for the day', async () => {
    screen.station.calls = [{ ...reviewed(), returnOnly: true, repeatOf: 1 }];
    screen.station.sendRoom();
    await screen.page.getByText('TESTING ENDED FOR THE DAY').waitFor();
    const decision = screen.page.getByLabel('Decision');
    expect(await decision.locator('option:not([disabled])').allTextContents()).toHaveLength(2);
    await decision.selectOption('return');
    await screen.page.getByRole('button', { name: 'Close with decision' }).click();
    await waitUntil('it is closed', () =>
      screen.station.actions.some((a) => a.act === 'stop step' && a.decision === 'return'),
    );
  });

  it('lets the test director close a call only with a decision', async () => {
    screen.station.calls = [
      {
        number: 1,
        stopClass: 2,
        word: 'STOP TEST',
        reason: 'weather',
        caller: 'pilot',
        person: 'tc',
        step: 'review',
        steps: [{ step: 'called', person: 'tc', position: 'test conductor', groundUs: screen.station.ground }],
      },
    ];
    const close = screen.page.getByRole('button', { name: 'Close with decision' });
    await close.waitFor();
    expect(await close.isDisabled()).toBe(true);
    await screen.page.getByLabel('Decision').selectOption('repeat');
    await close.click();
    const step = await waitUntil('the decision arrives', () =>
      screen.station.actions.find((a) => a.act === 'stop step'),
    );
    expect(step).toMatchObject({ call: 1, step: 'closed', decision: 'repeat' });
    await screen.page.locator('gc-stop-call-banner [data-call]').waitFor({ state: 'detached' });
  });
});

describe('where nothing can be logged', () => {
  it.each<[string, OpenOptions, RegExp]>([
    ['a replay', { mode: 'replay' }, /Not done: this is a replay/],
    ['a window that may look, not act', { person: 'nobody' }, /Not done: who is signed in here may look, not act/],
  ])('in %s the control stays in its place and says why', async (_, options, why) => {
    await screen.open(options);
    const control = screen.page.getByRole('button', { name: /^Log call made/ });
    await waitUntil('it is known', async () => (await control.getAttribute('aria-disabled')) === 'true');
    await screen.page.keyboard.press('F9');
    await screen.page.getByText(why).waitFor();
    expect(await screen.page.getByRole('heading', { name: /Log a stop call/ }).count()).toBe(0);
    expect(screen.station.actions).toEqual([]);
  });
});
