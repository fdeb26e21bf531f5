import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { AlarmEvent } from '../protocol/alarm.ts';
import type { Entry } from '../protocol/entry.ts';
import type { Fold, Outputs } from '../protocol/fold.ts';
import { aircraftTime, groundTime, SECOND } from '../protocol/time.ts';
import { compareAlarms, foldAll, HISTORY, Player, type PlayerClock } from './player.ts';
import { Recording } from './recording/recording.ts';
import { RecordingWriter } from './recording/writer.ts';

let dir: string;
beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'player-'));
});
afterEach(() => rmSync(dir, { recursive: true, force: true }));

const START = 1_795_600_000_000_000;
const STEP = SECOND / 2;

/** Counts entries; each one is a line. Knows how many it began with. */
class Count implements Fold {
  count = 0;
  restored = 0;
  step(entry: Entry): Outputs {
    this.count++;
    return { ...this.flush(), alarms: [event(this.count, entry.ground)] };
  }
  flush(): Outputs {
    const frames = {
      length: 0,
      aircraft: new Float64Array(0),
      ground: new Float64Array(0),
      taken: new Float64Array(0),
    };
    return { batches: [], frames, alarms: [], roomChanged: false, results: [], discontinuity: -1 };
  }
  save(): unknown {
    return this.count;
  }
  restore(state: unknown): void {
    if (typeof state !== 'number') throw new Error('not a count');
    this.count = this.restored = state;
  }
}
const event = (value: number, ground: number): AlarmEvent => ({
  event: 'raised',
  alarm: 'a',
  family: 'aircraft',
  level: 'caution',
  aircraft: aircraftTime(ground),
  ground: groundTime(ground),
  value,
  limitValue: Number.NaN,
  detail: '',
  position: '',
  person: '',
});

/** 601 entries, one each half second, a snapshot every 5 s: 300 s. */
function recorded(badSnapshotFrom = Number.POSITIVE_INFINITY): Recording {
  const file = join(dir, 'a.flight');
  const writer = RecordingWriter.create(file, { station: 'A', origin: 'live', started: START });
  for (let i = 0; i <= 600; i++) {
    writer.append({ kind: 'tick', ground: groundTime(START + i * STEP) });
    if (i % 10 === 0 && i > 0) writer.snapshot(i >= badSnapshotFrom ? 'rubbish' : i + 1);
    if (i % 7 === 0) writer.commit();
  }
  writer.close(START + 600 * STEP);
  return Recording.open(file);
}

/** A clock turned by hand: `turn(ms)` lets time pass and calls what has become due. */
class HandClock implements PlayerClock {
  time = 1000;
  /** each look at the clock costs this much */
  cost = 0;
  #due: { at: number; work: () => void }[] = [];
  now(): number {
    this.time += this.cost;
    return this.time;
  }
  after(delay: number, work: () => void): () => void {
    const item = { at: this.time + delay, work };
    this.#due.push(item);
    return () => {
      this.#due = this.#due.filter((other) => other !== item);
    };
  }
  get waiting(): number {
    return this.#due.length;
  }
  turn(milliseconds: number): void {
    const end = this.time + milliseconds;
    for (;;) {
      const next = this.#due.sort((a, b) => a.at - b.at)[0];
      if (!next || next.at > end) break;
      this.#due.shift();
      this.time = Math.max(this.time, next.at);
      next.work();
    }
    this.time = Math.max(this.time, end);
  }
}

function player(recording = recorded()) {
  const clock = new HandClock();
  const live: number[] = [];
  const history: number[] = [];
  let folds = 0;
  const it = new Player({
    recording,
    makeFold: () => new Count(),
    clock,
    outputs: (outputs, _, past) => {
      for (const { value } of outputs.alarms) (past ? history : live).push(value);
    },
    replaced: () => {
      folds++;
      live.length = history.length = 0;
    },
  });
  return { it, clock, live, history, folds: () => folds, recording };
}

test('plays in real time, and at any speed', () => {
  const { it, clock, live, recording } = player();
  expect(it.length).toBe(300);
  expect(it.position).toBe(0);
  it.play();
  clock.turn(1000);
  expect(live).toEqual([1, 2, 3]);
  expect(it.position).toBeCloseTo(1);
  it.setSpeed(10);
  clock.turn(1000);
  expect(it.position).toBeCloseTo(11);
  expect(live.length).toBe(23);
  it.setSpeed(0.01);
  expect(it.speed).toBe(0.1);
  clock.turn(5000);
  expect(it.position).toBeCloseTo(11.5);
  it.setSpeed(1e9);
  expect(it.speed).toBe(1000);
  recording.close();
});

test('stands still when paused, and goes on where it stood', () => {
  const { it, clock, live, recording } = player();
  it.play();
  clock.turn(2000);
  it.pause();
  clock.turn(60_000);
  expect(it.position).toBeCloseTo(2);
  expect(clock.waiting).toBe(0);
  it.play();
  clock.turn(1000);
  expect(live).toEqual([1, 2, 3, 4, 5, 6, 7]);
  recording.close();
});

test('goes as fast as it can at speed 0, giving the thread back, and stops at the end', () => {
  const { it, clock, live, recording } = player();
  it.setSpeed(0);
  clock.cost = 30;
  it.play();
  clock.turn(1);
  expect(live.length).toBe(64);
  clock.turn(1000);
  expect(it.ended).toBe(true);
  expect(it.playing).toBe(false);
  expect(it.position).toBe(300);
  expect(live.length).toBe(601);
  expect(clock.waiting).toBe(0);
  it.play();
  expect(it.playing).toBe(false);
  recording.close();
});

test('a fold that cannot keep up slows the play and loses nothing', () => {
  const { it, clock, live, recording } = player();
  it.setSpeed(1000);
  clock.cost = 40;
  it.play();
  clock.turn(25);
  expect(it.position).toBeLessThan(40);
  while (!it.ended) clock.turn(100);
  expect(live).toEqual(Array.from({ length: 601 }, (_, i) => i + 1));
  recording.close();
});

test('seeks forward and back from the snapshot before, with a minute of history', () => {
  const { it, clock, live, history, folds, recording } = player();
  it.seek(200.25);
  expect(it.position).toBe(200.25);
  expect(it.fold.count).toBe(401);
  // the history begins at 140.25 s: entry 281, and the snapshot before it is at 140 s
  expect(it.fold.restored).toBe(281);
  expect(history[0]).toBe(282);
  expect(history.at(-1)).toBe(401);
  expect(history.length).toBe(HISTORY * 2);
  it.play();
  clock.turn(1000);
  expect(live).toEqual([402, 403]);
  it.seek(10);
  expect(it.fold.count).toBe(21);
  expect(it.fold.restored).toBe(0);
  expect(it.playing).toBe(true);
  it.seek(-5);
  expect(it.fold.count).toBe(1);
  it.seek(1e9);
  expect(it.fold.count).toBe(601);
  expect(it.playing).toBe(false);
  expect(folds()).toBe(4);
  recording.close();
});

test('passes over a snapshot that cannot be restored', () => {
  const { it, recording } = player(recorded(100));
  it.seek(150);
  expect(it.fold.count).toBe(301);
  expect(it.fold.restored).toBe(91);
  recording.close();
});

test('any way to a place gives the same fold', () => {
  const { it, clock, recording } = player();
  it.setSpeed(100);
  for (const place of [120, 3, 299.9, 77.5]) {
    it.seek(place);
    it.play();
    clock.turn(123);
    it.pause();
    const expected = recording.entryAfter(START + it.position * SECOND);
    expect(it.fold.count).toBe(expected);
  }
  recording.close();
});

test('folds everything at full speed, and compares two alarm lists line by line', () => {
  const recording = recorded();
  const { entries, alarms } = foldAll(recording, new Count());
  expect(entries).toBe(601);
  expect(compareAlarms(alarms, foldAll(recording, new Count()).alarms)).toEqual([]);
  const other = alarms.map((line) => ({ ...line }));
  (other[4] as AlarmEvent).value += 1e-12;
  (other[4] as AlarmEvent).level = 'warning';
  expect(compareAlarms(alarms, other.slice(0, -1))).toMatchObject([
    { line: 5, fields: ['level', 'value'] },
    { line: 601, replayed: undefined },
  ]);
  recording.close();
});
