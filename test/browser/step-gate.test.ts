/** The step gate with its picture and decision, and the anomalies under it. */
import { describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { busyConduct, reduceGate } from './cards-mission.ts';
import { CardsScreen } from './cards-screen.ts';
import { emptyConduct } from './mock-conduct.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();
const cards = new CardsScreen(screen);

describe('the step gate', () => {
  it('shows the picture in words too: prediction, band, caution, residual; amber only where the band touches', async () => {
    await cards.open(busyConduct());
    await cards.gate.locator('[data-advice="reduce"]').waitFor();
    expect(await cards.words('gc-step-gate [data-advice]')).toContain('Advised: REDUCE to 96 kt');
    const pictures = cards.gate.getByRole('img');
    expect(await pictures.count()).toBe(2);
    expect(await pictures.first().getAttribute('aria-label')).toBe(
      'At 100 kt predicted 2.38 m/s², between 2.24 m/s² and 2.52 m/s²; caution above 2.45 m/s²',
    );
    expect(await pictures.first().locator('.flown').count()).toBe(2);
    expect(await cards.gate.locator('.touched').count()).toBe(1);
    const stroke = (i: number) =>
      pictures
        .nth(i)
        .locator('.caution')
        .evaluate((e) => getComputedStyle(e).stroke);
    expect(await stroke(0)).toBe('rgb(168, 106, 0)');
    expect(await stroke(1)).toBe('rgb(70, 81, 79)');
    await cards.gate.locator('[data-residual="outside"]').getByText('more than').waitFor();
  });

  it('takes a decision with the step offered, one typed, or the next, and shows it with the advice of then', async () => {
    await cards.open(busyConduct());
    await cards.button('Reduce to').click();
    expect(await cards.acted('decide step')).toMatchObject({ subject: 'level', choice: 'reduce', value: 96, text: '' });
    await cards.gate.locator('[data-decided="reduce"]').waitFor();
    await cards.gate.getByLabel('Smaller step, kt').fill('94,5');
    await cards.gate.getByLabel('Why').fill('rough air');
    await cards.button('Reduce to').click();
    expect(await cards.acted('decide step', 2)).toMatchObject({ choice: 'reduce', value: 94.5, text: 'rough air' });
    screen.station.refuse = '100 kt is against the advice, reduce to 96 kt: the test director decides that';
    await cards.button('Clear 100 kt').click();
    await cards.gate.getByRole('alert').getByText('Not done: 100 kt is against the advice').waitFor();
    await cards.button('Hold').click();
    expect(await cards.acted('decide step', 3)).toMatchObject({ choice: 'hold', value: 100 });
  });

  it('names what stands in the way, and says that it cannot tell where the station has not told', async () => {
    const blocks = ['anomaly 1 is open: ticking from the left door'];
    await cards.open({ ...busyConduct(), steps: [reduceGate({ advice: 'hold', offered: null, reasons: [], blocks })] });
    await cards.gate
      .getByLabel('Stands in the way')
      .getByText(blocks[0] as string)
      .waitFor();
    cards.tell({ ...busyConduct(), steps: [] });
    await cards.pane.getByText('the station has not told what its gate advises').waitFor();
    expect(await cards.pane.getByRole('button', { name: /^Clear/ }).count()).toBe(0);
  });

  it('leaves a step not cleared until the decision is there', async () => {
    await cards.open({ ...emptyConduct(), steps: [reduceGate({ next: 80, point: 'LF-080', advice: 'clear' })] });
    expect(await cards.stateOf('LF-080')).toBe('step not cleared');
    await cards.button('Clear 80 kt').click();
    await waitUntil('it is cleared', async () => (await cards.stateOf('LF-080')) === 'not flown');
    expect(await cards.stateOf('LF-090')).toBe('step not cleared');
  });
});

describe('anomalies', () => {
  it('are opened with what was seen, in the point or not', async () => {
    await cards.open(busyConduct(), { person: 'rl' });
    await cards.pane.getByLabel('What was seen').fill('shudder in the turn');
    await cards.button('Open anomaly').click();
    expect(await cards.acted('open anomaly')).toMatchObject({ text: 'shudder in the turn', subject: 'LF-090' });
    await cards.pane.locator('[data-anomaly="2"]').waitFor();
    await cards.pane.getByLabel('in LF-090').uncheck();
    await cards.pane.getByLabel('What was seen').fill('smell of oil');
    await cards.button('Open anomaly').click();
    expect(await cards.acted('open anomaly', 2)).toMatchObject({ subject: '' });
  });

  it('are closed by the test director alone, with how they were run to ground', async () => {
    await cards.open(busyConduct(), { person: 'td' });
    await cards.pressGreyed('Close anomaly 1');
    await screen.page.getByText('Not done: first say how it was run to ground').waitFor();
    await cards.pane.getByLabel('How anomaly 1 was run to ground').fill('loose seal, fixed');
    await cards.button('Close anomaly 1').click();
    expect(await cards.acted('close anomaly')).toMatchObject({ number: 1, text: 'loose seal, fixed' });
    await cards.pane.getByText('loose seal, fixed').waitFor();
    const other = await screen.another('tc');
    await other.keyboard.press('g');
    cards.tell(busyConduct());
    await cards.pressGreyed('Close anomaly 1', other);
    await other.getByText('Not done: test conductor may not close anomaly; test director may').waitFor();
    expect(cards.acts('close anomaly')).toHaveLength(1);
  });
});
