/**
 * Change-replay: the entries of one recording through two folds, once as they are and once under another mission, and the
 * difference list of the two alarm lists. One pass over the recording, from its first entry: no snapshot was made under the
 * other mission. The fold comes in as an argument. The same recording and the same change always give the same list.
 */
import type { AlarmEvent } from '../protocol/alarm.ts';
import type { AlarmChange } from '../protocol/difference.ts';
import type { ActionEntry, Entry } from '../protocol/entry.ts';
import type { Fold, Outputs } from '../protocol/fold.ts';
import { type LimitValues, withValues } from '../protocol/limit-change.ts';
import type { Mission } from '../protocol/mission.ts';
import { type AircraftTime, aircraftTime } from '../protocol/time.ts';
import { differenceList } from './difference.ts';

export interface MissionChange {
  /**
   * The mission in place of one that a configuration entry puts in force. It needs a baseline id of its own wherever it
   * differs: a fold takes two missions of one id for the same.
   */
  mission: (was: Mission) => Mission;
  /** limits whose changes in flight are left out: they have their values from this change */
  limits?: readonly string[];
}

export interface ChangeReplayOptions {
  /** entries in order: of a recording, say */
  entries: Iterable<Entry>;
  makeFold: () => Fold;
  change: MissionChange;
  /** entries to look at; default all */
  count?: number;
}

export interface ChangeReplay {
  /** entries, and received samples, looked at */
  entries: number;
  samples: number;
  /** aircraft time of the first and the newest sample; both 0 when there was none */
  from: AircraftTime;
  to: AircraftTime;
  /** the two alarm lists */
  before: AlarmEvent[];
  after: AlarmEvent[];
  differences: AlarmChange[];
}

/** One limit with other values, wherever the mission in force has it; another mission stays as it is. */
export const changeOfLimit = (limit: string, values: LimitValues): MissionChange => ({
  limits: [limit],
  mission: (was) => {
    if (!was.limits.some(({ id }) => id === limit)) return was;
    return {
      ...was,
      baselineId: `${was.baselineId} with ${limit} changed`,
      limits: was.limits.map((one) => (one.id === limit ? withValues(one, values) : one)),
    };
  },
});

/** Throws what the fold throws under a mission that cannot be put in force. */
export function changeReplay({ entries, makeFold, change, count = Infinity }: ChangeReplayOptions): ChangeReplay {
  const first = makeFold();
  const second = makeFold();
  const slips = new SlipNumbers(change.limits ?? []);
  const before: AlarmEvent[] = [];
  const after: AlarmEvent[] = [];
  const seen = { entries: 0, samples: 0, from: Infinity, to: 0 };

  for (const entry of entries) {
    if (seen.entries >= count) break;
    seen.entries++;
    const outputs = first.step(entry);
    keep(before, outputs);
    lookAt(seen, outputs);
    const accepted = wasAccepted(entry, outputs);
    const replayed = entry.kind === 'configuration' ? { ...entry, mission: change.mission(entry.mission) } : entry;
    const own = replayed.kind === 'action' ? slips.translated(replayed) : replayed;
    if (own === undefined) {
      slips.note(entry, accepted, false);
      continue;
    }
    const changed = second.step(own);
    keep(after, changed);
    slips.note(entry, accepted, wasAccepted(own, changed));
  }
  const rest = first.flush();
  keep(before, rest);
  lookAt(seen, rest);
  keep(after, second.flush());

  const to = aircraftTime(seen.to);
  const from = aircraftTime(seen.samples === 0 ? 0 : seen.from);
  const differences = differenceList(before, after, to);
  return { entries: seen.entries, samples: seen.samples, from, to, before, after, differences };
}

/** Lines belong to the fold until its next step: copied. */
function keep(list: AlarmEvent[], { alarms }: Outputs): void {
  for (const event of alarms) list.push({ ...event });
}

function lookAt(seen: { samples: number; from: number; to: number }, { batches }: Outputs): void {
  for (const { length, received, time } of batches) {
    if (length === 0) continue;
    seen.samples += length * received;
    seen.from = Math.min(seen.from, time[0] as number);
    seen.to = Math.max(seen.to, time[length - 1] as number);
  }
}

const wasAccepted = (entry: Entry, { results }: Outputs): boolean =>
  entry.kind === 'action' && results.at(-1)?.accepted === true;

/**
 * Changes of limits are named by their number in the flight. Where one is left out, or is refused now, the numbers after
 * it differ: what is said of a change is said of the same change here, and nothing of one that is not there.
 */
class SlipNumbers {
  readonly #leftOut: ReadonlySet<string>;
  /** numbers there and here, of the changes that both have */
  readonly #here = new Map<number, number>();
  #there = 0;
  #last = 0;

  constructor(leftOut: readonly string[]) {
    this.#leftOut = new Set(leftOut);
  }

  /** The entry as it is to be replayed; undefined = left out. */
  translated(entry: ActionEntry): ActionEntry | undefined {
    const { action } = entry;
    if (action.act === 'change limit') return this.#leftOut.has(action.limit) ? undefined : entry;
    if (action.act !== 'approve change' && action.act !== 'decline change') return entry;
    const change = this.#here.get(action.change);
    return change === undefined ? undefined : { ...entry, action: { ...action, change } };
  }

  /** To be told of every entry, once it was folded in both. */
  note(entry: Entry, acceptedThere: boolean, acceptedHere: boolean): void {
    if (entry.kind !== 'action' || entry.action.act !== 'change limit') return;
    if (acceptedThere) this.#there++;
    if (acceptedHere) this.#last++;
    if (acceptedThere && acceptedHere) this.#here.set(this.#there, this.#last);
  }
}
