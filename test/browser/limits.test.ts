/** The limits table, its editor and the change slips: by keyboard alone, with what the station refuses in its words. */
import { beforeEach, describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { useScreen } from './screen.ts';
import { smallMission } from './small-mission.ts';

const screen = useScreen();
const row = (id: string, page = screen.page) => page.locator(`gc-limits-page [data-limit="${id}"]`);
const editor = () => screen.page.locator('gc-limit-editor');

/** The page of limits is the fourth. */
async function toLimits(page = screen.page): Promise<void> {
  await page.keyboard.press('4');
  await page.locator('gc-limits-page [data-condition="inside"]').first().waitFor();
}

const cells = async (id: string): Promise<string> => ((await row(id).textContent()) ?? '').replace(/\s+/g, ' ');

/** Opens the editor of a limit with keys: search, list, Enter. */
async function openByKeys(id: string): Promise<void> {
  await toLimits();
  await screen.page.keyboard.press('/');
  expect((await screen.focus()).name).toBe('limit-question');
  await screen.page.keyboard.type(id);
  await waitUntil('one row is left', async () => (await screen.page.locator('[data-limit]').count()) === 1);
  await screen.tabTo(/^Limits: arrow keys/);
  await screen.page.keyboard.press('Enter');
  await editor().waitFor();
}

describe('the table of limits', () => {
  beforeEach(() => screen.open());

  it('shows each limit with what it says, what it measures, its next level and how far that is', async () => {
    await toLimits();
    expect(await screen.page.locator('[data-limit]').count()).toBe(smallMission.limits.length);
    await waitUntil('the value is there', async () => (await cells('nr-low')).includes('100.0'));
    const words = await cells('nr-low');
    for (const told of ['Rotor speed low', 'NR', 'level', 'caution below 97', '3.0 % left, 3.1 %', '0.5 s'])
      expect(words).toContain(told);
    expect(words).toContain('inside');
    expect(await cells('tq-rate')).toContain('in Hover');
    screen.station.signals.set('NR', () => 96);
    await row('nr-low').locator('.level.caution').waitFor();
    expect(await cells('nr-low')).toContain('1.0 % left');
    expect(await cells('nr-low')).toContain('warning below 95');
  });

  it('never shows a limit that cannot tell, or of which nothing is heard, as inside', async () => {
    screen.station.cannotTell = ['tot-high'];
    await toLimits();
    await row('tot-high').locator('.word', { hasText: 'CANNOT TELL' }).waitFor();
    expect(await row('tot-high').locator('.state svg').count()).toBe(1);
    expect(await cells('tot-high')).not.toContain('inside');
    screen.station.silent = true;
    await screen.page.getByText('STATION SILENT').waitFor();
    await waitUntil(
      'no row says inside',
      async () => (await screen.page.locator('[data-limit][data-condition="inside"]').count()) === 0,
    );
    expect(await cells('nr-low')).toContain('not told yet');
  });

  it('says that a limit is not in force in this phase', async () => {
    screen.station.phase = 'start';
    await screen.page.keyboard.press('4');
    await row('tq-rate').getByText('not in force').waitFor();
  });

  it('puts the nearest margin first, and keeps the order of the mission when asked', async () => {
    await toLimits();
    screen.station.signals.set('TQ', () => 99.9);
    const first = () => screen.page.locator('[data-limit]').first().getAttribute('data-limit');
    const byPlace = async () => {
      const rows = await screen.page.locator('[data-limit]').evaluateAll((all) =>
        all
          .map((one) => [one.getBoundingClientRect().top, (one as HTMLElement).dataset['limit'] ?? ''] as const)
          .sort((a, b) => a[0] - b[0])
          .map(([, id]) => id),
      );
      return rows;
    };
    await waitUntil('torque stands first', async () => (await byPlace())[0] === 'tq-high', 6000);
    await screen.page.getByLabel('Order').selectOption('mission');
    await waitUntil('the mission comes first', async () => (await byPlace())[0] === smallMission.limits[0]?.id);
    expect(await first()).not.toBeNull();
  });

  it('walks through the rows with the arrow keys, and Escape leads back from the editor to the row', async () => {
    await toLimits();
    await screen.page.getByLabel('Order').selectOption('mission');
    await screen.tabTo(/^Limits: arrow keys/);
    await screen.page.keyboard.press('ArrowDown');
    const at = screen.page.locator('[data-limit][aria-selected="true"]');
    await waitUntil('the second row', async () => (await at.getAttribute('data-limit')) === smallMission.limits[1]?.id);
    expect(await at.evaluate((one) => getComputedStyle(one).outlineStyle)).toBe('solid');
    await screen.page.keyboard.press('Enter');
    await editor().waitFor();
    await waitUntil('the first field has the keys', async () => (await screen.focus()).name === 'above-warning');
    await screen.page.keyboard.press('Escape');
    await editor().waitFor({ state: 'detached' });
    expect(await screen.focus()).toMatchObject({ name: 'Limits: arrow keys choose, Enter opens', outlined: true });
  });

  it('shows in the editor what else a limit keeps, and nothing where it keeps nothing', async () => {
    screen.station.readings = { 'tot-high': [{ name: 's above 860', value: 1.504 }] };
    await openByKeys('tot-high');
    const kept = screen.page.getByLabel('Kept beside it');
    await kept.waitFor();
    expect((await kept.textContent())?.replace(/\s+/g, ' ').trim()).toBe('s above 8601.50');
    screen.station.readings = {};
    await kept.waitFor({ state: 'detached' });
  });

  it('greys what this position may not do, and says why when it is pressed', async () => {
    await openByKeys('nr-high');
    await editor().getByLabel('warning above').fill('106');
    await editor().getByLabel('Reason').fill('closer');
    await editor()
      .getByText(/^test conductor may not tighten limit/)
      .waitFor();
    const force = editor().getByRole('button', { name: 'Put in force' });
    expect(await force.getAttribute('aria-disabled')).toBe('true');
    await force.click({ force: true });
    await screen.page.getByText(/Not done: test conductor may not tighten limit/).waitFor();
    expect(screen.station.actions).toEqual([]);
  });
});

describe('changing a limit', () => {
  beforeEach(() => screen.open({ person: 'rl' }));

  it('tightens by keyboard alone: said at once, asked what it would have done, in force, counted beside the baseline', async () => {
    const at = screen.station.aircraft;
    screen.station.whatIf = {
      limit: 'nr-high',
      from: at - 60e6,
      to: at,
      samples: 6000,
      differences: [
        {
          alarm: 'nr-high',
          family: 'aircraft',
          kinds: ['earlier', 'longer'],
          before: { from: at - 30e6, to: at - 20e6, stands: false, level: 'caution', value: 1, limitValue: 1 },
          after: { from: at - 31.5e6, to: at - 20e6, stands: false, level: 'caution', value: 1, limitValue: 1 },
          startsBy: -1_500_000,
          lastsBy: 1_500_000,
        },
        { alarm: 'nr-high', family: 'aircraft', kinds: ['new'], before: null, after: null, startsBy: 0, lastsBy: 0 },
      ],
    } as typeof screen.station.whatIf;
    await openByKeys('nr-high');
    await editor().getByText('Nothing is changed yet').waitFor();
    await waitUntil('the first field has the keys', async () => (await screen.focus()).name === 'above-warning');
    await screen.page.keyboard.press('Control+A');
    await screen.page.keyboard.type('106');
    await editor().getByText('TIGHTENS').waitFor();
    await screen.tabTo('What would it have done?');
    await screen.page.keyboard.press('Enter');
    const list = editor().locator('gc-difference-list');
    await list.getByText('2 differences').waitFor();
    const words = await screen.words('gc-difference-list');
    for (const told of ['EARLIER', 'LONGER', 'NEW', 'begins 1.50 s earlier, lasts 1.50 s longer'])
      expect(words).toContain(told);
    const values = { above: { caution: 104, warning: 106 }, persistence: 500_000, hysteresis: 0.5 };
    expect(screen.station.whatIfs).toEqual([{ limit: 'nr-high', values }]);
    const force = editor().getByRole('button', { name: 'Put in force' });
    expect(await force.getAttribute('title')).toBe('a change states its reason');
    await screen.tabTo('reason');
    await screen.page.keyboard.type('seen flutter at 106');
    await screen.tabTo('Put in force');
    await screen.page.keyboard.press('Enter');
    await editor().getByText('In force. The change slip is in the list.').waitFor();
    expect(screen.station.actions).toEqual([
      {
        act: 'change limit',
        limit: 'nr-high',
        values,
        reason: 'seen flutter at 106',
        pilotInformed: false,
        offCondition: false,
      },
    ]);
    await screen.page.locator('gc-head-bar', { hasText: '+ 1 CHANGE' }).waitFor();
    expect(await cells('nr-high')).toContain('caution 104, warning 106');
    expect(await cells('nr-high')).toContain('CHANGED');
    await screen.page.locator('gc-change-slips [data-change="1"]', { hasText: 'IN FORCE' }).waitFor();
    // what was asked belongs to values that no longer stand in the fields
    expect(await list.count()).toBe(0);
  });

  it('asks for a loosening, which another person approves in another window; nobody approves their own', async () => {
    await openByKeys('nr-high');
    await editor().getByLabel('warning above').fill('108');
    await editor().getByText('LOOSENS').waitFor();
    const verdict = ((await editor().locator('.verdict').textContent()) ?? '').replace(/\s+/g, ' ');
    expect(verdict).toMatch(/second person must approve.*off condition.*pilot told by voice/);
    await editor().getByLabel('Reason').fill('new blade set');
    await editor().getByRole('button', { name: 'Ask for approval' }).click();
    const own = screen.page.locator('gc-change-slips [data-change="1"]');
    await own.getByText('nobody approves their own change').waitFor();
    expect(await own.getByRole('button', { name: 'Approve' }).count()).toBe(0);
    expect(await cells('nr-high')).toContain('warning 107');

    const director = await screen.another('td');
    await director.getByRole('button', { name: /Limits: 1 to decide/ }).waitFor();
    await toLimits(director);
    const slip = director.locator('gc-change-slips [data-change="1"]');
    await slip.getByText('warning above 107 → 108 %').waitFor();
    const approve = slip.getByRole('button', { name: 'Approve change 1' });
    expect(await approve.getAttribute('aria-disabled')).toBe('true');
    await slip.getByLabel('the aircraft is off condition').focus();
    await director.keyboard.press('Space');
    expect(await approve.getAttribute('aria-disabled')).toBe('true');
    await slip.getByLabel('the pilot was told by voice').focus();
    await director.keyboard.press('Space');
    await screen.tabTo('Approve change 1', director);
    await director.keyboard.press('Enter');
    await waitUntil('it is approved', () => screen.station.actions.some((a) => a.act === 'approve change'));
    expect(screen.station.actions.at(-1)).toEqual({
      act: 'approve change',
      change: 1,
      pilotInformed: true,
      offCondition: true,
      note: '',
    });
    await waitUntil('the first window has it', async () => (await cells('nr-high')).includes('warning 108'));
    await own.getByText('approved by Ottoline Marsk, test director').waitFor();
  });

  it('withdraws its own proposal, and refuses that of another only with a reason', async () => {
    await openByKeys('nr-high');
    await editor().getByLabel('persistence').fill('2');
    await editor().getByLabel('Reason').fill('noise');
    await editor().getByRole('button', { name: 'Ask for approval' }).click();
    const director = await screen.another('td');
    await toLimits(director);
    const slip = director.locator('gc-change-slips [data-change="1"]');
    const refuse = slip.getByRole('button', { name: 'Refuse change 1' });
    expect(await refuse.getAttribute('title')).toBe('a refusal states its reason: type it first');
    await slip.getByLabel('Note').fill('not today');
    await refuse.click();
    await slip.getByText('refused by Ottoline Marsk, test director').waitFor();
    await editor().getByLabel('persistence').fill('3');
    await editor().getByLabel('Reason').fill('noise');
    await editor().getByRole('button', { name: 'Ask for approval' }).click();
    await screen.page.getByRole('button', { name: 'Withdraw change 2' }).click();
    await screen.page.locator('gc-change-slips [data-change="2"]', { hasText: 'WITHDRAWN' }).waitFor();
  });

  it('says in words what cannot be, what the station refuses, and what it could not work out', async () => {
    await openByKeys('nr-high');
    await editor().getByLabel('caution above').fill('109');
    await editor().getByText('CANNOT BE:').waitFor();
    await editor().getByLabel('caution above').fill('103');
    await editor().getByRole('button', { name: 'What would it have done?' }).click();
    await editor().getByText('No answer: no flight so far').waitFor();
    await editor().getByLabel('Reason').fill('closer');
    screen.station.refuse = 'stop call 1 is open';
    await editor().getByRole('button', { name: 'Put in force' }).click();
    await editor().getByText('Not done: stop call 1 is open').waitFor();
    // what was typed is still there
    expect(await editor().getByLabel('caution above').inputValue()).toBe('103');
    expect(await editor().getByLabel('Reason').inputValue()).toBe('closer');
  });
});
