/** Acts of test conduct from one place of the page: what the station refuses is said in that place too. */
import type { ActionName } from '../../protocol/role.ts';
import { roleRefusal } from '../../protocol/role.ts';
import type { ConductAct, ConductAction } from '../../protocol/conduct.ts';
import { conductAction } from '../state/conduct.ts';
import type { WatchElement } from './watch.ts';

/** Why this person may not do it here, as far as the position goes; '' when they may. */
export function mayRefusal(host: WatchElement, action: ActionName): string {
  if (host.may(action)) return '';
  const { session } = host.flight;
  if (session.mode === 'replay') return 'this is a replay: nothing is added to it';
  return roleRefusal(session.position, action, {}) || 'the station has not said yet who may do what';
}

export class ActHere {
  readonly #host: WatchElement;
  /** why the newest of them was not done; '' when it was, or nothing was asked */
  said = '';

  constructor(host: WatchElement) {
    this.#host = host;
  }

  /** `done` is called when the station has taken it. */
  act(act: ConductAct, more: Partial<Omit<ConductAction, 'act'>>, done?: () => void): void {
    this.forget();
    this.#host.act(conductAction(act, more), ({ accepted, reason }) => {
      this.said = accepted ? '' : reason;
      if (accepted) done?.();
      this.#host.requestUpdate();
      return this.#host.isConnected;
    });
  }

  forget(): void {
    this.said = '';
    this.#host.requestUpdate();
  }
}
