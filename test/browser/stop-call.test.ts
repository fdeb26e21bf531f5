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

describe('closing a call', () => {
  beforeEach(() => screen.open({ person: 'td' }));

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
