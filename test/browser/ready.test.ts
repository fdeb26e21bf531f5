/** Before a flight: the poll, what is missing and who mends it, and every part from notices to the hazard trace. */
import { describe, expect, it } from 'vitest';
import type { ConductView, MorningView, ReadinessView } from '../../protocol/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { emptyConduct } from './mock-conduct.ts';
import { halfReady, halfReadyConduct } from './ready-mission.ts';
import { ReadyScreen } from './ready-screen.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const ready = new ReadyScreen(screen);
const withReadiness = (more: Partial<ReadinessView>): ConductView => ({
  ...halfReadyConduct(),
  readiness: { ...halfReady(), ...more },
});

describe('the poll', () => {
  it('shows what every position answers by word and shape, an answer that fell too, and what the room answers', async () => {
    await ready.open();
    expect(await ready.text(ready.poll.locator('[data-room]'))).toMatch(/^The room is not ready ?7 things are missing/);
    const answers = await ready.poll.locator('[data-position]').allTextContents();
    expect(answers.map((text) => text.replace(/\s+/g, ' ').trim())).toEqual([
      'Test director Ottoline Marsk not answered',
      'Test conductor Bram Tolliver not answered',
      'Flight control Casper Lund NOT READY 10:01:30 sweep to be flown again',
      'Rotor and loads Ilse Corrand ready 10:01:32',
      'Instrumentation Petra Wendholt ASKED AGAIN 10:01:35 no longer ready: morning check: 1 fault',
    ]);
    for (const position of ['flight control', 'rotor and loads'])
      expect(await ready.poll.locator(`[data-position="${position}"] svg`).count()).toBe(1);
    const pictures = await Promise.all(
      ['flight control', 'rotor and loads', 'test director'].map((position) =>
        ready.poll.locator(`[data-position="${position}"] svg`).innerHTML(),
      ),
    );
    expect(new Set(pictures).size).toBe(3);
    expect(screen.errors).toEqual([]);
  });

  it('lists what is missing by who can mend it: mine first, then what the whole room waits for', async () => {
    await ready.open();
    const groups = await ready.poll
      .locator('[data-missing]')
      .evaluateAll((all) => all.map((one) => (one as HTMLElement).dataset['missing']));
    expect(groups).toEqual(['test conductor', 'room', 'test director', 'flight control', 'instrumentation']);
    expect(await ready.text(ready.poll.locator('[data-missing="test conductor"]'))).toMatch(/^You can mend 2/);
  });

  it('answers ready and not ready, the latter with its reason alone', async () => {
    await ready.open();
    await ready.pressGreyed('Answer not ready');
    await ready.page.getByText('Not done: not ready says why: type it first').waitFor();
    expect(ready.acts('answer poll')).toEqual([]);
    await ready.page.getByLabel('Why this position is not ready').fill('card 3 is not briefed');
    await ready.button('Answer not ready').click();
    expect(await ready.acted('answer poll')).toMatchObject({ choice: 'not ready', text: 'card 3 is not briefed' });
    await ready.poll.locator('[data-position="test conductor"][data-answer="not ready"]').waitFor();
    await ready.button('Answer ready').click();
    expect(await ready.acted('answer poll', 2)).toMatchObject({ choice: 'ready', text: '' });
    await ready.poll.locator('[data-position="test conductor"][data-answer="ready"]').waitFor();
  });

  it('shows a refusal as the list of its reasons, until something of it has changed', async () => {
    await ready.open();
    screen.station.refuse =
      'test conductor is not ready: mass and balance cannot be told now (forward: stale; aft: stale); no telemetry';
    await ready.button('Answer ready').click();
    const refused = ready.poll.locator('.refused');
    await refused.waitFor();
    expect(await refused.locator('li').allTextContents()).toEqual([
      'mass and balance cannot be told now (forward: stale; aft: stale)',
      'no telemetry',
    ]);
    ready.tell(withReadiness({ missing: [] }));
    await refused.waitFor({ state: 'detached' });
  });

  it('is opened by who may, and told to everybody in the tab; others see its control grey with the reason', async () => {
    const shut = {
      opened: null,
      ready: false,
      answers: halfReady().poll.answers.map((one) => ({ ...one, answer: '' as const, text: '' })),
    };
    await ready.open(withReadiness({ poll: shut, missing: [] }));
    await ready.poll.getByText('No poll open').waitFor();
    await ready.page.getByRole('button', { name: /^Ready ?6$/ }).waitFor();
    await ready.pressGreyed('Answer ready');
    await ready.page.getByText('Not done: no readiness poll is open').waitFor();
    await ready.button('Open the poll').click();
    await ready.acted('open poll');
    await ready.page.getByRole('button', { name: /^Ready: asked/ }).waitFor();
    const other = await screen.another('rl');
    await other.keyboard.press('r');
    await other.getByRole('button', { name: 'Ask every position anew' }).click({ force: true });
    await other.getByText('Not done: rotor and loads may not open poll; test director, test conductor may').waitFor();
    expect(ready.acts('open poll')).toHaveLength(1);
  });

  it('says that the room is ready when the station says so, and that it cannot tell when that says nothing', async () => {
    const view = halfReady();
    const answers = view.poll.answers.map((one) => ({ ...one, answer: 'ready' as const, text: '' }));
    await ready.open(withReadiness({ missing: [], poll: { ...view.poll, answers, ready: true } }));
    await ready.poll.getByText('The room is ready').waitFor();
    await ready.poll.getByText('Nothing is missing: every position').waitFor();
    screen.station.silent = true;
    await ready.poll.locator('[data-room="cannot tell"]').getByText('the station is silent').waitFor();
    // what was done or inside is so no longer, as far as anybody knows
    await ready.part('ids').getByText('last heard: FCC-4.2').waitFor();
    expect(await ready.pane.locator('[data-part][data-state="done"]').count()).toBe(0);
    screen.station.silent = false;
    ready.tell({ ...halfReadyConduct(), readiness: null });
    await ready.poll.getByText('CANNOT TELL').waitFor();
    for (const part of ['notices', 'morning', 'sweep', 'weight', 'ids', 'watch'])
      expect(await ready.part(part).getAttribute('data-state')).toBe('cannot tell');
  });
});

describe('the parts', () => {
  it('say where they stand in one line each, in the order a morning takes, and open by the keys alone', async () => {
    await ready.open();
    const lines = async () =>
      (await ready.pane.locator('.head').allTextContents()).map((line) => line.replace(/\s+/g, ' ').trim());
    await expect
      .poll(lines, { timeout: 10_000 })
      .toEqual([
        '+ Notices to do you have 2 of 2 to read; 4 other positions still to acknowledge',
        '+ Morning check FAULT 1 fault; 1 of 4 channels looked at for all they have',
        '+ Control sweep FAULT 1 fault in 2 controls',
        '+ Mass and balance OUTSIDE outside the test envelope: Take-off, Take-off to Aft tank empty',
        '+ Baseline and ids match FCC-4.2 / SM1X-A7, as this pack is for',
        '+ Who watches what UNWATCHED nobody watches the stop limit ias-stop',
        '+ Hazard trace to be read 2 hazards traced to what holds each up; nobody sits at range safety',
        '+ Sequences UNDER WAY Engine start, RUNNING: oil pressure due',
        '+ Checklists none shown Voice lost, Telemetry lost',
      ]);
    await screen.tabTo('head-notices');
    await ready.page.keyboard.press('ArrowDown');
    expect((await screen.focus()).name).toBe('head-morning');
    await ready.page.keyboard.press('Enter');
    await ready.part('morning').locator('gc-morning-check table').waitFor();
    await ready.page.keyboard.press('End');
    expect((await screen.focus()).name).toBe('head-checklists');
  });

  it('acknowledges a notice for this position, and names who still has to', async () => {
    await ready.open();
    const part = await ready.unfold('notices');
    await ready.button(/^I have read it\s*: Fuel flow sensor replaced/).click();
    expect(await ready.acted('acknowledge notice')).toMatchObject({ subject: 'flow-sensor' });
    const notice = part.locator('[data-notice="flow-sensor"]');
    await notice.getByText('acknowledged by your position').waitFor();
    const who = await notice.locator('.who li').allTextContents();
    expect(who.map((text) => text.replace(/\s+/g, ' ').trim())).toEqual([
      'test director Ottoline Marsk, 10:01:20',
      expect.stringMatching(/^test conductor Bram Tolliver, 10:0\d:\d\d$/),
      'flight control: not yet',
      'rotor and loads Ilse Corrand, 10:01:24',
      'instrumentation: not yet',
    ]);
  });

  it('goes on to the next notice with the keys where they acknowledged one, and stays there after the last', async () => {
    await ready.open();
    await ready.unfold('notices');
    for (let left = 2; left > 0; left--) {
      expect((await screen.tabTo(/^I have read it/)).tag).toBe('button');
      await ready.page.keyboard.press('Enter');
      await ready.acted('acknowledge notice', 3 - left);
      // the room's word that it is acknowledged may come after the answer
      const next = left === 1 ? /^acknowledged by your position$/ : /^I have read it: (?!Fuel flow)/;
      await waitUntil('the keys stand where they should', async () => next.test((await screen.focus()).name));
      if (left > 1) await ready.page.keyboard.press('Shift+Tab');
    }
  });

  it('runs the morning check step by step: what comes next is offered, and what is missing reads cannot tell', async () => {
    const start = halfReady();
    const none = (start.morning as MorningView).channels.map((one) => ({
      ...{ parameter: one.parameter, zero: null, noise: null, shunt: null, rate: null },
      ...{ faults: [], cannotTell: [], looked: [] },
    }));
    await ready.open(withReadiness({ morning: { ...(start.morning as MorningView), channels: none, faults: 0 } }), {
      person: 'in',
    });
    const part = await ready.unfold('morning');
    await part.getByText('Zero first').waitFor();
    expect(await part.locator('button.next').textContent()).toContain('Gather zero, 4 s');
    await part.locator('button.next').click();
    expect(await ready.acted('begin check')).toMatchObject({ choice: 'zero', subject: '' });
    await part.getByText('nothing else is touched').waitFor();
    await ready.pressGreyed('Gather zero, 4 s');
    await ready.page.getByText('Not done: zero is still being gathered').waitFor();

    ready.tell(halfReadyConduct());
    await part.locator('button.next', { hasText: 'Gather shunt of STRAIN_002' }).click();
    expect(await ready.acted('begin check', 2)).toMatchObject({ choice: 'shunt', subject: 'STRAIN_002' });
    ready.tell(halfReadyConduct());
    const row = (id: string) => part.locator(`[data-channel="${id}"]`);
    expect(await ready.text(row('STRAIN_001'))).toContain('3.10 0 ± 20'.replace(' ', ''));
    expect(await row('STRAIN_001').getAttribute('data-state')).toBe('done');
    expect(await ready.text(row('STRAIN_002'))).toContain('left: shunt');
    expect(await row('STRAIN_003').getAttribute('data-state')).toBe('fault');
    await part.getByText('zero: 88 N, expected 0 ± 20 N: offset').waitFor();
    expect(await row('NR').getByText('CANNOT TELL').count()).toBe(4);
    await part.getByText('cannot tell: no sample of 4 s was usable').waitFor();
    await part.getByText('Recorder: verified').waitFor();
    await ready.button('Gather shunt of STRAIN_001').click();
    expect(await ready.acted('begin check', 3)).toMatchObject({ choice: 'shunt', subject: 'STRAIN_001' });
    await ready.button('End the check').click();
    expect(await ready.acted('end check')).toMatchObject({ choice: 'shunt' });
    await part.getByText(/^Ended by Petra Wendholt, 10:0\d:\d\d: not complete$/).waitFor();
  });

  it('draws each control on the travel of the rig, with its ends, its numbers and its faults', async () => {
    await ready.open(halfReadyConduct(), { person: 'fc' });
    const part = await ready.unfold('sweep');
    const short = part.locator('[data-control="STRAIN_012"]');
    await short.getByText('low end missed by 4, 4 % of travel: lowest 4, rig 0').waitFor();
    // the bar begins inside the stroke of the rig's low end by 4 % of its travel
    const from = async (of: string) =>
      Number.parseFloat(
        (await short
          .locator(of)
          .first()
          .getAttribute(of === '.end' ? 'x1' : 'x')) ?? '',
      );
    expect((await from('.swept')) - (await from('.end'))).toBeCloseTo(4 * 0.8, 6);
    expect(await part.locator('[data-control="STRAIN_010"]').getAttribute('data-state')).toBe('done');
    await part.getByRole('img', { name: 'Travel: from −49.80 to 49.90; rig −50 to 50' }).waitFor();
    await ready.button('Begin the sweep anew').click();
    await ready.acted('begin sweep');
    await part.getByRole('button', { name: 'End the sweep', exact: true }).and(part.locator('.next')).waitFor();
    await ready.pressGreyed('Begin the sweep anew');
    await ready.page.getByText('Not done: the sweep is under way').waitFor();
    await part.getByRole('button', { name: 'End the sweep', exact: true }).click();
    await ready.acted('end sweep');
    expect(ready.acts('begin sweep')).toHaveLength(1);
  });

  it('shows mass and balance now and planned, draws them, and sets a load with its reason alone', async () => {
    await ready.open();
    const part = await ready.unfold('weight');
    expect(await part.locator('[data-balance="Take-off"]').getAttribute('data-state')).toBe('outside');
    await part.locator('[data-balance="Take-off"]').getByText('OUTSIDE').waitFor();
    expect(await ready.text(part.locator('[data-knock-off]'))).toBe(
      'Knock-off fuel 60 kg: in 42 min 04 s at the present flow',
    );
    await part.getByRole('img', { name: /Now: inside/ }).waitFor();
    await ready.pressGreyed('Set load');
    await ready.page.getByText('Not done: type its mass in kg first').waitFor();
    await part.getByLabel('Load', { exact: true }).selectOption('ballast');
    await part.getByLabel('Its mass, kg').fill('40,5');
    await part.getByLabel('Why the load is changed').fill('CG too far aft');
    await ready.button('Set load').click();
    expect(await ready.acted('set load')).toMatchObject({ subject: 'ballast', value: 40.5, text: 'CG too far aft' });
    await part.locator('[data-load="ballast"]').getByText('40.5').waitFor();
  });

  it('never draws a balance that cannot be told, nor an inside that is none', async () => {
    const view = halfReady();
    const now = { name: 'Now', massKg: null, armM: null, lateralM: null, fuelKg: null, state: 'cannot tell' as const };
    await ready.open(
      withReadiness({ weight: { ...(view.weight as NonNullable<ReadinessView['weight']>), now, toKnockOffS: null } }),
    );
    const part = await ready.unfold('weight');
    await part.locator('[data-balance="Now"]').getByText('CANNOT TELL').waitFor();
    await part.getByText('it is not drawn').waitFor();
    expect(await part.locator('gc-balance-picture .now').count()).toBe(0);
    await part.locator('[data-knock-off]').getByText('CANNOT TELL').waitFor();
  });

  it('names the differences of the pack, and links the sheets that bear the id on the screen', async () => {
    const ids = {
      ...{ match: false, softwareId: 'FCC-4.3', configurationId: 'SM1X-A7' },
      differences: [
        'software id: the aircraft sends FCC-4.3, this pack is for FCC-4.2',
        'nr-low: warning below 95 here, 94 there',
      ],
    };
    await ready.open(withReadiness({ ids }));
    const part = await ready.unfold('ids');
    await part.locator('[data-id="outside"]').getByText('DIFFERENT').waitFor();
    expect(await part.locator('.differences li').allTextContents()).toEqual(ids.differences);
    await part.getByText('5F1D-0C7A').waitFor();
    expect(await part.getByRole('link', { name: /^Brief sheet/ }).getAttribute('href')).toBe('/sheets/brief');
    expect(await part.getByRole('link', { name: /^Stop sheet/ }).getAttribute('href')).toBe('/sheets/stop');
    expect(await screen.words('gc-head-bar')).toContain('5F1D-0C7A');
  });

  it('hands a watch over: a limit of its own by a position, any limit by the test director; names what nobody watches', async () => {
    await ready.open();
    const part = await ready.unfold('watch');
    await part.getByText('Stop limits that nobody watches').waitFor();
    expect(await part.locator('[data-position="test conductor"] button').count()).toBe(4);
    expect(await part.locator('[data-position="rotor and loads"] .free').count()).toBe(3);
    await ready.button('Hand over').click({ force: true });
    await ready.page.getByText(/^Not done: choose first who watches/).waitFor();
    await part.locator('[data-position="test conductor"] [data-limit="tq-high"]').click();
    expect((await screen.focus()).name).toBe('to');
    await part.locator('#to').selectOption('flight control');
    await ready.button('Hand over').click();
    expect(await ready.acted('assign watch')).toMatchObject({ subject: 'tq-high', choice: 'flight control' });
    await part.locator('[data-position="flight control"] [data-limit="tq-high"]').waitFor();
    // another's limit is not its own
    await part.locator('[data-limit="nr-high"]').click();
    await part.locator('#to').selectOption('nobody');
    await ready.pressGreyed('Hand over');
    await ready.page
      .getByText(/^Not done: test conductor may not assign watch; test director, rotor and loads may$/)
      .waitFor();
    screen.station.refuse = 'flight control watches 4 limits already (a, b, c, d), and 4 are the most for one position';
    await part.locator('[data-limit="nr-low"]').click();
    await part.locator('#to').selectOption('flight control');
    await ready.button('Hand over').click();
    await part.locator('.refused', { hasText: '4 are the most for one position' }).waitFor();
  });

  it('reads the hazard trace across, with who sits there now', async () => {
    await ready.open();
    const part = await ready.unfold('hazards');
    const rows = (await part.locator('tbody tr').allTextContents()).map((text) => text.replace(/\s+/g, ' ').trim());
    expect(rows).toEqual([
      expect.stringMatching(
        /^Rotor speed decays below recovery ?catastrophic; rotor and loads Rotor speed is watched.* limit Rotor speed low test conductor ?Bram Tolliver$/,
      ),
      expect.stringMatching(/procedure Flight manual, section 3 rotor and loads ?Ilse Corrand$/),
      expect.stringMatching(/^The room can no longer speak.* checklist Voice lost range safety ?NOBODY$/),
    ]);
  });

  it('say what to do where the mission plans none of them', async () => {
    const {
      readiness: _,
      sequences: __,
      checklists: ___,
      hazards: ____,
      ...bare
    } = (await import('./ready-mission.ts')).readyMission;
    await ready.open(
      { ...emptyConduct(), readiness: { ...halfReady(), notices: [], morning: null, sweep: null, weight: null } },
      { mission: bare },
    );
    for (const id of ['notices', 'morning', 'sweep', 'weight', 'hazards', 'sequences', 'checklists']) {
      const part = await ready.unfold(id);
      expect(await part.getAttribute('data-state')).toBe('none');
      await part
        .locator('.empty')
        .getByText(/of the mission folder/)
        .waitFor();
    }
  });
});

describe('what a position may not do', () => {
  it('stays grey with the reason: morning check, sweep, loads', async () => {
    await ready.open(halfReadyConduct(), { person: 'rl' });
    for (const [part, button, reason] of [
      ['morning', 'Gather zero, 4 s', 'rotor and loads may not run morning check; instrumentation may'],
      ['sweep', 'Begin the sweep anew', 'rotor and loads may not run control sweep; flight control may'],
      ['weight', 'Set load', 'rotor and loads may not set load; test director, test conductor may'],
    ] as const) {
      await ready.unfold(part);
      expect(await ready.button(button).getAttribute('aria-disabled')).toBe('true');
      await ready.pressGreyed(button);
      await ready.page.getByText(`Not done: ${reason}`).waitFor();
    }
    expect(screen.station.actions).toEqual([]);
  });

  it('nobody acts on any control of the page in a replay', async () => {
    await ready.open(halfReadyConduct(), { mode: 'replay' });
    for (const id of ['notices', 'morning', 'sweep', 'weight', 'watch']) await ready.unfold(id);
    const greyed = ready.pane
      .locator('gc-readiness-poll, gc-notice-list, gc-morning-check, gc-control-sweep, gc-weight-balance')
      .getByRole('button');
    await waitUntil(
      'all are grey',
      async () => await greyed.evaluateAll((all) => all.every((one) => one.getAttribute('aria-disabled') === 'true')),
    );
    expect(await greyed.count()).toBeGreaterThan(10);
    await ready.pressGreyed('Answer ready');
    await ready.page.getByText('Not done: this is a replay: nothing is added to it').waitFor();
    expect(await ready.button('Hand over').getAttribute('aria-disabled')).toBe('true');
    expect(screen.station.actions).toEqual([]);
  });
});
