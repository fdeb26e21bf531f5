/** The page of cards: points through their gates, advice and judgement, the step gate, anomalies, the ledger. */
import { describe, expect, it } from 'vitest';
import type { PointRun } from '../../protocol/conduct.ts';
import { nextGates } from '../../display/state/points.ts';
import { pointSequence } from '../../station/conduct/point-gates.ts';
import { waitUntil } from '../support/wait-until.ts';
import { busyConduct, levelStatistics, reduceGate, toJudge } from './cards-mission.ts';
import { CardsScreen } from './cards-screen.ts';
import { emptyConduct } from './mock-conduct.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const cards = new CardsScreen(screen);

describe('the list of points', () => {
  it('shows every point in build-up order with its state in words and a shape', async () => {
    await cards.open(busyConduct());
    const ids = await cards.pane
      .locator('[data-point]')
      .evaluateAll((all) => all.map((one) => (one as HTMLElement).dataset['point']));
    expect(ids).toEqual(['LF-080', 'LF-090', 'LF-100', 'LF-110', 'HQ-1']);
    expect(await Promise.all(ids.map((id) => cards.stateOf(id as string)))).toEqual([
      'good',
      'current',
      'step not cleared',
      'step not cleared',
      'not flown',
    ]);
    for (const id of ['LF-080', 'LF-090', 'LF-100'])
      expect(await cards.pane.locator(`[data-point="${id}"] svg`).count()).toBe(1);
    expect(await cards.words('[data-point="LF-090"]')).toContain('attempt 2');
    expect(screen.errors).toEqual([]);
  });

  it('is walked with the arrow keys, and shows the card of the point that is chosen', async () => {
    await cards.open(busyConduct());
    await screen.tabTo(/^Test points: arrow keys choose/);
    await screen.page.keyboard.press('ArrowDown');
    await cards.run.getByRole('heading', { name: 'LF-100: Level flight, 100 kt' }).waitFor();
    await screen.page.keyboard.press('End');
    await cards.run.getByRole('heading', { name: /^HQ-1/ }).waitFor();
    expect(await screen.words('gc-point-run')).toContain('pitch doublet, 10 % of travel, 1 s a side');
    // another one is being flown: it is not begun, and says why
    await cards.pressGreyed('Begin HQ-1');
    await screen.page.getByText('Not done: LF-090 is being flown: it is closed first').waitFor();
    expect(cards.acts('begin point')).toEqual([]);
    await screen.page.getByRole('heading', { name: 'Step gate' }).waitFor();
    await cards.pane.getByText('HQ-1 is no step of a family').waitFor();
  });

  it('says what to do where there are no cards, and where the station has told nothing yet', async () => {
    await screen.open();
    await screen.page.keyboard.press('g');
    await cards.pane.getByText('They stand in cards.yaml of the mission folder').waitFor();
  });
});

describe('the run', () => {
  it('is begun and led through its gates by one control, each with the time at which it was said', async () => {
    await cards.open({ ...emptyConduct(), steps: [reduceGate({ next: 80, advice: 'clear' })] });
    const before = screen.station.aircraft;
    await cards.button('Begin LF-080').click();
    expect(await cards.acted('begin point')).toMatchObject({ subject: 'LF-080' });
    await cards.run
      .getByRole('listitem')
      .filter({ hasText: 'Setup' })
      .and(cards.run.locator('[aria-current="step"]'))
      .waitFor();
    const press = async (label: string, choice: string, count: number) => {
      await cards.button(label).click();
      const action = await cards.acted('enter gate', count);
      expect(action).toMatchObject({ number: 1, choice });
      expect(action.aircraft).toBeGreaterThan(before);
      expect(Math.abs(action.aircraft - screen.station.aircraft)).toBeLessThan(1_000_000);
    };
    await press('Log on condition said', 'on condition', 1);
    await press('Log recover said', 'recover', 2);
    await press('Log admin said', 'admin', 3);
    await waitUntil('the last is there', async () =>
      /^Setup ?10:0\d:\d\d On condition ?10:0\d:\d\d Manoeuvre ?not said Recover ?10:0\d:\d\d Admin ?10:0\d:\d\d$/.test(
        await cards.words('gc-point-run .gates'),
      ),
    );
    // not judged: it cannot be closed
    expect(await cards.button('Close the run').getAttribute('aria-disabled')).toBe('true');
    await cards.pane.getByLabel('Why').first().fill('cloud ahead');
    await cards.button('Judge skip').click();
    expect(await cards.acted('judge point')).toMatchObject({ number: 1, choice: 'skip', text: 'cloud ahead' });
    await press('Close the run', 'closed', 4);
    await waitUntil('it is skipped', async () => (await cards.stateOf('LF-080')) === 'skipped');
  });

  it('leaves the keys on the list of points when a run was closed, so that none is begun by pressing twice', async () => {
    const conduct = busyConduct();
    const judged = {
      judgement: 'good' as const,
      note: '',
      person: 'tc',
      position: 'test conductor',
      aircraft: 1,
      ground: 1,
    };
    Object.assign(conduct.points.at(-1) as PointRun, { gate: 'recover', recordFrom: 1_795_600_930_000_000, judged });
    await cards.open(conduct);
    // the control that was pressed goes: its place is taken by the next
    await screen.tabTo(/^Log admin said/);
    await screen.page.keyboard.press('Enter');
    await waitUntil('the keys are on what follows', async () =>
      (await screen.focus()).name.startsWith('Close the run'),
    );
    await screen.page.keyboard.press('Enter');
    await waitUntil('the keys are on the list', async () => (await screen.focus()).name.startsWith('Test points'));
    await screen.page.keyboard.press('Enter');
    await screen.page.keyboard.press('g');
    await screen.page.getByText('Not done: LF-090 is good: choose the point that is flown next').waitFor();
    expect(cards.acts('begin point')).toEqual([]);
    await cards.button('Begin LF-090 again').click();
    expect(await cards.acted('begin point')).toMatchObject({ subject: 'LF-090' });
  });

  it('takes the instant of a gate from the key G, which from another page only leads there', async () => {
    await cards.open(busyConduct());
    await screen.page.keyboard.press('1');
    await cards.pane.waitFor({ state: 'detached' });
    await screen.page.keyboard.press('g');
    await cards.button('Log on condition said').waitFor();
    expect(cards.acts('enter gate')).toEqual([]);
    await screen.page.keyboard.press('g');
    expect(await cards.acted('enter gate')).toMatchObject({ number: 3, choice: 'on condition' });
  });

  it('offers in words, here and in the head of every page, and logs nothing by itself', async () => {
    await cards.open(busyConduct());
    expect(await cards.words('gc-point-run .offer')).toBe('nothing is offered yet');
    expect(await screen.words('gc-head-bar')).toContain('Point LF-090, attempt 2setup');
    const conduct = busyConduct();
    Object.assign(conduct.points.at(-1) as PointRun, { offer: 'on condition', offered: screen.station.aircraft });
    cards.tell(conduct);
    await cards.run.getByText('Offered: on condition').waitFor();
    expect(await cards.words('gc-point-run .offer')).toMatch(/every band has held 5 s since 10:0\d:\d\d$/);
    await screen.page.keyboard.press('1');
    await screen.page.locator('gc-head-bar .offered', { hasText: 'offered: on condition' }).waitFor();
    expect(screen.station.actions).toEqual([]);
  });

  it('shows each band with its target, the present value and its age, and what the station says of it', async () => {
    await cards.open(busyConduct());
    const band = (id: string) => cards.run.locator(`[data-band="${id}"]`);
    await waitUntil('the value is there', async () => ((await band('NR').textContent()) ?? '').includes('100.0'));
    expect(await cards.words('[data-band="NR"]')).toMatch(/inside.*Rotor speed.*0\.\d s old.*100 %.*± 1\.5 %/);
    await band('HEADING').locator('.word', { hasText: 'OUTSIDE' }).waitFor();
    expect(await band('HEADING').locator('.told svg').count()).toBe(1);
    expect(await cards.words('[data-setting="rotor power below 140 kW"]')).toContain('NOT SET');
    // the id of a parameter stands in one line, a long one too
    const lines = await band('NR')
      .locator('b')
      .first()
      .evaluate((id) => {
        const long = Object.assign(document.createElement('b'), { textContent: 'GROUND_SPEED' });
        id.after(document.createElement('br'), long);
        const { length } = long.getClientRects();
        long.previousElementSibling?.remove();
        long.remove();
        return length;
      });
    expect(lines).toBe(1);
    // in the middle of its band stands the target, and the marker where the value is
    const x = await band('NR').locator('svg.rule svg').getAttribute('x');
    expect(Number.parseFloat(x ?? '')).toBeCloseTo(50, 0);
  });

  it('never says inside of what cannot be told: a value that is stale, a station that is silent', async () => {
    await cards.open(busyConduct());
    await cards.run.locator('[data-band="IAS"] [data-told="inside"]').waitFor();
    screen.station.validity.set('IAS', 11);
    const ias = cards.run.locator('[data-band="IAS"]');
    await ias.locator('[data-told="cannot tell"]').waitFor();
    await ias.getByText('CANNOT TELL').waitFor();
    expect(await ias.locator('svg.rule svg').count()).toBe(0);
    screen.station.silent = true;
    await screen.page.getByText('STATION SILENT').waitFor();
    await waitUntil('nothing is inside', async () => (await cards.run.locator('[data-told="inside"]').count()) === 0);
    expect(await cards.run.locator('[data-told="cannot tell"]').count()).toBe(5);
    expect(await cards.words('gc-point-run .offer')).toBe('cannot tell: the station is silent');
    await cards.gate.getByText('Last heard: advised').waitFor();
    expect(await cards.gate.locator('[data-advice]').textContent()).toContain('CANNOT TELL');
  });

  it('shows how far the record has come, and its data quality beside what is wanted', async () => {
    const conduct = busyConduct();
    Object.assign(conduct.points.at(-1) as PointRun, {
      ...{ gate: 'on condition', recordFrom: 1_795_600_930_000_000, recorded: 12.4e6 },
      statistics: levelStatistics(90),
    });
    await cards.open(conduct);
    const record = cards.run.getByLabel('Record', { exact: true });
    await record.getByText('12.4 s').waitFor();
    const said = ((await record.textContent()) ?? '').replace(/\s+/g, ' ');
    for (const told of ['of 20 s wanted', 'IAS 98 % in band, 95 % wanted', 'NR lacks 40 ms, 200 ms may'])
      expect(said).toContain(told);
    const width = await record.locator('.done').evaluate((e) => e.getBoundingClientRect().width);
    const track = await record.locator('.track').evaluate((e) => e.getBoundingClientRect().width);
    expect(width / track).toBeCloseTo(0.62, 1);
    // what is whole is told once, without a number each
    expect(said).toMatch(/nothing lacks of [A-Z_, ]+/);
    expect(said).not.toContain('lacks 0 ms');
  });

  it('keeps the other ways on in their place when something is offered', async () => {
    const run = (more: Partial<PointRun>): ReturnType<typeof busyConduct> => {
      const conduct = busyConduct();
      Object.assign(conduct.points.at(-1) as PointRun, {
        gate: 'on condition',
        recordFrom: 1_795_600_930_000_000,
        ...more,
      });
      return conduct;
    };
    await cards.open(run({}));
    const where = () =>
      Promise.all(['Log manoeuvre said', 'Off condition'].map((name) => cards.button(name).boundingBox()));
    await cards.button('Off condition').waitFor();
    const before = await where();
    cards.tell(run({ offer: 'complete', offered: screen.station.aircraft }));
    await cards.run.getByText('Offered: complete').waitFor();
    expect(await where()).toEqual(before);
  });

  it('cuts nothing in the head of the window that must be read, whatever the point, its gate and its attempt', async () => {
    await cards.open(busyConduct());
    for (const more of [
      {},
      { offer: 'on condition' as const },
      { gate: 'on condition' as const, offer: 'complete' as const },
    ]) {
      const conduct = busyConduct();
      Object.assign(conduct.points.at(-1) as PointRun, { attempt: 12, ...more });
      cards.tell(conduct);
      const head = screen.page.locator('gc-head-bar .point', { hasText: 'attempt 12' });
      await head.filter({ hasText: more.offer ?? 'setup' }).waitFor();
      const cut = await screen.page
        .locator('gc-head-bar .cell:not(.gives) > span')
        .evaluateAll((all) => all.filter((e) => e.scrollWidth > e.clientWidth).map((e) => e.textContent));
      expect(cut).toEqual([]);
      const ends = await screen.page
        .locator('gc-head-bar .cell')
        .evaluateAll((all) =>
          all.map((e) => [e.getBoundingClientRect().left, e.getBoundingClientRect().right] as const),
        );
      for (const [i, [left]] of ends.entries()) expect(left).toBeGreaterThanOrEqual(ends[i - 1]?.[1] ?? 0);
      expect(ends.at(-1)?.[1]).toBeLessThanOrEqual(1366);
    }
  });

  it('offers at every gate only what the station lets follow', () => {
    const judged = { judgement: 'good' as const, note: '', person: '', position: '', aircraft: 1, ground: 1 };
    for (const [at, may] of Object.entries(pointSequence) as [PointRun['gate'], readonly string[]][])
      for (const recordFrom of ['on condition', 'manoeuvre'] as const)
        for (const more of [{}, { judged }]) {
          const { usual, others } = nextGates({ gate: at, ...more }, { recordFrom });
          expect(may).toEqual(expect.arrayContaining([...(usual ? [usual] : []), ...others]));
          expect(usual === undefined).toBe(may.length === 0);
        }
  });
});

describe('advice and judgement', () => {
  const reasons = [
    'IAS was out of its data band 11.4 % of the record, and 5 % may be',
    'TQ lacked 260 ms, and 200 ms may be',
  ];

  it('shows advice to repeat with every reason, and takes the judgement of a person', async () => {
    await cards.open(toJudge('repeat', reasons));
    await cards.run.locator('[data-advice="repeat"]').waitFor();
    expect(await cards.run.getByLabel('Reasons to repeat').getByRole('listitem').allTextContents()).toEqual(reasons);
    await cards.button('Judge repeat').click();
    expect(await cards.acted('judge point')).toMatchObject({ number: 3, choice: 'repeat', text: '' });
    await cards.run.locator('[data-judged="repeat"]').waitFor();
    expect(await cards.words('gc-judge-form [data-judged]')).toContain('Bram Tolliver, test conductor');
  });

  it('asks for a reason against the advice, and says there what the station refuses, with the words kept', async () => {
    await cards.open(toJudge('repeat', reasons));
    await cards.pressGreyed('Judge good');
    await screen.page.getByText('Not done: against the advice: say why first').waitFor();
    expect(cards.acts('judge point')).toEqual([]);
    const why = cards.run.getByLabel('Why');
    await why.fill('gust outside the window of interest');
    screen.station.refuse = 'stop call 1 is open: nothing is judged good before its decision';
    await cards.button('Judge good').click();
    await cards.run.getByRole('alert').getByText('Not done: stop call 1 is open').waitFor();
    expect(await why.inputValue()).toBe('gust outside the window of interest');
    await cards.button('Judge good').click();
    expect(await cards.acted('judge point')).toMatchObject({
      choice: 'good',
      text: 'gust outside the window of interest',
    });
    await cards.run.getByRole('alert').waitFor({ state: 'detached' });
  });

  it('sets the statistics of the record against what was predicted, with its scatter', async () => {
    await cards.open(toJudge('good'));
    const prediction = (what: string) => cards.run.locator(`[data-prediction="${what}"]`);
    expect(await prediction('TQ mean').getAttribute('data-told')).toBe('inside');
    expect(await cards.words('[data-prediction="TQ mean"]')).toMatch(
      /predicted 68\.2 ± 0\.8.*68\.9.*off by 0\.9 scatter/,
    );
    expect(await prediction('NR mean').getAttribute('data-told')).toBe('outside');
    expect(await cards.words('[data-statistics="IAS"]')).toMatch(
      /^IAS kt 90\.4 ?0\.6 ?88\.6 ?92\.2 ?0\.01 ?2000 ?98 % ?0$/,
    );
    // of what was not recorded nothing is claimed
    const conduct = toJudge('repeat', ['TQ lacked']);
    (conduct.points.at(-1) as PointRun).statistics = levelStatistics(90).filter(({ parameter }) => parameter !== 'TQ');
    cards.tell(conduct);
    await prediction('TQ mean').and(cards.run.locator('[data-told="cannot tell"]')).waitFor();
  });

  it('gives a point up before its record by a skip alone', async () => {
    await cards.open(busyConduct());
    await cards.button('Judge skip').waitFor();
    expect(await cards.run.getByRole('button', { name: /^Judge/ }).count()).toBe(1);
    await cards.run.getByLabel('Why').fill('weather');
    await cards.button('Judge skip').click();
    expect(await cards.acted('judge point')).toMatchObject({ number: 3, choice: 'skip', text: 'weather' });
  });
});

describe('what a position may not do', () => {
  it('stays grey and says why: gates, judgement and step for rotor and loads', async () => {
    await cards.open(toJudge('good'), { person: 'rl' });
    const greyed = ['Log admin said', 'Judge good', 'Clear 100 kt', 'Reduce to', 'Hold'];
    for (const name of greyed)
      expect([name, await cards.button(name).getAttribute('aria-disabled')]).toEqual([name, 'true']);
    await cards.pressGreyed('Judge good');
    await screen.page
      .getByText(/Not done: rotor and loads may not run points; test director, test conductor may/)
      .waitFor();
    await screen.page.keyboard.press('g');
    expect(screen.station.actions).toEqual([]);
    expect(await cards.button('Open anomaly').getAttribute('aria-disabled')).toBe('false');
  });

  it('is nothing at all in a replay', async () => {
    await cards.open(toJudge('good'), { mode: 'replay', person: 'td' });
    await cards.pressGreyed('Judge good');
    await screen.page.getByText('Not done: this is a replay: nothing is added to it').waitFor();
    expect(screen.station.actions).toEqual([]);
  });
});

describe('the ledger', () => {
  it('lists all runs of the flight, newest first, with why, and leads to each', async () => {
    await cards.open(busyConduct());
    await screen.tabTo('tab-run');
    await screen.page.keyboard.press('ArrowRight');
    const rows = screen.page.locator('gc-point-ledger [data-run]');
    await rows.first().waitFor();
    expect(await rows.evaluateAll((all) => all.map((one) => (one as HTMLElement).dataset['run']))).toEqual([
      '3',
      '2',
      '1',
    ]);
    const second = await cards.words('gc-point-ledger [data-run="2"]');
    for (const told of ['LF-090', 'repeat', '22 s', 'gust in the turn', 'TQ lacked 260 ms', 'Bram Tolliver'])
      expect(second).toContain(told);
    await cards.pane.getByRole('button', { name: 'Show run 2' }).click();
    await cards.run.getByText('run 2', { exact: true }).waitFor();
    await cards.run.locator('[data-judged="repeat"]').waitFor();
    // an older run is only looked at
    expect(await cards.run.getByRole('button', { name: /^Judge/ }).count()).toBe(0);
  });

  it('is replaced by what to do while nothing was flown', async () => {
    await cards.open(emptyConduct());
    await cards.pane.getByRole('tab', { name: 'Ledger' }).click();
    await cards.pane.getByText('No point was begun in this flight').waitFor();
  });

  it('has a part of test conduct that ended with a fault said once above it, as every page has', async () => {
    await cards.open({ ...busyConduct(), faults: [{ part: 'points', fault: 'no such column' }] });
    const said = screen.page.getByRole('alert').filter({ hasText: 'no such column' });
    await said.getByText('points has ended').waitFor();
    expect(await said.count()).toBe(1);
  });
});
