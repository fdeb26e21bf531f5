/** "Criterion met" on every page, what it fills in, and what a call keeps of the point it was made on. */
import { describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();

describe('a criterion that is met', () => {
  const prompt = () => ({
    alarm: 'ias-stop',
    text: 'Airspeed of the card',
    parameter: 'IAS',
    stopClass: 1,
    words: ['KNOCK IT OFF', 'ABORT ABORT ABORT'],
    value: 101,
    limit: 100,
    aircraftUs: screen.station.aircraft,
  });
  const banner = () => screen.page.locator('gc-criterion-banner [data-prompt="ias-stop"]');
  const callAt = (point: string, gate: string) => ({
    ...{ number: 1, stopClass: 1, kind: 'flight', word: 'KNOCK IT OFF', reason: 'vibration', caller: 'engine' },
    ...{ person: 'tc', step: 'called', alarm: '', point, gate },
    steps: [{ step: 'called', person: 'tc', position: 'test conductor', groundUs: screen.station.ground }],
  });

  it('prompts on every page with item, value, limit and briefed words; F9 opens the panel filled in', async () => {
    await screen.open();
    screen.station.prompts = [prompt()];
    screen.station.sendRoom();
    for (const page of ['1', '2', '3', '4', '5']) {
      await screen.page.keyboard.press(page);
      await banner().waitFor({ timeout: 1000 });
    }
    const words = ((await banner().textContent()) ?? '').replace(/\s+/g, ' ');
    for (const told of ['CRITERION MET', 'Airspeed of the card: 101 above 100 kt', 'KNOCK IT OFF / ABORT ABORT ABORT'])
      expect(words).toContain(told);
    await screen.page.keyboard.press('F9');
    await waitUntil('the reason has the keys', async () => (await screen.focus()).name === 'reason');
    await screen.page.keyboard.press('Enter');
    const call = await waitUntil('the call arrives', () => screen.station.actions.find((a) => a.act === 'stop call'));
    expect(call).toMatchObject({
      stopClass: 1,
      word: 'KNOCK IT OFF',
      reason: 'criterion met: Airspeed of the card, 101 above 100 kt',
      alarm: 'ias-stop',
    });
    await banner().waitFor({ state: 'detached' });
  });

  it('says that it is one of the point under way, in the banner and in the reason', async () => {
    await screen.open();
    screen.station.prompts = [{ ...prompt(), point: 'S2-080' }];
    screen.station.sendRoom();
    await banner().waitFor();
    expect(((await banner().textContent()) ?? '').replace(/\s+/g, ' ')).toContain('stop criterion of point S2-080, at');
    await screen.page.keyboard.press('F9');
    await screen.page.getByLabel('Reason').waitFor();
    await waitUntil('it is filled in', async () =>
      (await screen.page.getByLabel('Reason').inputValue()).endsWith('kt; stop criterion of point S2-080'),
    );
  });

  it('keeps, with the call, the point and the gate at which it was made', async () => {
    await screen.open();
    screen.station.calls = [callAt('S2-080', 'manoeuvre')];
    screen.station.sendRoom();
    await screen.page.locator('gc-stop-call-banner [data-call="1"]').waitFor();
    expect(await screen.words('gc-stop-call-banner')).toContain('On point S2-080, at manoeuvre.');
    await screen.page.getByRole('button', { name: 'Flight' }).click();
    expect(await screen.words('gc-flight-panel')).toContain('vibration. On point S2-080, at manoeuvre. Open: called');
    screen.station.calls = [callAt('', '')];
    screen.station.sendRoom();
    await waitUntil('none is told', async () => !(await screen.words('gc-flight-panel')).includes('On point'));
    expect(await screen.words('gc-stop-call-banner')).not.toContain('On point');
  });

  it('fills the panel in with the criterion whose button is pressed', async () => {
    await screen.open();
    screen.station.prompts = [
      prompt(),
      { ...prompt(), alarm: 'tq-high', text: 'Torque high', parameter: 'TQ', stopClass: 2, words: ['STOP TEST'] },
    ];
    screen.station.sendRoom();
    await screen.tabTo('Log call made for Torque high');
    await screen.page.keyboard.press('Enter');
    await screen.page.getByLabel('Reason').waitFor();
    await waitUntil('it is filled in', async () =>
      (await screen.page.getByLabel('Reason').inputValue()).startsWith('criterion met: Torque high'),
    );
    expect(await screen.page.getByRole('radio', { name: 'STOP TEST' }).isChecked()).toBe(true);
  });
});
