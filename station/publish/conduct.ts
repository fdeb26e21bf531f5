/**
 * Test conduct as one message: points, step gates, readiness, sequences, checklists. Runs of points that are closed change no
 * more, or hardly, and there are dozens of them after some hours: a display is sent them again only when they changed.
 */
import type { ConductView, PointRun } from '../../protocol/conduct.ts';
import { encodeToDisplay } from '../../protocol/wire.ts';

const utf8 = new TextEncoder();

export class ConductMessages {
  /** which one is the newest; -1 before the first. And the same of the closed runs alone */
  number = -1;
  closedNumber = 0;
  #json = '';
  #closed: readonly PointRun[] = [];
  #closedJson = '[]';
  #short: Uint8Array<ArrayBuffer> | undefined;
  #whole: Uint8Array<ArrayBuffer> | undefined;

  /** Test conduct as it is now; undefined before the first mission. */
  take(view: ConductView | undefined): void {
    const isClosed = this.#splitClosed(view?.points ?? []);
    const json = JSON.stringify(view ? { ...view, points: view.points.slice(this.#closed.length) } : null);
    if (json === this.#json && !isClosed) return;
    this.#json = json;
    this.number++;
    this.#short = this.#whole = undefined;
  }

  /** Whether the closed runs are others than before. One that changed is another object. */
  #splitClosed(points: readonly PointRun[]): boolean {
    const open = points.findIndex(({ gate }) => gate !== 'closed');
    const closed = open < 0 ? points : points.slice(0, open);
    const before = this.#closed;
    if (closed.length === before.length && closed.every((run, i) => run === before[i])) return false;
    this.#closed = [...closed];
    const json = JSON.stringify(closed);
    if (json === this.#closedJson) return false;
    this.#closedJson = json;
    this.closedNumber++;
    return true;
  }

  /** The newest message, for a display that was told closed runs last by message `told` of them. */
  message(told: number): Uint8Array<ArrayBuffer> {
    if (told === this.closedNumber) {
      this.#short ??= this.#encode(new Uint8Array(0));
      return this.#short;
    }
    this.#whole ??= this.#encode(utf8.encode(this.#closedJson));
    return this.#whole;
  }

  #encode(closed: Uint8Array): Uint8Array<ArrayBuffer> {
    return new Uint8Array(
      encodeToDisplay({ conduct: { revision: this.number, json: utf8.encode(this.#json), closed } }),
    );
  }
}
