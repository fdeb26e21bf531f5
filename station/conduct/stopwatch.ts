/** Stopwatches of the room: they count aircraft time between the instants at which somebody pressed, as the display had them. */
import type { ConductAction, StopwatchView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { clockText } from '../../protocol/time.ts';
import { AHEAD, saidAt } from './mark.ts';
import type { ConductPart, Moment } from './part.ts';

/** More of them than anybody looks at: a cap for what a display may send. */
const MOST = 24;
const LONGEST_NAME = 40;

/** What it counted until it was stopped last, and the newest press. */
type Watch = StopwatchView & { pressed: number };

export class Stopwatches implements ConductPart {
  readonly acts = ['press stopwatch'] as const;
  /** in the order they were first started */
  private list: Watch[] = [];

  act(_: ActionEntry, { subject, choice, aircraft: wanted }: ConductAction, moment: Moment): string {
    const at = saidAt(wanted, moment.aircraft);
    if (typeof at === 'string') return at;
    const name = subject.trim();
    if (name === '' || name.length > LONGEST_NAME)
      return `a stopwatch has a name of at most ${LONGEST_NAME} characters`;
    const watch = this.list.find((one) => one.name === name);
    // pressed at a later time than any sample of now: aircraft time stepped back since, and it can only begin anew
    const isOfBefore = watch !== undefined && watch.pressed > moment.aircraft + AHEAD;
    if (watch && isOfBefore && choice !== 'reset')
      return `aircraft time stepped back since ${name} was pressed: it is reset first`;
    if (watch && at < watch.pressed && !isOfBefore)
      return `${name} was pressed later than that, at ${clockText(watch.pressed)}`;
    switch (choice) {
      case 'start':
        return this.start(watch, name, at);
      case 'stop':
        if (!watch?.running) return `${name} does not run`;
        watch.counted += at - watch.from;
        watch.running = false;
        break;
      case 'reset':
        if (!watch) return `there is no stopwatch ${name}`;
        // one that runs goes on from nothing
        watch.counted = 0;
        watch.from = at;
        break;
      default:
        return `a stopwatch is pressed to start, stop or reset, not to ${choice || 'nothing'}`;
    }
    watch.pressed = at;
    return '';
  }

  private start(watch: Watch | undefined, name: string, at: number): string {
    if (watch?.running) return `${name} runs already`;
    if (watch) Object.assign(watch, { running: true, from: at, pressed: at });
    else if (this.list.length >= MOST) return `there are ${MOST} stopwatches, and no more`;
    else this.list.push({ name, running: true, from: at, counted: 0, pressed: at });
    return '';
  }

  /** A running one has counted `counted` and the aircraft time since `from`. */
  view(): StopwatchView[] {
    return this.list.map(({ name, running, from, counted }) => ({ name, running, from, counted }));
  }

  save(): unknown {
    return this.list;
  }

  restore(state: unknown): void {
    const saved = state ?? [];
    if (!Array.isArray(saved)) throw new Error('saved stopwatches are no list');
    this.list = structuredClone(saved) as Watch[];
  }
}
