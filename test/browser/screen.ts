/** A window of the display on a stand-in station, for one test at a time. */
import type { Browser, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll } from 'vitest';
import { type MockOptions, MockStation } from './mock-station.ts';
import { type Built, buildDisplay, launch, openWindow } from './open-window.ts';
import { smallMission } from './small-mission.ts';

export interface OpenOptions extends Partial<MockOptions> {
  query?: string;
}

export class Screen {
  station!: MockStation;
  page!: Page;
  errors: string[] = [];
  browser!: Browser;
  built!: Built;

  async open({ query, ...more }: OpenOptions = {}): Promise<void> {
    this.station = new MockStation({ dist: this.built.dist, mission: smallMission, ...more });
    const { signals } = this.station;
    for (const [id, value] of [
      ['NR', 100],
      ['TQ', 68.5],
      ['TOT', 735],
      ['IAS', 82],
      ['FUEL', 181],
      ['FCS_MODE', 1],
    ] as const)
      signals.set(id, () => value);
    await this.station.start();
    const { page, errors } = await openWindow(this.browser, this.station.url + (query ?? ''));
    this.page = page;
    this.errors = errors;
    await page.getByRole('button', { name: 'All parameters' }).waitFor();
  }

  /** The digits of a parameter, wherever they stand first. */
  digits(id: string): Locator {
    return this.page.locator(`[data-value="${id}"]`).first();
  }

  async shown(id: string): Promise<string> {
    return (await this.digits(id).textContent()) ?? '';
  }

  /** All words inside an element, its shadow included. */
  words(selector: string): Promise<string> {
    return this.page
      .locator(selector)
      .first()
      .evaluate((element) => ((element.shadowRoot ?? element).textContent ?? '').replace(/\s+/g, ' '));
  }
}

/** Builds the display and starts the browser for a test file; closes all of it again. */
export function useScreen(flags: string[] = []): Screen {
  const screen = new Screen();
  beforeAll(async () => {
    screen.built = await buildDisplay();
    screen.browser = await launch(flags);
  });
  afterEach(async () => {
    await screen.page?.close();
    await screen.station?.stop();
  });
  afterAll(async () => {
    await screen.browser?.close();
    screen.built?.remove();
  });
  return screen;
}

/** Lets a program draw in place of a graphics card: slow, but the same drawing. */
export const STAND_IN_CARD = ['--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--ignore-gpu-blocklist'];
