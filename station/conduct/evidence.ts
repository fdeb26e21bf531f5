/**
 * The evidence hold: one act, and nothing of the recording is removed by this product any more. The recorder writes a hash
 * list beside the recording when it is closed. Nobody lets go of it in the room.
 */
import type { ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { ConductPart, Moment } from './part.ts';

type Held = ConductView['evidence'];

export class Evidence implements ConductPart {
  readonly acts = ['hold evidence'] as const;
  private held: Held = null;

  act(entry: ActionEntry, { text }: ConductAction, { aircraft, ground }: Moment): string {
    const reason = text.trim();
    if (this.held !== null) {
      return `this recording is held already, by ${this.held.person} (${this.held.position}): ${this.held.reason}`;
    }
    if (reason === '') return 'an evidence hold needs the reason why';
    this.held = { reason, person: entry.person, position: entry.position, aircraft, ground };
    return '';
  }

  view(): Held {
    return this.held && { ...this.held };
  }

  save(): Held {
    return this.view();
  }

  restore(state: unknown): void {
    this.held = (state as Held | undefined) ?? null;
  }
}
