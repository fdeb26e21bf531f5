/** Screens in headless Chromium against the stand-in station: values, alarms, keys, silence, the table. */
import { PNG } from 'pngjs';
import { beforeEach, describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { alarmOf } from './alarm-of.ts';
import { rehearsalMission } from '../../station/command/running.ts';
import { loadMission } from '../../station/mission/load.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type OpenOptions, useScreen } from './screen.ts';
import { smallMission } from './small-mission.ts';

const screen = useScreen();

describe('a window', () => {
  beforeEach(() => screen.open());

  it('shows values with their units, discretes by name, and acknowledges what it has drawn', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    expect(await screen.shown('TOT')).toBe('735');
    expect(await screen.shown('FCS_MODE')).toBe('air');
    await waitUntil('an update is acknowledged', () => screen.station.drawn > 0);
    expect(screen.errors).toEqual([]);
  });

  it('changes the digits and their picture when the value changes', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const before = await screen.digits('NR').screenshot();
    screen.station.signals.set('NR', () => 88.8);
    await waitUntil('the new value is shown', async () => (await screen.shown('NR')) === '88.8', 1500);
    const after = await screen.digits('NR').screenshot();
    expect(before.equals(after)).toBe(false);
  });

  it('says which mode it is in by word and pattern, and who sits here', async () => {
    const mode = screen.page.locator('gc-head-bar .mode');
    expect(await mode.textContent()).toContain('REHEARSAL');
    expect(await mode.evaluate((element) => getComputedStyle(element).backgroundImage)).toContain('repeating-linear');
    expect(await screen.words('gc-head-bar')).toContain('Bram Tolliver');
    expect(await screen.words('gc-head-bar')).toContain('5F1D-0C7A');
  });

  it('shows an alarm at once in the line, on the instruments and in the list, and acknowledges it with a key', async () => {
    expect(await screen.words('gc-alarm-line')).toContain('No alarm held');
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    const line = screen.page.locator('gc-alarm-line [data-alarm="nr-low"]');
    await line.waitFor({ timeout: 1000 });
    expect(await line.textContent()).toContain('WARNING');
    expect(await line.textContent()).toContain('NR low: collective down');
    expect(await screen.words('gc-alarm-list [data-alarm="nr-low"]')).toContain('outside now');
    await waitUntil(
      'the instrument is marked',
      async () => (await screen.page.locator('gc-instrument-frame .level.warning').count()) > 0,
    );
    await screen.page.keyboard.press('a');
    await waitUntil('the station has it', () =>
      screen.station.actions.some((a) => a.act === 'acknowledge' && a.alarm === 'nr-low'),
    );
    await line.waitFor({ state: 'detached' });
    expect(await screen.words('gc-alarm-list [data-alarm="nr-low"]')).toContain('acknowledged by test conductor');
  });

  it('says in the alarm line when a held alarm is back inside, and goes on showing it once acknowledged here', async () => {
    screen.station.alarms = [alarmOf({ id: 'nr-low', condition: 'inside' })];
    screen.station.sendRoom();
    const line = screen.page.locator('gc-alarm-line [data-alarm="nr-low"]');
    await line.waitFor();
    expect(await line.textContent()).toContain('back inside, held');
    await screen.page.keyboard.press('a');
    await line.waitFor({ state: 'detached' });
    const quiet = await screen.words('gc-alarm-line');
    expect(quiet).toContain('WARNING');
    expect(quiet).toContain('Rotor speed low: back inside, held, acknowledged here');
  });

  it('acknowledges the announcement that was read, and not one that has just taken its place', async () => {
    screen.station.alarms = [alarmOf({ id: 'nr-low', level: 'caution', groundUs: 1000 })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line .caution[data-alarm="nr-low"]').waitFor();
    screen.station.alarms = [alarmOf({ id: 'nr-low', level: 'warning', groundUs: 2000 })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line .warning[data-alarm="nr-low"]').waitFor();
    await screen.page.keyboard.press('a');
    await screen.page.getByText('the alarm line has just changed').waitFor();
    expect(screen.station.actions).toEqual([]);
    const press = async (): Promise<boolean> => {
      await screen.page.keyboard.press('a');
      return screen.station.actions.length > 0;
    };
    await waitUntil('it is acknowledged when it has been read', press);
    expect(screen.station.actions[0]).toEqual({ act: 'acknowledge', alarm: 'nr-low', seen: 2000 });
  });

  it('names the limits that cannot tell beside the calm words, though no alarm was ever raised', async () => {
    screen.station.cannotTell = ['tot-high'];
    screen.station.sendRoom();
    const line = screen.page.locator('gc-alarm-line .blind');
    await line.waitFor();
    expect(await line.textContent()).toContain('limits: TOT');
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm="nr-low"] .word', { hasText: '1 CANNOT TELL' }).waitFor();
    screen.station.alarms = [];
    screen.station.sendRoom();
    await line.waitFor();
    expect(await screen.words('gc-alarm-line')).toContain('CANNOT TELL');
    await waitUntil(
      'the instrument says so too',
      async () => (await screen.page.locator('gc-instrument-frame .word', { hasText: 'CANNOT TELL' }).count()) > 0,
    );
    screen.station.cannotTell = [];
    await line.waitFor({ state: 'detached' });
  });

  it('marks recording hours that are not enough for two flights', async () => {
    await screen.page.getByText('on, 42 h left').waitFor();
    screen.station.recording.hoursLeft = 3.94;
    await screen.page.locator('gc-head-bar .trouble', { hasText: 'on, ONLY 3.9 h left' }).waitFor();
    screen.station.recording.hoursLeft = Number.NaN;
    await screen.page.locator('gc-head-bar .trouble', { hasText: 'h left' }).waitFor({ state: 'detached' });
  });

  it.each([
    ['recording', '12 entries lost', 'on, SOME LOST'],
    ['closed', 'the recorder stopped: its thread ended', 'STOPPED'],
    ['trouble', 'database or disk is full', 'TROUBLE'],
  ])('marks a recording that is %s, but: %s', async (state, trouble, words) => {
    screen.station.recording = { state, hoursLeft: 41.5, trouble };
    const cell = screen.page.locator('gc-head-bar .trouble', { hasText: words });
    await cell.waitFor();
    expect(await cell.getAttribute('title')).toBe(trouble);
  });

  it('counts messages that no receiver can be named for', async () => {
    // of 19 damaged ones 3 came by North and 12 by South
    await waitUntil('it is told', async () => (await screen.words('gc-receivers')).includes('Unreadable4'));
  });

  it('has no red and no amber on it in normal flight, and has when there is a warning', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const loud = async (): Promise<number> => {
      const { data } = PNG.sync.read(await screen.page.screenshot());
      let count = 0;
      for (let i = 0; i < data.length; i += 4) {
        const [r, g, b] = [data[i] ?? 0, data[i + 1] ?? 0, data[i + 2] ?? 0];
        // red to amber, saturated
        if (r > 130 && r - b > 90 && r - g > 30) count += 1;
      }
      return count;
    };
    expect(await loud()).toBe(0);
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm="nr-low"]').waitFor();
    expect(await loud()).toBeGreaterThan(5000);
  });

  it('never shows "cannot tell", frozen or missing values as if they were inside', async () => {
    screen.station.validity.set('TOT', 12);
    screen.station.signals.set('FUEL', () => Number.NaN);
    screen.station.alarms = [alarmOf({ id: 'tot-high', parameter: 'TOT', level: 'caution', condition: 'cannot tell' })];
    const around = (id: string, place: string) =>
      screen.digits(id).evaluate((digits, selector) => digits.closest(selector)?.textContent ?? '', place);
    await waitUntil('the dial says frozen', async () => (await around('TOT', '.cell')).includes('FROZEN'));
    await waitUntil('fuel says no sample', async () => (await around('FUEL', 'li')).includes('NO SAMPLE'));
    expect(await screen.shown('FUEL')).toBe('– – –');
    expect(await screen.digits('TOT').evaluate((e) => getComputedStyle(e).textDecorationLine)).toBe('line-through');
    screen.station.sendRoom();
    await waitUntil('the list says so', async () => (await screen.words('gc-alarm-list')).includes('CANNOT TELL'));
  });

  it('says why the station refused an action', async () => {
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm="nr-low"]').waitFor();
    screen.station.refuse = 'not in this position';
    await screen.page.keyboard.press('a');
    await screen.page.getByText('Not done: not in this position').waitFor();
  });

  it('marks every value old half a second after the station falls silent, and is itself again when it speaks', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    screen.station.silent = true;
    await screen.page.getByText('STATION SILENT').waitFor({ timeout: 1500 });
    await waitUntil('every value is old', () =>
      screen.page.evaluate(() => {
        const find = (root: ParentNode): Element[] =>
          [...root.querySelectorAll('*')].flatMap((e) => [e, ...(e.shadowRoot ? find(e.shadowRoot) : [])]);
        const readouts = find(document).filter((e) => e.classList.contains('readout'));
        return readouts.length > 8 && readouts.every((e) => e.classList.contains('unusable'));
      }),
    );
    screen.station.silent = false;
    await screen.page.getByText('STATION SILENT').waitFor({ state: 'detached' });
    await waitUntil(
      'values are good again',
      async () => (await screen.page.locator('.readout.unusable').count()) === 0,
    );
  });

  it('finds parameters by id, name or unit in the table and keeps few rows on the page', async () => {
    await screen.page.keyboard.press('/');
    const field = screen.page.getByLabel('Search');
    await field.waitFor();
    await screen.page.locator('[data-parameter="NR"]').waitFor();
    expect(await screen.page.locator('gc-parameter-table [data-parameter]').count()).toBeLessThan(60);
    await screen.page.keyboard.type('strain 217');
    await screen.page.locator('[data-parameter="STRAIN_217"]').waitFor();
    expect(await screen.page.locator('gc-parameter-table [data-parameter]').count()).toBe(1);
    await field.fill('kW');
    await screen.page.locator('[data-parameter="ROTOR_POWER"]').waitFor();
    expect(await screen.page.locator('[data-parameter="ROTOR_POWER"]').textContent()).toContain('= NR * TQ * 0.02[kW]');
  });

  it('asks for buckets of what it charts and for the latest of the rest', async () => {
    const found = () => screen.station.received.find((m) => m.subscribe)?.subscribe ?? undefined;
    const subscribe = await waitUntil('a subscription', found);
    const of = (id: string) => smallMission.parameters.findIndex((p) => p.id === id);
    expect([...(subscribe.columns ?? [])].sort()).toEqual([of('NR'), of('TQ'), of('IAS')].sort());
    expect(subscribe.latestColumns).toContain(of('TOT'));
    expect(subscribe.latestColumns).not.toContain(of('NR'));
    expect(subscribe.historyS).toBe(60);
  });

  it('logs an event mark at the instant of the key', async () => {
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const before = screen.station.aircraft;
    await screen.page.keyboard.press('m');
    await screen.page.getByText(/Mark at/).waitFor();
    const after = screen.station.aircraft;
    await screen.page.keyboard.type('shudder');
    await screen.page.keyboard.press('Enter');
    const mark = await waitUntil('the mark arrives', () => screen.station.actions.find((a) => a.act === 'mark'));
    expect(mark).toMatchObject({ text: 'shudder' });
    const at = mark.act === 'mark' ? mark.aircraft : 0;
    // to the instant of the key: the stand-in station's own clock goes on in steps of 40 ms
    expect(at).toBeGreaterThan(before - 60_000);
    expect(at).toBeLessThan(after + 60_000);
  });

  it('names the flight, and closes it only when it was said to be over', async () => {
    await screen.page.keyboard.press('f');
    await screen.page.getByLabel('Number').fill('018');
    await screen.page.getByRole('button', { name: 'Name flight' }).click();
    await waitUntil('the name arrives', () =>
      screen.station.actions.some((a) => a.act === 'name flight' && a.number === '018'),
    );
    const close = screen.page.getByRole('button', { name: 'Close flight' });
    expect(await close.isDisabled()).toBe(true);
    await screen.page.getByLabel('The flight is over: end its recording').check();
    await close.click();
    await waitUntil('the end arrives', () => screen.station.actions.some((a) => a.act === 'close flight'));
  });

  it('does nothing on single letters once they are turned off', async () => {
    await screen.page.keyboard.press('?');
    await screen.page.getByLabel('Single letters and digits work as keys').uncheck();
    await screen.page.getByRole('button', { name: 'Close', exact: true }).click();
    screen.station.alarms = [alarmOf({ id: 'nr-low' })];
    screen.station.sendRoom();
    await screen.page.locator('gc-alarm-line [data-alarm="nr-low"]').waitFor();
    await screen.page.keyboard.press('a');
    await screen.page.keyboard.press('F9');
    await screen.page.getByRole('heading', { name: 'Log a stop call that was made by voice' }).waitFor();
    expect(screen.station.actions).toEqual([]);
  });
});

describe('layout', () => {
  const rehearsal = loadMission(rehearsalMission).value?.mission as Mission;
  it.each<[number, number, string, OpenOptions]>([
    [1366, 768, 'a small page', {}],
    [1920, 1080, 'a small page', {}],
    [1366, 768, 'the full page of a replay', { mode: 'replay', mission: rehearsal }],
    [1920, 1080, 'the full page of a replay', { mode: 'replay', mission: rehearsal }],
  ])(
    'cuts off and covers no value at %i x %i on %s, also with alarms, an open call and values that may not be used',
    async (width, height, _, options) => {
      await screen.open(options);
      await screen.page.setViewportSize({ width, height });
      screen.station.alarms = [
        alarmOf({ id: 'nr-low' }),
        alarmOf({ id: 'tq-high', level: 'caution', parameter: 'TQ', value: 101, limit: 100, condition: 'inside' }),
      ];
      screen.station.validity.set('TOT', 12);
      screen.station.calls = [
        { number: 1, stopClass: 1, word: 'KNOCK IT OFF', reason: 'doubt', step: 'called', steps: [] },
      ];
      screen.station.sendRoom();
      await screen.page.locator('gc-stop-call-banner [data-call]').waitFor();
      await waitUntil(
        'the dial is marked',
        async () => (await screen.page.locator('.word', { hasText: 'FROZEN' }).count()) > 0,
      );
      const faults = await screen.page.evaluate(() => {
        const find = (root: ParentNode): Element[] =>
          [...root.querySelectorAll('*')].flatMap((e) => [e, ...(e.shadowRoot ? find(e.shadowRoot) : [])]);
        const all = find(document);
        const found: string[] = [];
        const values = all.filter((e) => e.matches('.digits, .tags, dl dd'));
        const boxes = values.map((e) => {
          const box = e.getBoundingClientRect();
          const host = ((e.getRootNode() as ShadowRoot).host as HTMLElement).getBoundingClientRect();
          const name = (e as HTMLElement).dataset['value'] ?? e.textContent ?? '';
          if (
            box.left < host.left - 1 ||
            box.right > host.right + 1 ||
            box.top < host.top - 1 ||
            box.bottom > host.bottom + 1
          )
            found.push(`${name} leaves its place`);
          return { name, box };
        });
        for (let i = 0; i < boxes.length; i++)
          for (let j = i + 1; j < boxes.length; j++) {
            const [a, b] = [boxes[i], boxes[j]];
            if (!a || !b) continue;
            const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
            const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
            if (wide > 1 && high > 3) found.push(`${a.name} and ${b.name} overlap`);
          }
        if (document.documentElement.scrollWidth > innerWidth) found.push('the window scrolls sideways');
        return { found, values: values.length };
      });
      expect(faults.values).toBeGreaterThan(10);
      expect(faults.found).toEqual([]);
    },
  );
});

describe('replay', () => {
  beforeEach(() => screen.open({ mode: 'replay', person: 'td' }));

  it('plays, pauses, changes speed and seeks', async () => {
    expect(await screen.words('gc-head-bar .mode')).toContain('REPLAY');
    await screen.page.getByRole('button', { name: 'Pause' }).waitFor();
    await screen.page.keyboard.press(' ');
    await waitUntil('it pauses', () => screen.station.received.some((m) => m.playback?.playing === false));
    await screen.page.getByRole('combobox', { name: 'Speed' }).selectOption('4');
    await waitUntil('speed 4', () => screen.station.received.some((m) => m.playback?.speed === 4));
    await screen.page.keyboard.press('Escape');
    await screen.page.getByLabel('Position in the recording').fill('120');
    await waitUntil('seek to 120 s', () => screen.station.received.some((m) => m.playback?.seekS === 120));
  });
});
