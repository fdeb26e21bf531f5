/** A station in whose room somebody sits at every position, with an alarm and a limit for each to watch. */
import { createSocket } from 'node:dgram';
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import type { ActionEntry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { encodeEnvelope } from '../../protocol/wire.ts';
import { Recording } from '../../replay/recording/recording.ts';
import type { ActionOutcome } from '../../replay/recording/rows.ts';
import { Station } from '../../station/station.ts';
import { temporaryFolder } from './temporary-folder.ts';
import { cookieOf, TestDisplay } from './test-display.ts';
import { frameBytes, levelLimit, mission } from './tiny-mission.ts';
import { waitUntil } from './wait-until.ts';

export const idOf = (position: string): string => position.replaceAll(' ', '-');

/** Of each position `alarm-ID`, which is raised by a frame, and `limit-ID`, which is not. */
const room = mission({
  people: positions.map((position) => ({ id: idOf(position), name: `At ${position}`, position })),
  words: { class1: ['KNOCK IT OFF'], class2: ['STOP TEST'] },
  limits: positions.flatMap((watcher) => [
    levelLimit(`alarm-${idOf(watcher)}`, 'A', { above: { caution: 10 }, watcher, watchedActively: true }),
    levelLimit(`limit-${idOf(watcher)}`, 'A', { above: { caution: 10_000 }, watcher }),
  ]),
});

export class FullRoom {
  readonly station: Station;
  /** Cookie header of each person */
  readonly cookies = new Map<string, string>();
  readonly #recordings: string;
  readonly #displays: TestDisplay[] = [];

  static async open(more: Partial<Mission> = {}): Promise<FullRoom> {
    const recordings = temporaryFolder();
    const station = await Station.start({
      mode: 'rehearsal',
      mission: { ...room, ...more },
      files: [],
      listen: ['udp://127.0.0.1:0'],
      recordings,
      port: 0,
    });
    const full = new FullRoom(station, recordings);
    for (const { person, address } of station.links) full.cookies.set(person, await cookieOf(address));
    return full;
  }

  private constructor(station: Station, recordings: string) {
    this.station = station;
    this.#recordings = recordings;
  }

  /** A display of the person at this position, on a connection of its own. */
  async sit(position: string): Promise<TestDisplay> {
    const display = new TestDisplay(this.station.address, this.cookies.get(idOf(position)) as string);
    this.#displays.push(display);
    await waitUntil('it is welcome', () => display.heard.some((message) => message.welcome));
    return display;
  }

  /** Sends one frame, and waits until all alarms stand. */
  async raiseAlarms(): Promise<void> {
    const socket = createSocket('udp4');
    const bytes = frameBytes(room, 1, Date.now() * 1000, [{ group: 'main', rows: [{ A: 50 }] }]);
    const port = Number(this.station.inputs[0]?.split(':').at(-1));
    await new Promise<void>((resolve) =>
      socket.send(encodeEnvelope('North', 60_000, bytes), port, '127.0.0.1', () => socket.close(() => resolve())),
    );
    await waitUntil('the alarms stand', () => this.station.fold.room().alarms.length >= positions.length);
  }

  /** Closes the station; every action of a person in its recordings, in order, with what became of it. */
  async recorded(): Promise<{ entry: ActionEntry; outcome: ActionOutcome }[]> {
    // what the station says by itself has nobody behind it
    return (await this.said()).filter(({ entry }) => entry.person !== '');
  }

  /** The same, and what the station said by itself. */
  async said(): Promise<{ entry: ActionEntry; outcome: ActionOutcome }[]> {
    await this.close();
    const files = readdirSync(this.#recordings).filter((name) => name.endsWith('.flight'));
    return files.sort().flatMap((name) => {
      const recording = Recording.open(join(this.#recordings, name));
      const entries = [...recording.entries()].flatMap((entry) => (entry.kind === 'action' ? [entry] : []));
      const outcomes = recording.actions();
      recording.close();
      return entries.map((entry, i) => ({ entry, outcome: outcomes[i] as ActionOutcome }));
    });
  }

  async close(): Promise<void> {
    for (const display of this.#displays) display.socket.terminate();
    await this.station.close();
  }
}

/** The answer to a request, once it is there. */
export async function answer(display: TestDisplay, request: number): Promise<{ accepted: boolean; reason: string }> {
  const result = await waitUntil('it is answered', () => display.result(request) ?? undefined);
  return { accepted: result.accepted ?? false, reason: result.reason ?? '' };
}
