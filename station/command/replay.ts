/** `groundchase replay`: a recording on the same display, or folded at full speed and compared with what was live. */
import { hostname } from 'node:os';
import { basename } from 'node:path';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import { clockText } from '../../protocol/time.ts';
import type { Playback } from '../../protocol/wire.ts';
import { type AlarmDifference, compareAlarms, foldAll, Player } from '../../replay/player.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { Displays } from '../displays.ts';
import { Pipeline } from '../pipeline.ts';
import { ReportThread } from '../report-thread.ts';
import { WhatIf } from '../what-if.ts';
import { type Arguments, type Command, exitCode, jsonOption, print, printJson, say, Trouble } from './command.ts';
import { displayTrouble, portOption, started, untilStopped } from './running.ts';

/** Aircraft time gathered into one batch when nobody looks on. */
const GATHER = 1_000_000;

export const command: Command = {
  name: 'replay',
  summary: 'show a recording on the display, or compare its alarms with those of the flight',
  usage: 'FILE',
  details: `Prints the address of the display, then a sign-in link for each person of the flight. Pause, speed and place are set on
the display. With --alarms nothing is shown: the recording is folded at full speed, and its alarm list compared, line by
line, with the one recorded live; exit code 1 when they differ.`,
  options: [
    portOption,
    { name: 'paused', kind: 'flag', summary: 'stand at the beginning until a display says play' },
    { name: 'alarms', kind: 'flag', summary: 'compare the alarm lists instead of showing the flight' },
    jsonOption,
  ],
  async run(args) {
    const recording = openRecording(args.operand);
    try {
      return args.flag('alarms') ? compare(recording, args) : await show(recording, args);
    } catch (error) {
      throw error instanceof RecordingError ? new Trouble(error.message) : error;
    } finally {
      recording.close();
    }
  },
};

function openRecording(file: string): Recording {
  try {
    return Recording.open(file);
  } catch (error) {
    throw error instanceof RecordingError ? new Trouble(error.message) : error;
  }
}

function compare(recording: Recording, args: Arguments): number {
  const live = recording.alarms();
  const losses = recording.losses().reduce((sum, loss) => sum + loss.entries, 0);
  const began = performance.now();
  const { entries, alarms } = foldAll(recording, new Pipeline({ gather: GATHER }));
  const seconds = (performance.now() - began) / 1000;
  const differences = compareAlarms(live, alarms);
  if (args.flag('json')) {
    printJson({
      file: recording.file,
      live: live.length,
      replayed: alarms.length,
      differences,
      losses,
      entries,
      seconds,
    });
  } else {
    print(`${live.length} lines in the alarm list of the flight, ${alarms.length} in the replay`);
    for (const difference of differences) print(differenceText(difference));
    print(differences.length === 0 ? 'no difference' : `${differences.length} lines differ`);
  }
  if (losses > 0) say(`${losses} entries of the flight could not be kept: the replay has not seen what the room saw`);
  say(`${entries} entries folded in ${seconds.toFixed(1)} s`);
  return differences.length === 0 ? exitCode.success : exitCode.finding;
}

function differenceText({ line, live, replayed, fields }: AlarmDifference): string {
  const text = (event: AlarmEvent | undefined): string =>
    event === undefined
      ? 'nothing'
      : `${clockText(event.aircraft)} ${event.alarm} ${event.event} ${event.level} ${event.value}`.replace(/ +/g, ' ');
  return `line ${line}: live ${text(live)}; replayed ${text(replayed)} (${fields.join(', ')})`;
}

async function show(recording: Recording, args: Arguments): Promise<number> {
  const stopped = untilStopped();
  const room = await started(ReplayRoom.open(recording, args.number('port')));
  if (args.flag('json'))
    printJson({ address: room.displays.address, links: room.displays.links, file: recording.file });
  else {
    print(room.displays.address);
    for (const { address, name, position } of room.displays.links) print(`${address}  ${name}, ${position}`);
  }
  const trouble = displayTrouble();
  if (trouble !== '') say(trouble);
  if (!args.flag('paused')) room.player.play();
  await stopped;
  await room.close();
  return exitCode.success;
}

/** A recording, the player that folds it, and the displays that look on. */
export class ReplayRoom {
  readonly player: Player<Pipeline>;
  readonly displays: Displays;
  #seek: { to: number; turn: NodeJS.Immediate } | undefined;

  static async open(recording: Recording, port: number, display?: string): Promise<ReplayRoom> {
    const late: { displays?: Displays; room?: ReplayRoom } = {};
    const player = new Player<Pipeline>({
      recording,
      // Small batches: what is shown is what was shown.
      makeFold: () => new Pipeline({ gather: 0 }),
      clock: {
        now: () => performance.now(),
        after: (delay, work) => {
          const timer = setTimeout(() => {
            work();
            late.displays?.pulse();
          }, delay);
          return () => clearTimeout(timer);
        },
      },
      outputs: (outputs) => late.displays?.take(outputs),
      replaced: () => late.displays?.moved(),
      changed: () => late.displays?.roomChanged(),
    });
    // The first entries put the mission in force: its people get their links.
    player.seek(0);
    const people = player.fold.mission;
    if (people === undefined) throw new RecordingError(`${recording.file}: holds no mission; nothing can be replayed`);
    late.displays = await Displays.open({
      mode: 'replay',
      host: '127.0.0.1',
      port,
      ...(display === undefined ? {} : { display }),
      station: hostname(),
      fold: () => player.fold,
      mission: () => player.fold.mission,
      groundUs: () => player.fold.ground,
      recording: () => ({ state: 'none', file: basename(recording.file) }),
      playback: () => {
        const { playing, speed, position, length } = player;
        return { playing, speed, positionS: position, lengthS: length };
      },
      dropped: () => 0,
      whatIf: new WhatIf({
        mission: () => player.fold.mission,
        file: () => recording.file,
        until: () => player.fold.ground,
      }),
      reports: new ReportThread({ file: () => recording.file, growing: false }),
      act: (_attempt, answer) => answer(false, 'this is a replay: what was done stays done'),
      play: (command) => late.room?.command(command),
    });
    late.room = new ReplayRoom(player, late.displays);
    return late.room;
  }

  private constructor(player: Player<Pipeline>, displays: Displays) {
    this.player = player;
    this.displays = displays;
  }

  command({ playing, speed, seekS }: Playback): void {
    if (typeof seekS === 'number') this.#seekSoon(seekS);
    else if (typeof speed === 'number') this.player.setSpeed(speed);
    else if (playing === true) this.player.play();
    else this.player.pause();
  }

  /** A dragged slider asks for many places; only the last one asked for in a turn is worth the work. */
  #seekSoon(to: number): void {
    if (this.#seek !== undefined) {
      this.#seek.to = to;
      return;
    }
    const turn = setImmediate(() => {
      const wanted = this.#seek?.to ?? to;
      this.#seek = undefined;
      this.player.seek(wanted);
      this.displays.pulse();
    });
    this.#seek = { to, turn };
  }

  async close(): Promise<void> {
    clearImmediate(this.#seek?.turn);
    this.player.close();
    await this.displays.close();
  }
}
