/** The page of cards on the stand-in station, for the tests of it. */
import type { Locator, Page } from 'playwright-core';
import type { ConductAction, ConductView } from '../../protocol/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { cardsMission } from './cards-mission.ts';
import type { OpenOptions, Screen } from './screen.ts';

export class CardsScreen {
  readonly #screen: Screen;

  constructor(screen: Screen) {
    this.#screen = screen;
  }

  get pane(): Locator {
    return this.#screen.page.locator('gc-cards-page');
  }

  get run(): Locator {
    return this.#screen.page.locator('gc-point-run');
  }

  get gate(): Locator {
    return this.#screen.page.locator('gc-step-gate');
  }

  button(name: string | RegExp): Locator {
    return this.pane.getByRole('button', { name });
  }

  /** A greyed control can be pressed all the same: it says why nothing is done. */
  async pressGreyed(name: string, page: Page = this.#screen.page): Promise<void> {
    await page.getByRole('button', { name }).click({ force: true });
  }

  /** Opens the page of cards with this test conduct going on. */
  async open(conduct: ConductView, more: OpenOptions = {}): Promise<void> {
    await this.#screen.open({ mission: cardsMission, ...more });
    this.#screen.station.signals.set('HEADING', () => 270);
    this.tell(conduct);
    await this.#screen.page.keyboard.press('g');
    await this.pane.locator('[data-point]').first().waitFor();
  }

  tell(conduct: ConductView): void {
    this.#screen.station.conduct = conduct;
    this.#screen.station.sendConduct();
  }

  acts(act: ConductAction['act']): ConductAction[] {
    return this.#screen.station.actions.filter((action): action is ConductAction => action.act === act);
  }

  /** The act of that kind, and of that number among them, when it has arrived. */
  acted(act: ConductAction['act'], count = 1): Promise<ConductAction> {
    return waitUntil(`${act} arrives`, () => {
      const all = this.acts(act);
      return all.length >= count ? all[count - 1] : undefined;
    });
  }

  stateOf(id: string): Promise<string | null> {
    return this.pane.locator(`[data-point="${id}"]`).getAttribute('data-state');
  }

  async words(selector: string): Promise<string> {
    const text = await this.#screen.page.locator(selector).first().textContent();
    return (text ?? '').replace(/\s+/g, ' ').trim();
  }
}
