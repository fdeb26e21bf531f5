/** Marks of every kind, the hack, and the stopwatch: by key, at the instant of the key. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Action } from '../../protocol/entry.ts';
import { waitUntil } from '../support/wait-until.ts';
import { CardsScreen } from './cards-screen.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const cards = new CardsScreen(screen);
type Mark = Extract<Action, { act: 'mark' }>;
const marks = (): Mark[] => screen.station.actions.filter((action): action is Mark => action.act === 'mark');
const marked = (count = 1): Promise<Mark> =>
  waitUntil('the mark arrives', () => (marks().length >= count ? marks()[count - 1] : undefined));

/** Aircraft time of the stand-in station as the page has it: what it told last, run on by the clock of the page. */
async function timed(press: () => Promise<void>): Promise<{ from: number; to: number }> {
  const from = screen.station.aircraft;
  await press();
  // its clock goes on in steps of 40 ms
  return { from: from - 60_000, to: screen.station.aircraft + 60_000 };
}

describe('a mark', () => {
  beforeEach(() => screen.open());

  it.each([
    ['m', undefined, 'shudder'],
    ['c', 'comment', 'felt a kick in the pedals'],
    ['n', 'note', 'sun behind cloud'],
  ] as const)(
    'of key %s has the kind %s, the instant of the key, and the words that follow',
    async (key, kind, text) => {
      await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
      const { from, to } = await timed(() => screen.page.keyboard.press(key));
      await screen.page.getByText(/Mark at/).waitFor();
      await screen.page.keyboard.type(text);
      await screen.page.keyboard.press('Enter');
      const mark = await marked();
      expect(mark).toMatchObject({ text, ...(kind && { kind }) });
      expect(mark.aircraft).toBeGreaterThan(from);
      expect(mark.aircraft).toBeLessThan(to);
    },
  );

  it('can become another kind while it is typed, and a comment without words is not logged', async () => {
    await screen.page.keyboard.press('m');
    await screen.page.getByLabel('Crew comment').check();
    const field = screen.page.getByLabel('Words of the mark');
    await field.focus();
    await screen.page.keyboard.press('Enter');
    await field.fill('rough');
    await screen.page.keyboard.press('Enter');
    expect(await marked()).toMatchObject({ kind: 'comment', text: 'rough' });
    expect(marks()).toHaveLength(1);
  });

  it('is a hack at the key, without anything to type, and says that it was logged', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const { from, to } = await timed(() => screen.page.keyboard.press('h'));
    const mark = await marked();
    expect(mark).toMatchObject({ kind: 'hack', text: '' });
    expect(mark.aircraft).toBeGreaterThan(from);
    expect(mark.aircraft).toBeLessThan(to);
    await screen.page.getByText(/^Hack logged at 10:0\d:\d\d\.\d\d aircraft time$/).waitFor();
    expect(await screen.page.locator('gc-mark-control form').count()).toBe(0);
    screen.station.refuse = 'the mark lies after the newest sample';
    await screen.page.keyboard.press('h');
    await screen.page.getByText('Not done: the mark lies after the newest sample').waitFor();
  });

  it('keeps two hacks as far apart as their keys were, though updates come in steps', async () => {
    // a page on which updates are few
    await screen.page.getByRole('button', { name: 'All parameters' }).click();
    await screen.page.locator('[data-parameter="NR"]').waitFor();
    const pressed = () =>
      screen.page.evaluate(
        () =>
          new Promise<number>((resolve) =>
            addEventListener('keydown', (event) => resolve(event.timeStamp), { once: true, capture: true }),
          ),
      );
    const times: number[] = [];
    for (let i = 0; i < 4; i++) {
      const at = pressed();
      await screen.page.waitForTimeout(70 + 45 * i);
      await screen.page.keyboard.press('h');
      times.push(await at);
      await marked(i + 1);
    }
    for (let i = 1; i < times.length; i++) {
      const keys = (times[i] as number) - (times[i - 1] as number);
      const logged = ((marks()[i]?.aircraft ?? 0) - (marks()[i - 1]?.aircraft ?? 0)) / 1000;
      // the stand-in station's own clock stands still for up to 40 ms while it is busy
      expect(Math.abs(logged - keys)).toBeLessThan(45);
    }
  });

  it('stands in the flight panel with both times, its kind and who made it', async () => {
    await screen.page.keyboard.press('h');
    await marked();
    await screen.page.keyboard.press('f');
    const row = screen.page.locator('gc-flight-panel [data-mark="hack"]');
    await row.waitFor();
    expect(((await row.textContent()) ?? '').replace(/\s+/g, ' ')).toMatch(
      /10:0\d:\d\d\.\d\d ?10:0\d:\d\d\.\d\d hack Bram Tolliver/,
    );
  });

  it('is not made where letters are typed, nor with letters turned off', async () => {
    await screen.page.keyboard.press('/');
    await screen.page.keyboard.type('hcnw');
    await screen.page.keyboard.press('Escape');
    await screen.page.locator('gc-parameter-table input').first().blur();
    await screen.page.keyboard.press('?');
    await screen.page.getByLabel('Single letters and digits work as keys').uncheck();
    await screen.page.getByRole('button', { name: 'Close', exact: true }).click();
    await screen.page.keyboard.press('h');
    await screen.page.keyboard.press('w');
    await screen.page.getByRole('button', { name: /^Hack/ }).click();
    await marked();
    expect(screen.station.actions).toHaveLength(1);
  });
});

describe('the stopwatch', () => {
  const watch = () => screen.page.locator('gc-stopwatch');
  const count = async (): Promise<string> => (await watch().locator('.count').textContent()) ?? '';

  it('is started, stopped and set to nought by key, and counts aircraft time', async () => {
    await screen.open();
    expect(await count()).toBe('0:00.0');
    await screen.page.keyboard.press('w');
    expect(await cards.acted('press stopwatch')).toMatchObject({ subject: 'test conductor', choice: 'start' });
    await waitUntil('it counts', async () => /^0:0[1-9]\.\d$/.test(await count()));
    await screen.page.keyboard.press('w');
    const stop = await cards.acted('press stopwatch', 2);
    const start = cards.acts('press stopwatch')[0];
    expect(stop.choice).toBe('stop');
    const seconds = (stop.aircraft - (start?.aircraft ?? 0)) / 1e6;
    await watch().getByRole('button', { name: 'Reset stopwatch' }).waitFor();
    expect(await count()).toBe(`0:0${Math.floor(seconds * 10) / 10}`.padEnd(6, '.0').slice(0, 6));
    await screen.page.keyboard.press('Shift+w');
    expect(await cards.acted('press stopwatch', 3)).toMatchObject({ choice: 'reset' });
    await waitUntil('it stands at nought', async () => (await count()) === '0:00.0');
  });

  it('is one for each position; those of others are seen in the flight panel', async () => {
    await screen.open();
    await screen.page.keyboard.press('w');
    await cards.acted('press stopwatch');
    const other = await screen.another('td');
    await other.keyboard.press('w');
    expect(await cards.acted('press stopwatch', 2)).toMatchObject({ subject: 'test director', choice: 'start' });
    await other.keyboard.press('f');
    const rows = other.locator('gc-flight-panel [data-stopwatch]');
    await waitUntil('both are there', async () => (await rows.count()) === 2);
  });

  it('says that it stands still when no sample comes', async () => {
    await screen.open();
    await screen.page.keyboard.press('w');
    await cards.acted('press stopwatch');
    screen.station.lost = true;
    await watch().locator('.standing').waitFor();
    // it may run on by half a second beyond the newest sample
    await screen.page.waitForTimeout(600);
    const stood = await count();
    await screen.page.waitForTimeout(800);
    expect(await count()).toBe(stood);
  });

  it('stays grey in a replay', async () => {
    await screen.open({ mode: 'replay', person: 'td' });
    await screen.page.keyboard.press('w');
    await screen.page.getByText('Not done: this is a replay: nothing is added to it').waitFor();
    expect(screen.station.actions).toEqual([]);
    expect(await watch().getByRole('button').first().getAttribute('aria-disabled')).toBe('true');
  });
});
