/** Alarms put aside, brought back, folded in a flood and counted, by keyboard alone and never by colour alone. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { AlarmMetrics } from '../../protocol/alarm-metrics.ts';
import { groundTime } from '../../protocol/time.ts';
import { waitUntil } from '../support/wait-until.ts';
import { alarmOf } from './alarm-of.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const caution = (more = {}) => {
  const may = { shelvable: true, removable: true };
  return alarmOf({ id: 'tq-high', level: 'caution', parameter: 'TQ', text: 'Torque high', ...may, ...more });
};

async function show(...alarms: ReturnType<typeof alarmOf>[]): Promise<void> {
  screen.station.alarms = alarms;
  screen.station.sendRoom();
  await screen.page.locator(`gc-alarm-list [data-alarm="${alarms[0]?.id}"]`).waitFor();
}

describe('putting an alarm aside', () => {
  beforeEach(() => screen.open());

  it('shelves by keyboard alone with a reason and a time, counts it in the line, and brings it back early', async () => {
    await show(caution());
    await screen.page.keyboard.press('l');
    expect(await screen.focus()).toMatchObject({ name: 'Acknowledge Torque high', outlined: true, inView: true });
    await screen.tabTo('Put aside … Torque high');
    await screen.page.keyboard.press('Enter');
    // without a reason nothing is sent
    await screen.page.keyboard.press('Enter');
    await screen.page.keyboard.type('sensor drifts');
    await screen.tabTo('how');
    await screen.page.keyboard.press('ArrowDown');
    await screen.tabTo('Shelve');
    await screen.page.keyboard.press('Enter');
    await waitUntil('it is shelved', () => screen.station.actions.length > 0);
    expect(screen.station.actions).toEqual([
      { act: 'shelve', alarm: 'tq-high', reason: 'sensor drifts', seconds: 300 },
    ]);
    const item = screen.page.locator('gc-alarm-list [data-aside="shelved"]');
    await item.waitFor();
    const words = (await item.textContent()) ?? '';
    expect(words).toContain('SHELVED');
    expect(words.replace(/\s+/g, ' ')).toMatch(/by Bram Tolliver: sensor drifts; back at \d\d:\d\d:\d\d, in 5 min/);
    expect(await item.locator('.word svg').count()).toBeGreaterThan(0);
    const count = screen.page.locator('gc-alarm-line [data-count="shelved"]');
    expect(await count.textContent()).toContain('1 SHELVED');
    expect(await count.locator('svg').count()).toBe(1);
    // the keys went with it
    expect((await screen.focus()).name).toBe('Unshelve Torque high');
    await screen.page.keyboard.press('Enter');
    await count.waitFor({ state: 'detached' });
    await waitUntil('the keys are on it again', async () => (await screen.focus()).name.endsWith(' Torque high'));
    expect(screen.station.actions[1]).toEqual({ act: 'unshelve', alarm: 'tq-high' });
  });

  it('asks for no acknowledgement of what is put aside, and counts it beside an alarm that asks', async () => {
    await show(alarmOf({ id: 'nr-low' }), { ...caution(), availability: 'out of service', condition: 'cannot tell' });
    const line = screen.page.locator('gc-alarm-line [data-alarm="nr-low"]');
    await line.waitFor();
    const words = ((await line.textContent()) ?? '').replace(/\s+/g, ' ');
    expect(words).not.toContain('more');
    expect(words).toContain('ASIDE: 1 out of service');
    expect(await line.locator('[data-count="out of service"] svg').count()).toBe(1);
    const item = screen.page.locator('gc-alarm-list [data-aside="out of service"]');
    expect(await item.textContent()).toContain('CANNOT TELL');
    expect(await item.textContent()).toContain('OUT OF SERVICE');
  });

  const form = () => screen.page.locator('gc-aside-form');
  const option = () => form().getByRole('option', { name: 'out of service', disabled: true });

  it('says that this position may not take an alarm out of service, and does not send it', async () => {
    await show(caution({ watcher: 'rotor and loads', shelvable: false }));
    await screen.page.getByRole('button', { name: /^Put aside/ }).click();
    await form().getByText('only cautions and below are shelved').waitFor();
    await form().getByText('test conductor may not take out of service').waitFor();
    await form().getByLabel('Reason').fill('noise');
    await form().getByRole('button', { name: 'Take out of service' }).click();
    await screen.page.getByText('Not done: test conductor may not take out of service').waitFor();
    expect(screen.station.actions).toEqual([]);
    await screen.page.keyboard.press('Escape');
    await form().waitFor({ state: 'detached' });
  });

  it('offers only the shelf for a caution that can reach a warning, and nothing at the warning itself', async () => {
    await show(caution({ removable: false }), alarmOf({ id: 'nr-high', text: 'Rotor speed high' }));
    const refusal = 'what can reach a warning is not taken out of service: two people change its limit instead';
    await screen.page.getByRole('button', { name: 'Put aside … Torque high' }).click();
    await form().getByText(refusal).waitFor();
    expect(await option().count()).toBe(1);
    await form().getByRole('button', { name: 'Shelve' }).waitFor();
    await screen.page.keyboard.press('Escape');
    await form().waitFor({ state: 'detached' });
    const warning = screen.page.getByRole('button', { name: 'Put aside … Rotor speed high' });
    expect(await warning.getAttribute('aria-disabled')).toBe('true');
    await warning.click({ force: true });
    await screen.page
      .getByText(`Not done: only cautions and below are shelved, and no stop limit; ${refusal}`)
      .waitFor();
    expect(await form().count()).toBe(0);
  });

  it('tells a suppression by design by its own word and shape, and offers no return', async () => {
    await show({ ...caution(), availability: 'suppressed by design' });
    const item = screen.page.locator('gc-alarm-list [data-aside="suppressed by design"]');
    expect(await item.textContent()).toContain('SUPPRESSED BY DESIGN');
    expect(await item.getByRole('button').count()).toBe(0);
    expect(await screen.words('gc-alarm-line')).toContain('1 SUPPRESSED BY DESIGN');
  });
});

describe('what an alarm says', () => {
  beforeEach(() => screen.open());

  it('says of each number when it was: at first, or the furthest since', async () => {
    await show(alarmOf({ id: 'nr-low', peak: Number.NaN }), caution({ value: 101, limit: 100, peak: 104.2 }));
    const told = (id: string) => screen.page.locator(`gc-alarm-list [data-alarm="${id}"] .numbers`).textContent();
    expect(await told('nr-low')).toBe('94.2 below 95.0 % at first');
    expect(await told('tq-high')).toBe('furthest 104.2 above 100.0 %, 101.0 at first');
    expect(await screen.words('gc-alarm-line')).toContain('94.2 below 95.0 % at first');
    await show(caution({ value: 101, limit: 100, peak: 104.2 }));
    await waitUntil('the line has it', async () =>
      (await screen.words('gc-alarm-line')).includes('furthest 104.2 above 100.0 %'),
    );
  });

  it('gives what is not held neither a level nor numbers', async () => {
    const over = { held: false, condition: 'inside', level: '' } as const;
    await show(caution({ ...over, availability: 'shelved', asideBy: 'tc', asideReason: 'drifts' }));
    const item = screen.page.locator('gc-alarm-list [data-aside="shelved"]');
    const words = (await item.textContent()) ?? '';
    expect(words).toContain('cleared');
    expect(words).not.toMatch(/ADVISORY|CAUTION|above|below/);
    expect(await item.locator('.name svg').count()).toBe(0);
    await show(alarmOf({ id: 'nr-low' }), caution(over));
    expect(await screen.page.locator('gc-alarm-list [data-past="tq-high"] svg').count()).toBe(0);
  });

  it('folds nothing once all that was folded is over, while the flood still stands', async () => {
    screen.station.floods = [{ position: 'test conductor', sinceUs: 1, firstCause: 'nr-low', folded: [] }];
    await show(alarmOf({ id: 'nr-low' }));
    await screen.page.locator('gc-alarm-line').getByText('FLOOD', { exact: true }).waitFor();
    expect(
      await screen.page
        .locator('gc-alarm-list')
        .getByRole('button', { name: /folded/ })
        .count(),
    ).toBe(0);
  });
});

describe('taking out of service', () => {
  beforeEach(() => screen.open({ person: 'td' }));

  it('takes an alarm out of service and returns it, by keyboard alone', async () => {
    await show(caution());
    await screen.page.keyboard.press('l');
    await screen.tabTo('Put aside … Torque high');
    await screen.page.keyboard.press('Enter');
    await screen.page.keyboard.type('gauge replaced');
    await screen.tabTo('how');
    await screen.page.keyboard.press('End');
    await screen.tabTo('Take out of service');
    await screen.page.keyboard.press('Enter');
    await screen.page.locator('gc-alarm-list [data-aside="out of service"]').waitFor();
    await screen.page.keyboard.press('l');
    expect((await screen.focus()).name).toBe('Return to service Torque high');
    await screen.page.keyboard.press('Enter');
    await waitUntil('it is back', () => screen.station.actions.length === 2);
    expect(screen.station.actions).toEqual([
      { act: 'take out of service', alarm: 'tq-high', reason: 'gauge replaced' },
      { act: 'return to service', alarm: 'tq-high' },
    ]);
  });
});

describe('an alarm flood', () => {
  beforeEach(() => screen.open());

  const list = () => screen.page.locator('gc-alarm-list');

  async function flood(firstCause: string): Promise<void> {
    screen.station.floods = [
      { position: 'test conductor', sinceUs: screen.station.ground, firstCause, folded: ['tq-high', 'tot-high'] },
      { position: 'engine', sinceUs: screen.station.ground, firstCause, folded: ['nr-low'] },
    ];
    await show(
      alarmOf({ id: 'nr-low' }),
      caution(),
      alarmOf({ id: 'tot-high', level: 'caution', parameter: 'TOT', text: 'Turbine outlet hot' }),
    );
  }

  it('folds what the station folds at this position under the first cause; Enter unfolds and folds it again', async () => {
    await flood('nr-low');
    const fold = list().getByRole('button', { name: '2 folded under it, 2 not acknowledged' });
    await fold.waitFor();
    expect(await list().locator('[data-alarm="tq-high"]').count()).toBe(0);
    expect(await screen.words('gc-alarm-line')).toContain('FLOOD: 2 FOLDED');
    await screen.page.keyboard.press('l');
    await screen.tabTo(/2 folded under it/);
    await screen.page.keyboard.press('Enter');
    await list().locator('[data-alarm="nr-low"] [data-alarm="tq-high"]').waitFor();
    expect(await fold.getAttribute('aria-expanded')).toBe('true');
    await screen.page.keyboard.press('Enter');
    await list().locator('[data-alarm="tq-high"]').waitFor({ state: 'detached' });
  });

  it('goes on asking for what is folded once the rest is acknowledged', async () => {
    await flood('nr-low');
    const asked = (id: string) => screen.page.locator(`gc-alarm-line [data-alarm="${id}"]`);
    await asked('nr-low').waitFor();
    await screen.page.keyboard.press('a');
    await screen.page.locator('gc-alarm-line .asks.caution').waitFor();
    expect(await screen.words('gc-alarm-line')).toContain('and 1 more');
  });

  it('has a line of its own when no first cause is known', async () => {
    screen.station.alarms = [caution()];
    screen.station.floods = [
      { position: 'test conductor', sinceUs: screen.station.ground, firstCause: '', folded: ['tq-high'] },
    ];
    screen.station.sendRoom();
    await list().getByText('no first cause known').waitFor();
    await list()
      .getByRole('button', { name: /1 folded/ })
      .waitFor();
  });
});

describe('alarm metrics', () => {
  const metrics = (announced: number): AlarmMetrics => ({
    from: groundTime(1_795_600_800_000_000),
    to: groundTime(1_795_601_400_000_000),
    positions: [
      {
        position: 'engine',
        announced,
        mean: 2.5,
        peakPeriod: 4,
        peakMinute: 2,
        peakHour: 8,
        peakMinuteFrom: groundTime(1_795_600_860_000_000),
        busyPeriods: 0,
        busyHours: 0,
        floods: 1,
        floodTime: 30_000_000,
        floodShare: 0.05,
      },
    ],
    priorities: { advisory: 1, caution: 2, warning: 3, stop: 0, data: 4 },
    topTen: [{ alarm: 'nr-low', announced: 3, share: 0.5 }],
    topTenShare: 0.5,
    chattering: [{ alarm: 'nr-low', times: 2 }],
    fleeting: [],
    stale: [],
    standing: [],
    shelved: [
      {
        alarm: 'tq-high',
        person: 'tc',
        position: 'test conductor',
        reason: 'sensor drifts',
        from: groundTime(1_795_600_860_000_000),
        to: groundTime(0),
        lasted: 60_000_000,
      },
    ],
    outOfService: [],
    suppressed: [],
    noAction: [{ alarm: 'data.receiver.South', times: 1 }],
  });

  it('says in words that there are none yet, then shows them and renews them while the page is open', async () => {
    await screen.open();
    await screen.page.keyboard.press('3');
    const panel = screen.page.locator('gc-alarm-metrics');
    await panel.getByText('Not renewed: no flight yet').waitFor();
    screen.station.metrics = metrics(7);
    const row = panel.locator('[data-position="engine"]');
    await row.waitFor({ timeout: 12_000 });
    const words = ((await row.textContent()) ?? '').replace(/\s+/g, ' ');
    expect(words).toContain('TOO MANY');
    expect(words).toContain('1, 30 s (5.0 %)');
    const all = ((await panel.locator('.all').textContent()) ?? '').replace(/\s+/g, ' ');
    for (const told of ['Rotor speed low', 'Bram Tolliver: sensor drifts', 'Receiver South silent', 'Torque high'])
      expect(all).toContain(told);
    screen.station.metrics = metrics(8);
    await waitUntil('it is renewed', async () => ((await row.textContent()) ?? '').includes('8'), 12_000);
    expect(await panel.getByText('Not renewed').count()).toBe(0);
  });
});
