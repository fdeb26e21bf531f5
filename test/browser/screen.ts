/** A window of the display on a stand-in station, for one test at a time. */
import type { Browser, BrowserContext, Locator, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll } from 'vitest';
import { type MockOptions, MockStation } from './mock-station.ts';
import { type Built, buildDisplay, launch, openWindow } from './open-window.ts';
import { smallMission } from './small-mission.ts';

export interface OpenOptions extends Partial<MockOptions> {
  query?: string;
}

export interface Focus {
  name: string;
  tag: string;
  outlined: boolean;
  inView: boolean;
}

export class Screen {
  contexts: BrowserContext[] = [];
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

  /** A second window on the same station, with somebody else signed in; closed with the first. */
  async another(person: string, page = this.page): Promise<Page> {
    const context = await this.browser.newContext({ viewport: page.viewportSize() });
    await context.addCookies([{ name: 'person', value: person, url: this.station.url }]);
    this.contexts.push(context);
    const other = await context.newPage();
    await other.goto(this.station.url);
    await other.getByRole('button', { name: 'All parameters' }).waitFor();
    return other;
  }

  /** What the keys stand on: its name, and whether that is to be seen. */
  focus(page = this.page): Promise<Focus> {
    return page.evaluate(() => {
      let element: Element | null = document.activeElement;
      while (element?.shadowRoot?.activeElement) element = element.shadowRoot.activeElement;
      if (!element || element === document.body) return { name: '', tag: 'body', outlined: false, inView: false };
      const { outlineStyle, outlineWidth } = getComputedStyle(element);
      const box = element.getBoundingClientRect();
      const label = element.getAttribute('aria-label') ?? element.id ?? '';
      return {
        name: label || (element.textContent ?? '').replace(/\s+/g, ' ').trim(),
        tag: element.localName,
        outlined: outlineStyle !== 'none' && Number.parseFloat(outlineWidth) >= 2,
        inView: box.width > 0 && box.left >= 0 && box.right <= innerWidth && box.top < innerHeight && box.bottom > 0,
      };
    });
  }

  /** Presses Tab until the keys stand on what has this name; fails when they come round without. */
  async tabTo(name: string | RegExp, page = this.page): Promise<Focus> {
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press('Tab');
      const now = await this.focus(page);
      if (typeof name === 'string' ? now.name === name : name.test(now.name)) return now;
    }
    throw new Error(`Tab never came to ${name}`);
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
    for (const context of screen.contexts.splice(0)) await context.close();
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
