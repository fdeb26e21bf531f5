/** The page of what must be true before a flight on the stand-in station, for the tests of it. */
import type { Locator, Page } from 'playwright-core';
import type { ConductAction, ConductView } from '../../protocol/conduct.ts';
import { waitUntil } from '../support/wait-until.ts';
import { halfReadyConduct, readyMission } from './ready-mission.ts';
import type { OpenOptions, Screen } from './screen.ts';

export class ReadyScreen {
  readonly #screen: Screen;

  constructor(screen: Screen) {
    this.#screen = screen;
  }

  get page(): Page {
    return this.#screen.page;
  }

  get pane(): Locator {
    return this.page.locator('gc-ready-page');
  }

  get poll(): Locator {
    return this.page.locator('gc-readiness-poll');
  }

  button(name: string | RegExp): Locator {
    return this.page.getByRole('button', { name });
  }

  /** The mission half way through a morning; on its first page, unless `toPage`. */
  async open(conduct: ConductView = halfReadyConduct(), more: OpenOptions = {}, toPage = true): Promise<void> {
    await this.#screen.open({ mission: readyMission, ...more });
    this.tell(conduct);
    if (!toPage) return;
    await this.page.keyboard.press('r');
    await this.pane.locator('[data-part]').first().waitFor();
  }

  tell(conduct: ConductView): void {
    this.#screen.station.conduct = conduct;
    this.#screen.station.sendConduct();
  }

  part(id: string): Locator {
    return this.pane.locator(`[data-part="${id}"]`);
  }

  /** Opens a part by its head. */
  async unfold(id: string): Promise<Locator> {
    await this.part(id).locator('.head').click();
    return this.part(id);
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

  async text(of: Locator): Promise<string> {
    return ((await of.textContent()) ?? '').replace(/\s+/g, ' ').trim();
  }

  /** Presses what is grey: it says why nothing is done. */
  async pressGreyed(name: string | RegExp): Promise<void> {
    await this.button(name).click({ force: true });
  }
}
