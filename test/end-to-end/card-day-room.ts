/** The room of the day of test cards: windows in a real browser for some positions, plain displays for the others. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Browser, Locator, Page } from 'playwright-core';
import { expect } from 'vitest';
import type { ConductAct, ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { Running } from '../support/groundchase.ts';
import { TestDisplay } from '../support/test-display.ts';
import { ConductReader } from '../../display/state/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { openWindow } from '../browser/open-window.ts';

/** Patience with the flight, milliseconds: it takes five minutes, and a busy machine a little more to show it. */
export const FLIGHT = 480_000;

/** A folder in which pictures and the report of the flight are kept for people to look at; '' = they are not. */
export const keptIn = process.env['CARD_DAY_KEPT_IN'] ?? '';

const sizes = [
  { width: 1920, height: 1080 },
  { width: 1366, height: 768 },
] as const;

const link = async (station: Running, position: string): Promise<string> =>
  (await station.line(new RegExp(`, ${position}$`))).split(' ')[0] as string;

/** A position that sits at a window of the browser. */
export class Window {
  readonly page: Page;
  readonly errors: string[];

  private constructor(page: Page, errors: string[]) {
    this.page = page;
    this.errors = errors;
  }

  static async open(browser: Browser, station: Running, position: string, size = sizes[1] as (typeof sizes)[number]) {
    const { page, errors } = await openWindow(browser, await link(station, position), size);
    await page.getByRole('button', { name: /^Ready/ }).click();
    return new Window(page, errors);
  }

  /** The one control of that name; `within` narrows where it is looked for. */
  button(name: string | RegExp, within: Page | Locator = this.page): Locator {
    return within.getByRole('button', { name, ...(typeof name === 'string' && { exact: true }) });
  }

  /** Presses it as soon as it may be pressed. */
  async press(name: string | RegExp, within: Page | Locator = this.page): Promise<void> {
    const found = this.button(name, within).and(this.page.locator('[aria-disabled="false"]'));
    await found.first().click();
  }

  part(id: string): Locator {
    return this.page.locator(`gc-ready-page [data-part="${id}"]`);
  }

  async unfold(part: string): Promise<void> {
    await this.part(part).locator('.head').click();
  }

  async cards(point = ''): Promise<void> {
    await this.page.getByRole('button', { name: /^Cards/ }).click();
    if (point !== '') await this.page.locator(`gc-cards-page [data-point="${point}"]`).click();
  }

  private async flightPanel(): Promise<Locator> {
    await this.page.keyboard.press('f');
    return this.page.getByRole('dialog', { name: 'Flight' });
  }

  /** The flight is named for its report, */
  async nameFlight(number: string): Promise<void> {
    const panel = await this.flightPanel();
    await panel.getByLabel('Number').fill(number);
    await panel.getByLabel('Crew').fill('Pilot and flight test engineer of SM-1X');
    await panel.getByRole('button', { name: 'Name flight' }).click();
    await panel.getByRole('button', { name: /^Close panel/ }).click();
    await this.page.locator('gc-head-bar', { hasText: number }).waitFor();
  }

  /** and ended by who may. */
  async closeFlight(): Promise<void> {
    const panel = await this.flightPanel();
    await panel.getByLabel('The flight is over').check();
    await panel.getByRole('button', { name: 'Close flight' }).click();
  }

  /** A picture at both sizes, where pictures are kept. */
  async picture(title: string): Promise<void> {
    if (keptIn === '') return;
    mkdirSync(keptIn, { recursive: true });
    const before = this.page.viewportSize();
    for (const size of sizes) {
      await this.page.setViewportSize(size);
      await this.page.screenshot({ path: join(keptIn, `${title}-${size.width}x${size.height}.png`) });
    }
    if (before) await this.page.setViewportSize(before);
  }
}

/** A position without a window: it acts, and it hears what every display hears. */
export class Seat {
  private readonly display: TestDisplay;
  private requests = 0;
  /** what was told of conduct, put together from so many of the messages heard */
  private readonly reader = new ConductReader();
  private read = 0;
  private told: ConductView | undefined;

  private constructor(display: TestDisplay) {
    this.display = display;
  }

  static async open(station: Running, position: string): Promise<Seat> {
    return new Seat(await TestDisplay.open(await link(station, position)));
  }

  async act(act: ConductAct, more: Partial<ConductAction> = {}): Promise<void> {
    const request = ++this.requests;
    const nothing = { subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 };
    this.display.act(request, { act, ...nothing, ...more });
    const result = await waitUntil(`${act} is answered`, () => this.display.result(request));
    expect([act, result?.reason]).toEqual([act, '']);
  }

  /** The newest that the station has said of the conduct of the test. */
  conduct(): ConductView | undefined {
    const { heard } = this.display;
    for (; this.read < heard.length; this.read++) {
      const told = heard[this.read]?.conduct;
      if (told) this.told = this.reader.read(told);
    }
    return this.told;
  }

  /** Newest values of columns from now on. */
  watch(columns: readonly number[]): void {
    this.display.say({
      subscribe: { columns: [], latestColumns: [...columns], rateHz: 10, historyS: 0, limits: false },
    });
  }

  /** As `watch` asked for them; NaN before the first. */
  values(): number[] {
    return (
      this.display
        .updates()
        .at(-1)
        ?.latest?.map(({ value }) => value ?? Number.NaN) ?? []
    );
  }

  room() {
    return this.display.room();
  }

  close(): void {
    this.display.socket.close();
  }
}
