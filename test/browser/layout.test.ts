/** The pages every mission has, at two sizes: nothing cut off, nothing over another, every stop of the keys to be seen. */
import { describe, expect, it } from 'vitest';
import type { ConductView } from '../../protocol/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { alarmOf } from './alarm-of.ts';
import { busyConduct, toJudge } from './cards-mission.ts';
import { halfReadyConduct, readyMission } from './ready-mission.ts';
import { type Focus, useScreen } from './screen.ts';

const screen = useScreen();
const sizes = [
  [1366, 768],
  [1920, 1080],
] as const;

const values = (warning: number) => ({
  levels: [
    { side: 'above', level: 'caution', value: 104 },
    { side: 'above', level: 'warning', value: warning },
  ],
  persistenceUs: 500_000,
  hysteresis: 0.5,
});

/** A busy room: a flood, alarms put aside, a criterion, a change to decide. */
function fill(): void {
  const { station } = screen;
  const caution = (id: string, more = {}) =>
    alarmOf({
      id,
      level: 'caution',
      parameter: 'TQ',
      text: 'Torque high in the turn to final',
      ...{ shelvable: true, removable: true },
      ...more,
    });
  station.alarms = [
    alarmOf({ id: 'nr-low' }),
    caution('tq-high'),
    caution('tot-high', { condition: 'cannot tell', acknowledgedBy: ['test conductor', 'engine'] }),
    caution('nr-high', {
      availability: 'shelved',
      asideBy: 'tc',
      asideReason: 'drifts',
      asideUntilUs: station.ground + 9e8,
    }),
    caution('tq-rate', { availability: 'suppressed by design' }),
  ];
  station.floods = [{ position: 'test conductor', sinceUs: 1, firstCause: 'nr-low', folded: ['tq-high'] }];
  station.cannotTell = ['tot-high'];
  station.prompts = [
    {
      alarm: 'nr-low',
      text: 'Rotor speed low',
      parameter: 'NR',
      stopClass: 1,
      words: ['KNOCK IT OFF'],
      value: 94,
      limit: 95,
    },
  ];
  station.changes = [
    {
      number: 1,
      limit: 'nr-high',
      before: values(107),
      after: values(108),
      state: 'proposed',
      person: 'rl',
      reason: 'new blades',
    },
  ];
  station.sendRoom();
}

/** Buttons and fields that leave the window sideways, whose words are cut, or that lie over another one. */
const faults = (): Promise<string[]> =>
  screen.page.evaluate(() => {
    const find = (root: ParentNode): HTMLElement[] =>
      [...root.querySelectorAll<HTMLElement>('*')].flatMap((e) => [e, ...(e.shadowRoot ? find(e.shadowRoot) : [])]);
    const found: string[] = [];
    if (document.documentElement.scrollWidth > innerWidth) found.push('the window scrolls sideways');
    // words that say how a value stands, and what is known of the receivers: never cut
    const told = find(document).filter(
      (e) => e.matches('.word, .level, dd, td') && e.getClientRects().length > 0 && e.textContent?.trim() !== '',
    );
    for (const e of told) {
      const box = e.getBoundingClientRect();
      const holder = e.closest('.what, aside, li');
      const edge = holder?.getBoundingClientRect().right ?? innerWidth;
      if (box.right > Math.min(edge, innerWidth) + 1) found.push(`${e.textContent?.trim()} is cut off`);
    }
    const controls = find(document).filter((e) => e.matches('button, input, select') && e.getClientRects().length > 0);
    const boxes = controls.map((e) => ({ name: (e.textContent || e.id).trim(), box: e.getBoundingClientRect(), e }));
    for (const { name, box, e } of boxes) {
      if (box.left < -1 || box.right > innerWidth + 1) found.push(`${name} leaves the window`);
      if (e.matches('button') && e.scrollWidth > e.clientWidth + 2) found.push(`${name} is cut`);
    }
    // what floats over the page covers it on purpose
    const flat = boxes.filter(
      ({ e }) => !(e.getRootNode() as ShadowRoot).host?.matches('gc-stop-call-form, gc-waiting-calls'),
    );
    for (let i = 0; i < flat.length; i++)
      for (let j = i + 1; j < flat.length; j++) {
        const [a, b] = [flat[i], flat[j]];
        if (!a || !b) continue;
        const wide = Math.min(a.box.right, b.box.right) - Math.max(a.box.left, b.box.left);
        const high = Math.min(a.box.bottom, b.box.bottom) - Math.max(a.box.top, b.box.top);
        const seen = ({ e, box }: typeof a) => {
          const root = e.getRootNode() as ShadowRoot;
          return root.elementsFromPoint(box.left + box.width / 2, box.top + box.height / 2).includes(e);
        };
        if (wide > 2 && high > 3 && seen(a) && seen(b)) found.push(`${a.name} and ${b.name} overlap`);
      }
    return found;
  });

/** The page of cards with this flight. */
async function toCards(conduct: ConductView, more: () => Promise<unknown>): Promise<void> {
  screen.station.conduct = conduct;
  screen.station.sendConduct();
  await screen.page.keyboard.press('5');
  await screen.page.locator('gc-step-gate [data-advice]').waitFor();
  await more();
}

/** The page of what must be true before a flight, with one part open. */
async function toReady(part: string): Promise<void> {
  screen.station.conduct = halfReadyConduct();
  screen.station.sendConduct();
  await screen.page.keyboard.press('r');
  const head = screen.page.locator(`[data-part="${part}"] .head`);
  await head.click();
  await head.evaluate((e) => e.scrollIntoView({ block: 'start' }));
}

const scenes: [string, () => Promise<void>][] = [
  ...['notices', 'morning', 'sweep', 'weight', 'ids', 'watch', 'hazards', 'sequences', 'checklists'].map(
    (part): [string, () => Promise<void>] => [`the page Ready, ${part} open`, () => toReady(part)],
  ),
  [
    'any page with a checklist open, voice lost and evidence held',
    async () => {
      const checklists = [{ id: 'lost-voice', shownSince: 1, ticks: [] }];
      const evidence = { reason: 'hard landing', person: 'tc', position: 'test conductor', aircraft: 1, ground: 1 };
      const voiceLost = { since: 1, person: 'rl', loop: 'chase' };
      screen.station.conduct = { ...halfReadyConduct(), checklists, evidence, voiceLost };
      screen.station.sendConduct();
      await screen.page.locator('gc-checklist-banner [data-checklist]').waitFor();
      await screen.page.keyboard.press('k');
    },
  ],
  [
    'cards, a point being set up, with a greyed control pressed',
    () =>
      toCards(busyConduct(), async () => {
        await screen.page.keyboard.press('w');
        await screen.page.getByRole('button', { name: 'Judge skip' }).click({ force: true });
      }),
  ],
  [
    'cards, a point to be judged, and a stopwatch that can be reset',
    () =>
      toCards(toJudge('repeat', ['IAS was out of its data band 11.4 % of the record, and 5 % may be']), async () => {
        await screen.page.keyboard.press('w');
        await screen.page.getByRole('button', { name: /^Stop stopwatch/ }).click();
        await screen.page.getByRole('button', { name: 'Reset stopwatch' }).waitFor();
        await screen.page.locator('gc-point-statistics').waitFor();
      }),
  ],
  ['the ledger', () => toCards(busyConduct(), () => screen.page.getByRole('tab', { name: /^Ledger/ }).click())],
  [
    'alarms, one being put aside',
    async () => {
      await screen.page.keyboard.press('3');
      await screen.page
        .getByRole('button', { name: /^Put aside/, disabled: false })
        .first()
        .click();
      await screen.page.locator('gc-aside-form').waitFor();
    },
  ],
  [
    'limits, one in the editor',
    async () => {
      await screen.page.keyboard.press('4');
      await screen.page.locator('[data-limit][data-condition="inside"]').first().waitFor();
      await screen.page.locator('[data-limit="nr-high"]').click();
      await screen.page.getByLabel('warning above').fill('108');
      await screen.page.locator('gc-limit-editor').getByText('LOOSENS').waitFor();
    },
  ],
  [
    'a page of the mission, with the alarm list beside it',
    async () => {
      await screen.page.keyboard.press('1');
      await screen.page.getByRole('button', { name: /1 folded under it/ }).click();
    },
  ],
];

describe('layout', () => {
  it.each(sizes.flatMap(([width, height]) => scenes.map(([name, go]) => [name, width, height, go] as const)))(
    'cuts off and covers no control on %s, at %i x %i, in live mode with a busy room',
    async (_, width, height, go) => {
      await screen.open({ mode: 'live', mission: readyMission });
      await screen.page.setViewportSize({ width, height });
      fill();
      await screen.page.locator('gc-criterion-banner [data-prompt]').waitFor();
      await go();
      await screen.page.getByRole('button', { name: 'Sign out' }).waitFor();
      expect(await faults()).toEqual([]);
    },
  );
});

describe('the row of pages', () => {
  it('has room at the smallest size for the pages of a mission, limits to decide, a poll and a sequence under way', async () => {
    const [page] = readyMission.pages;
    const titles = ['Conductor', 'Engine and drive', 'Flight control', 'Rotor and loads'];
    const pages = titles.map((title) => ({ ...(page as NonNullable<typeof page>), id: title, title }));
    await screen.open({ mode: 'live', mission: { ...readyMission, pages } });
    screen.station.conduct = halfReadyConduct();
    screen.station.sendConduct();
    fill();
    await screen.page.getByRole('button', { name: /^Limits: \d to decide/ }).waitFor();
    await screen.page.getByRole('button', { name: /^Ready: asked/ }).waitFor();
    await screen.page.locator('gc-sequence-panel [data-under-way="yes"]').waitFor();
    const ends = await screen.page
      .locator('nav button, gc-sequence-panel button.open')
      .evaluateAll((all) => all.map((e) => [e.getBoundingClientRect().left, e.getBoundingClientRect().right] as const));
    expect(ends.length).toBe(titles.length + 6);
    for (const [i, [left]] of ends.entries()) expect(left).toBeGreaterThanOrEqual(ends[i - 1]?.[1] ?? 0);
    expect(ends.at(-1)?.[1]).toBeLessThanOrEqual(1366);
  });
});

describe('the keys', () => {
  /** Every stop of Tab from the top of the window until it comes round. */
  async function stops(): Promise<Focus[]> {
    const found: Focus[] = [];
    for (let i = 0; i < 90; i++) {
      await screen.page.keyboard.press('Tab');
      const now = await screen.focus();
      if (now.tag === 'body') return found;
      found.push(now);
    }
    throw new Error('Tab never comes round');
  }

  it.each(['3', '4', '5', '6', '1'])(
    'come to every part of page %s in the order it is read, each stop to be seen',
    async (page) => {
      await screen.open({ mode: 'live', mission: readyMission });
      screen.station.conduct = { ...busyConduct(), ...(page === '6' ? halfReadyConduct() : {}) };
      screen.station.sendConduct();
      fill();
      await screen.page.keyboard.press(page);
      await screen.page.locator('gc-criterion-banner [data-prompt]').waitFor();
      if (page === '4')
        await waitUntil('rows are there', async () => (await screen.page.locator('[data-limit]').count()) > 3);
      const all = await stops();
      const names = all.map(({ name }) => name);
      for (const stop of all) expect(stop).toMatchObject({ outlined: true, inView: true });
      const places = [
        /^Sign out/,
        /^Conductor/,
        /^Acknowledge/,
        /^Log call made for/,
        /^Log call made ?F9/,
        /^Keys/,
      ].map((name) => names.findIndex((one) => name.test(one)));
      expect(places.every((place) => place >= 0)).toBe(true);
      expect([...places].sort((a, b) => a - b)).toEqual(places);
    },
  );

  it('signs out by a form that the station answers', async () => {
    await screen.open({ mode: 'live' });
    await screen.tabTo('Sign out');
    await screen.page.keyboard.press('Enter');
    await waitUntil('the station is asked', () => screen.station.signedOut === 1);
    await screen.page.getByText('signed out').waitFor();
  });
});

describe('an open call', () => {
  it('keeps its place and its controls, whatever length and width the words of a call have', async () => {
    await screen.open({ person: 'td' });
    const by = { person: 'tc', position: 'test conductor', groundUs: screen.station.ground };
    const steps = ['called', 'acknowledged', 'recovering', 'safe', 'review'].map((step) => ({
      ...{ step, ...by },
      note: step === 'called' ? '' : 'W'.repeat(200),
    }));
    const call = { number: 1, stopClass: 1, word: 'KNOCK IT OFF', caller: 'pilot', person: 'tc', step: 'review' };
    screen.station.calls = [{ ...call, reason: 'V'.repeat(240), steps }];
    screen.station.sendRoom();
    await screen.page.locator('gc-stop-call-banner [data-call]').waitFor();
    await screen.page.getByRole('button', { name: 'Close with decision' }).focus();
    const inWindow = async (selector: string) => {
      const box = await screen.page.locator(selector).boundingBox();
      return box !== null && box.x >= 0 && box.x + box.width <= 1366 && box.y >= 0 && box.y + box.height <= 768;
    };
    for (const part of ['gc-head-bar', 'gc-stop-call-banner', 'gc-stop-call-bar .control', 'gc-alarm-line'])
      expect([part, await inWindow(part)]).toEqual([part, true]);
    const { height } = (await screen.page.locator('gc-stop-call-banner').boundingBox()) ?? { height: 0 };
    expect(height).toBeLessThan(170);
    // what stands there only in part is whole in the flight panel
    await screen.page.getByRole('button', { name: 'Flight', exact: true }).click();
    await screen.page.getByText(`recovering: ${'W'.repeat(200)}`).waitFor();
    const panel = screen.page.locator('gc-flight-panel [role="dialog"]');
    expect(await panel.evaluate((e) => e.scrollWidth - e.clientWidth)).toBeLessThanOrEqual(0);
  });
});

describe('the flight panel', () => {
  it('closes by its key for whoever may not name the flight', async () => {
    await screen.open({ person: 'rl' });
    await screen.page.keyboard.press('f');
    const panel = screen.page.locator('gc-flight-panel [role="dialog"]');
    await panel.waitFor();
    expect((await screen.focus()).name).toMatch(/^Close panel/);
    await screen.page.keyboard.press('Escape');
    await panel.waitFor({ state: 'detached' });
  });
});
