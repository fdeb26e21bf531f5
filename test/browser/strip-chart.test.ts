/** What a strip chart shows, in every way it can be drawn. */
import { PNG } from 'pngjs';
import { describe, expect, it } from 'vitest';
import { waitUntil } from '../support/wait-until.ts';
import { STAND_IN_CARD, useScreen } from './screen.ts';

const screen = useScreen(STAND_IN_CARD);

/** Pixels of the picture darker than the plot's grid, as a share of its column, for each column. */
function darkest(png: PNG): number[] {
  return Array.from({ length: png.width }, (_, x) => {
    let top = png.height;
    for (let y = 0; y < png.height; y++) {
      const i = 4 * (y * png.width + x);
      const [r, g, b] = [png.data[i] ?? 255, png.data[i + 1] ?? 255, png.data[i + 2] ?? 255];
      // the first trace's ink is dark blue; limit lines and grid are grey
      if (b - r > 25 && r < 150 && g < 170) {
        top = y;
        break;
      }
    }
    return top;
  });
}

async function chartPicture(): Promise<PNG> {
  const cell = screen.page.locator('gc-instrument-frame').first().locator('.cell');
  return PNG.sync.read(await cell.screenshot());
}

describe.each(['canvas', 'card'] as const)('a strip chart drawn with the %s', (drawing) => {
  const wanted = drawing === 'card' ? 'graphics card' : 'plain canvas';
  const ready = () =>
    screen.page.waitForFunction(
      (name) =>
        document.querySelector('gc-room')?.shadowRoot?.querySelector<HTMLElement>('.canvas')?.dataset['drawing'] ===
        name,
      wanted,
    );

  it('shows a spike of one sample, and its height', async () => {
    await screen.open({ query: `?drawing=${drawing}` });
    await ready();
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const flat = darkest(await chartPicture());
    const at = screen.station.flown + 0.3;
    screen.station.signals.set('NR', (t) => (Math.abs(t - at) < 0.005 ? 115 : 100));
    await waitUntil('the sample has passed', () => screen.station.flown > at + 0.8);
    const spiked = darkest(await chartPicture());
    // 20 to 120 % over the plot: 115 % stands well above 100 %
    const height = (await chartPicture()).height;
    const peak = Math.min(...spiked);
    expect(Math.min(...flat) - peak).toBeGreaterThan(height * 0.2);
    expect(spiked.filter((y) => y < peak + 8).length).toBeLessThanOrEqual(4);
    expect(screen.errors).toEqual([]);
  });

  it('keeps a gap open and hatches it', async () => {
    await screen.open({ query: `?drawing=${drawing}` });
    await ready();
    await waitUntil('rotor speed is shown', async () => (await screen.shown('NR')) === '100.0');
    const before = darkest(await chartPicture()).filter((y) => y < 400).length;
    screen.station.lost = true;
    const from = screen.station.flown;
    await waitUntil('two seconds are lost', () => screen.station.flown > from + 2);
    screen.station.lost = false;
    await waitUntil('data are back', () => screen.station.flown > from + 3);
    const picture = await chartPicture();
    const tops = darkest(picture).map((y) => y < picture.height);
    const first = tops.indexOf(true);
    const last = tops.lastIndexOf(true);
    const missing = tops.slice(first, last).filter((dark) => !dark).length;
    // two of twenty seconds across the plot
    const expected = ((last - first) * 2) / 20;
    expect(before).toBeGreaterThan(100);
    expect(missing).toBeGreaterThan(expected * 0.7);
    expect(missing).toBeLessThan(expected * 1.4);
  });
});

describe('where the card fails', () => {
  it('goes on with the plain canvas when the card is lost', async () => {
    await screen.open({ query: '?drawing=card' });
    const drawing = () =>
      screen.page.evaluate(
        () => document.querySelector('gc-room')?.shadowRoot?.querySelector<HTMLElement>('.canvas')?.dataset['drawing'],
      );
    await waitUntil('the card draws', async () => (await drawing()) === 'graphics card');
    await screen.page.evaluate(() => {
      const canvas = document.querySelector('gc-room')?.shadowRoot?.querySelector('canvas');
      canvas?.getContext('webgl2')?.getExtension('WEBGL_lose_context')?.loseContext();
    });
    await waitUntil('the plain canvas draws', async () => (await drawing()) === 'plain canvas');
    await waitUntil(
      'the trace is there',
      async () => darkest(await chartPicture()).filter((y) => y < 400).length > 100,
    );
  });
});
