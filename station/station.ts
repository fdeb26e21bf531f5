/**
 * Joins receive, record, the pipeline and the displays. An entry is kept first, then folded, then shown. Opens in that
 * order and closes in reverse.
 */
import { hostname } from 'node:os';
import { basename } from 'node:path';
import type { ActionEntry, ConfigurationEntry, Entry } from '../protocol/entry.ts';
import type { Outputs, RoomFold } from '../protocol/fold.ts';
import type { Mission } from '../protocol/mission.ts';
import { type GroundTime, groundTime, type Microseconds, SECOND } from '../protocol/time.ts';
import type { WireRecording } from '../protocol/wire.ts';
import { Recording } from '../replay/recording/recording.ts';
import type { AccountBook } from './access/account-book.ts';
import { type Answer, Displays } from './displays.ts';
import { Pipeline } from './pipeline.ts';
import { anchoredClock, goOnFrom } from './receive/clock.ts';
import { Receive } from './receive/receive.ts';
import type { ReadBack } from './record/read-back.ts';
import { openRecorder, type Recorder } from './record/record.ts';
import { type Recovered, recoverRecording } from './record/recover.ts';
import { ReportThread } from './report-thread.ts';
import { StartError } from './start-error.ts';
import { WhatIf } from './what-if.ts';

export interface StationOptions {
  mode: 'live' | 'rehearsal';
  mission: Mission;
  /** the mission's files as written, for the record */
  files: { name: string; text: string }[];
  /** addresses telemetry comes in by, such as udp://127.0.0.1:47010 */
  listen: readonly string[];
  /** folder of the recordings */
  recordings: string;
  host?: string;
  port: number;
  /** folder of the built display */
  display?: string;
  name?: string;
  /** who may sign in by password; live only. Without, or without any in it, there is a viewing link. */
  accounts?: AccountBook;
  now?: () => GroundTime;
  /** the clock that people set, microseconds since the Unix epoch; ground time is compared with it */
  systemClock?: () => number;
  makeFold?: () => RoomFold;
}

/** Milliseconds between looks at the system clock, and the change of its distance from ground time that is told. */
const CLOCK_EVERY = 1000;
const CLOCK_TELLS: Microseconds = 100_000;

/** Ground time between snapshots of the fold: what a recovery or a seek folds again at most. */
const SNAPSHOT = 5 * SECOND;
/** Entries of a recording after which what was written is read back for the first time: some of every kind that comes. */
const READ_BACK_AFTER = 16;
/** An unclosed recording that ended longer ago is another flight's, and is left as it is. */
const RESUME_WITHIN = 3600 * SECOND;

export class Station {
  readonly #options: StationOptions;
  /** ground time; goes on from the recording when a flight is gone on with */
  #clock: () => GroundTime;
  readonly #now = (): GroundTime => this.#clock();
  readonly #makeFold: () => RoomFold;
  readonly #receive: Receive;
  readonly #answers = new Map<Entry, Answer>();
  /** recordings of flights that were closed and are being sealed */
  readonly #sealing = new Set<Promise<void>>();
  #fold: RoomFold;
  #recorder: Recorder | undefined;
  #displays: Displays | undefined;
  #snapshotAt = groundTime(0);
  #closed: Promise<void> | undefined;
  #clockTimer: NodeJS.Timeout | undefined;
  /** system clock minus ground time, as last told */
  #clockTold: Microseconds = 0;
  /** entries until what was written is read back; 0 = it was, for this recording */
  #readBackIn = READ_BACK_AFTER;
  /** reports of the recorder made so far, by which they are told apart */
  #reports = 0;
  /** why there is no recorder at all */
  #trouble = '';
  /** what the room was last told of the recorder at once */
  #told = '';
  /** what the flight log was last told of it by itself: '' = no trouble */
  #logged = '';
  /** things a person should know, found while starting */
  readonly notices: string[] = [];

  static async start(options: StationOptions): Promise<Station> {
    const station = new Station(options);
    try {
      await station.#open();
    } catch (error) {
      await station.close();
      throw error;
    }
    return station;
  }

  private constructor(options: StationOptions) {
    this.#options = options;
    this.#clock = options.now ?? anchoredClock();
    this.#makeFold = options.makeFold ?? (() => new Pipeline({ gather: 0 }));
    this.#fold = this.#makeFold();
    this.#receive = new Receive({
      now: this.#now,
      sink: (entry) => this.#take(entry),
      drained: () => this.#displays?.pulse(),
    });
  }

  /** Where displays go. */
  get address(): string {
    return this.#displays?.address ?? '';
  }

  get links(): Displays['links'] {
    return this.#displays?.links ?? [];
  }

  /** Addresses telemetry comes in by, as they really are. */
  get inputs(): readonly string[] {
    return this.#receive.inputs.map((input) => input.address);
  }

  get recordingFile(): string {
    return this.#recorder?.state().file ?? '';
  }

  get fold(): RoomFold {
    return this.#fold;
  }

  /**
   * Whatever can be refused comes before the recording, so that a port in use leaves no empty file. The inputs are open
   * by then; what they bring waits until it can be kept.
   */
  async #open(): Promise<void> {
    const { mode, host, port, display, name, mission, listen } = this.#options;
    this.#displays = await Displays.open({
      mode,
      host: host ?? '127.0.0.1',
      port,
      ...(display === undefined ? {} : { display }),
      station: name ?? hostname(),
      fold: () => this.#fold,
      mission: () => mission,
      groundUs: this.#now,
      recording: () => this.#recording(),
      dropped: () => this.#receive.dropped,
      ...(this.#options.accounts && { accounts: this.#options.accounts }),
      whatIf: new WhatIf({ mission: () => this.#fold.mission, file: () => this.#readableFile() }),
      reports: new ReportThread({ file: () => this.#readableFile(), growing: true }),
      act: (attempt, answer) => this.#answers.set(this.#receive.act(attempt), answer),
    });
    for (const address of listen) {
      const input = await this.#receive.listen(address);
      this.notices.push(...input.notices);
    }
    const recovered = this.#recover();
    this.#recorder = this.#openRecorder(recovered);
    await this.#recorder.ready.catch((error: Error) => {
      throw new StartError(`The recording cannot be opened: ${error.message}`);
    });
    if (recovered !== undefined) this.#receive.resumeAfter(recovered.ground);
    if (this.#fold.mission?.baselineId !== mission.baselineId) this.#take(this.#configuration());
    this.#receive.start();
    this.#compareClocks(recovered !== undefined);
    this.#clockTimer = setInterval(() => this.#compareClocks(false), CLOCK_EVERY);
  }

  /** Ground time does not follow the system clock. That somebody set it, or that the machine slept, is an entry. */
  #compareClocks(always: boolean): void {
    const { now, systemClock } = this.#options;
    const system = systemClock ?? (now ? this.#now : () => Date.now() * 1000);
    const difference = Math.round(system() - this.#now());
    if (!always && Math.abs(difference - this.#clockTold) < CLOCK_TELLS) return;
    this.#clockTold = difference;
    this.#receive.clock(difference);
  }

  /** A flight that a crash cut off goes on. A rehearsal begins anew: its aircraft does too. */
  #recover(): Recovered<RoomFold> | undefined {
    if (this.#options.mode !== 'live') return undefined;
    try {
      const recovered = recoverRecording(this.#options.recordings, this.#makeFold, (outputs, fold) => {
        this.#fold = fold;
        this.#displays?.take(outputs);
      });
      if (recovered === undefined) return undefined;
      const other = this.#otherFlight(recovered);
      if (other === '') {
        this.#fold = recovered.fold;
        this.#goOn(recovered.ground);
        this.notices.push(
          `${recovered.file} was not closed: the flight goes on in it after ${recovered.entries} entries.`,
        );
        return recovered;
      }
      this.notices.push(`${recovered.file} was never closed, but ${other}: a new recording is begun.`);
    } catch (error) {
      // Whatever it is, a flight that cannot be picked up must not keep the next frames from being recorded.
      this.notices.push(`An unfinished recording cannot be continued; a new one is begun. ${(error as Error).message}`);
    }
    this.#fold = this.#makeFold();
    this.#displays?.moved();
    return undefined;
  }

  #goOn(ground: GroundTime): void {
    const { clock, behind } = goOnFrom(this.#clock, ground);
    if (behind === 0) return;
    this.#clock = clock;
    this.notices.push(
      `The clock of this machine is ${(behind / SECOND).toFixed(1)} s behind the recording: ground time goes on from the recording. Set the clock before the next flight.`,
    );
  }

  /** Why an unclosed recording is not this flight's; '' when it is. */
  #otherFlight({ file, fold, ground }: Recovered<RoomFold>): string {
    const recording = Recording.open(file);
    const origin = recording.about['origin'];
    recording.close();
    if (origin !== 'live') return `it is of a ${origin}`;
    if (fold.mission?.stream !== this.#options.mission.stream) return 'it is of another stream';
    if (fold.room().flight.closed) return 'its flight was';
    const ago = this.#now() - ground;
    if (ago < -RESUME_WITHIN) return 'by the clock of this machine it ends more than an hour from now';
    return ago > RESUME_WITHIN ? 'it ended more than an hour ago' : '';
  }

  #openRecorder(resume?: Recovered<RoomFold>): Recorder {
    const { mode, mission, recordings } = this.#options;
    try {
      return openRecorder({
        dir: recordings,
        name: mission.stream,
        station: this.#options.name ?? hostname(),
        origin: mode,
        started: this.#now(),
        changed: () => this.#recorderChanged(),
        ...(resume === undefined ? {} : { resume }),
      });
    } catch (error) {
      throw new StartError(`Recordings cannot be kept in ${recordings}: ${(error as Error).message}`);
    }
  }

  #configuration(): ConfigurationEntry {
    const { mission, files } = this.#options;
    return { kind: 'configuration', ground: this.#receive.stamp(), mission, files };
  }

  /** One entry: kept, folded, shown. */
  #take(entry: Entry): void {
    this.#recorder?.append(entry);
    const outputs = this.#fold.step(entry);
    this.#show(outputs);
    if (entry.kind === 'action') this.#settle(entry, outputs);
    if (this.#readBackIn > 0 && --this.#readBackIn === 0) this.#proveRecorder();
    if (entry.ground - this.#snapshotAt >= SNAPSHOT) {
      this.#snapshotAt = entry.ground;
      this.#show(this.#fold.flush());
      this.#recorder?.snapshot(this.#fold.save());
    }
  }

  #show(outputs: Outputs): void {
    this.#recorder?.outputs(outputs);
    this.#displays?.take(outputs);
  }

  /** Answers the display an action came from. A closed flight ends its recording, and the next one begins. */
  #settle(entry: ActionEntry, outputs: Outputs): void {
    const result = outputs.results.at(-1);
    const accepted = result?.accepted ?? false;
    this.#answers.get(entry)?.(accepted, result?.reason ?? 'the action brought no result');
    this.#answers.delete(entry);
    // what is held must be on disk as held, whatever happens next
    if (accepted && entry.action.act === 'hold evidence') void this.#recorder?.flush();
    if (accepted && entry.action.act === 'close flight') this.#nextFlight(entry.ground);
    if (accepted && entry.action.act === 'begin check' && entry.action.choice === 'zero') this.#proveRecorder();
  }

  /** Writes, reads back and compares; what was found goes into the flight log, where the morning check finds it. */
  #proveRecorder(): void {
    const recorder = this.#recorder;
    const nothing: ReadBack = { state: 'trouble', text: this.#trouble || 'there is no recording' };
    void (recorder?.readBack() ?? Promise.resolve(nothing)).then((found) => this.#reportRecorder(recorder, found));
  }

  #reportRecorder(recorder: Recorder | undefined, { state, text }: ReadBack): void {
    // of a recording that has ended meanwhile nothing is told in the next one
    if (this.#closed !== undefined || recorder !== this.#recorder) return;
    const action = {
      ...{ act: 'report recorder' as const, subject: basename(recorder?.state().file ?? ''), number: 0 },
      ...{ choice: state, text, value: 0, aircraft: 0 },
    };
    this.#receive.act({ person: '', position: '', request: ++this.#reports, action });
  }

  /**
   * Trouble that comes after the recorder was verified is told in the log when it comes, and looked at anew when it goes.
   * Not at once: it may come while an entry is being kept, and that one is to be folded first.
   */
  #logRecorder(): void {
    const recorder = this.#recorder;
    if (recorder === undefined) return;
    const { state, trouble } = recorder.state();
    const logged = trouble === '' ? '' : state;
    if (logged === this.#logged) return;
    this.#logged = logged;
    // still recording, with something lost: the reading back says that too
    if (trouble === '' || state === 'recording') this.#proveRecorder();
    else queueMicrotask(() => this.#reportRecorder(recorder, { state: 'trouble', text: trouble }));
  }

  #nextFlight(ended: GroundTime): void {
    this.#readBackIn = READ_BACK_AFTER;
    this.#logged = '';
    const sealing = this.#recorder?.close(ended);
    if (sealing !== undefined) this.#sealing.add(sealing);
    try {
      this.#recorder = this.#openRecorder();
      this.#trouble = '';
    } catch (error) {
      // The room goes on without a recording, and sees that it does.
      this.#recorder = undefined;
      this.#trouble = (error as Error).message;
    }
    this.#fold = this.#makeFold();
    this.#snapshotAt = groundTime(0);
    this.#take(this.#configuration());
    // a new fold knows nothing of a clock that was set before
    this.#compareClocks(this.#clockTold !== 0);
    this.#displays?.moved();
  }

  /** Trouble that comes or goes is shown at once; bytes and hours wait for the next room message. */
  #recorderChanged(): void {
    const { state, trouble } = this.#recording();
    const tell = `${state} ${trouble}`;
    if (tell !== this.#told) this.#displays?.roomChanged();
    this.#told = tell;
    // before the first entries there is nothing to tell, nor anywhere to tell it
    if (this.#fold.mission !== undefined) this.#logRecorder();
  }

  #recording(): WireRecording {
    if (this.#recorder === undefined) return { state: this.#trouble ? 'trouble' : 'waiting', trouble: this.#trouble };
    const { state, file, bytes, hoursLeft, trouble } = this.#recorder.state();
    return { state, file: basename(file), bytes, hoursLeft, trouble };
  }

  /** The recording once it is on disk; '' before. */
  #readableFile(): string {
    const { state, file } = this.#recorder?.state() ?? { state: 'waiting', file: '' };
    return state === 'waiting' ? '' : file;
  }

  /** Closes inputs, displays and recording, in this order; what still waited is kept. */
  close(): Promise<void> {
    this.#closed ??= this.#close();
    return this.#closed;
  }

  async #close(): Promise<void> {
    clearInterval(this.#clockTimer);
    await this.#receive.close();
    await this.#displays?.close();
    await this.#recorder?.close(this.#receive.stamp());
    await Promise.all(this.#sealing);
  }
}
