/** Anomalies: what was seen and not understood. While one is open no step is cleared; it closes when it was run to ground. */
import type { Anomaly, ConductAct, ConductAction, Done } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import type { ConductPart, Moment } from './part.ts';

export class Anomalies implements ConductPart {
  readonly acts: readonly ConductAct[] = ['open anomaly', 'close anomaly'];
  /** In order of opening; those that earlier flights left open come first. */
  list: Anomaly[];
  private readonly left: readonly string[];
  private readonly points: ReadonlySet<string>;

  constructor({ anomalies = [], cards = [] }: Mission) {
    this.left = anomalies.map(({ text, source }) => `${text} (${source})`);
    this.points = new Set(cards.flatMap(({ points }) => points.map(({ id }) => id)));
    this.list = this.left.map((text, i) => ({ number: i + 1, text, point: '', opened: before }));
  }

  act(entry: ActionEntry, { act, subject, number, text }: ConductAction, moment: Moment): string {
    const done = { person: entry.person, position: entry.position, aircraft: moment.aircraft, ground: moment.ground };
    return act === 'open anomaly' ? this.opens(text.trim(), subject, done) : this.closes(number, text.trim(), done);
  }

  private opens(text: string, point: string, opened: Done): string {
    if (text === '') return 'an anomaly is opened with what was seen';
    if (point !== '' && !this.points.has(point)) return `${point} is no point of the cards`;
    this.list.push({ number: this.list.length + 1, text, point, opened });
    return '';
  }

  private closes(number: number, text: string, done: Done): string {
    const anomaly = this.list[number - 1];
    if (anomaly === undefined) return `there is no anomaly ${number}`;
    if (anomaly.closed) return `anomaly ${number} is closed already`;
    if (text === '') return 'an anomaly is closed with how it was run to ground';
    this.list[number - 1] = { ...anomaly, closed: { text, ...done } };
    return '';
  }

  save(): unknown {
    return structuredClone(this.list);
  }

  /** Those that this mission brings, and the saved ones do not have, join them: a mission changed on the day may bring more. */
  restore(state: unknown): void {
    this.list = structuredClone((state ?? []) as Anomaly[]);
    for (const text of this.left)
      if (!this.list.some((one) => one.opened.person === '' && one.text === text))
        this.list.push({ number: this.list.length + 1, text, point: '', opened: before });
  }
}

/** Of those that were open before the flight. */
const before: Done = { person: '', position: '', aircraft: 0, ground: groundTime(0) };
