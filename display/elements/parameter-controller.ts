/** Joins an element to the parameters it shows, for as long as it is connected. */
import type { Declared } from '../state/declared.ts';
import type { Reading } from '../state/reading.ts';
import type { Standing } from '../state/alarm-order.ts';
import type { WatchElement } from './watch.ts';

export interface Shown {
  declared: Declared;
  reading: Reading;
  standing: Standing | undefined;
}

export class ParameterController {
  readonly #host: WatchElement;

  constructor(host: WatchElement) {
    this.#host = host;
  }

  /** The parameters of these ids as they stand now; ids the mission does not have are left out. */
  show(ids: readonly string[]): Shown[] {
    const { flight, watch } = this.#host;
    const now = watch.clock.now();
    return ids.flatMap((id) => {
      const declared = flight.declared(id);
      if (!declared) return [];
      return [{ declared, reading: flight.reading(declared.column, now), standing: flight.standings.get(id) }];
    });
  }
}
