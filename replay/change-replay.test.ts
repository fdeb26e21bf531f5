import { expect, it } from 'vitest';
import type { AlarmEvent } from '../protocol/alarm.ts';
import type { Action, Entry } from '../protocol/entry.ts';
import type { Fold, Outputs } from '../protocol/fold.ts';
import type { LimitValues } from '../protocol/limit-change.ts';
import type { Mission } from '../protocol/mission.ts';
import { aircraftTime, groundTime, SECOND } from '../protocol/time.ts';
import { levelLimit, mission } from '../test/support/tiny-mission.ts';
import { changeOfLimit, changeReplay } from './change-replay.ts';

/**
 * A fold of a few lines: a frame holds one sample, its first byte; a limit is outside while that is above its caution;
 * asked-for changes of limits are numbered, and in force once they are approved. Puts out in lots of `lot` frames.
 */
class SmallFold implements Fold {
  readonly heard: string[] = [];
  readonly #lot: number;
  #mission: Mission | undefined;
  #values = new Map<string, LimitValues>();
  #changes: { limit: string; values: LimitValues }[] = [];
  #outside = new Set<string>();
  #gathered: { value: number; at: number }[] = [];

  constructor(lot = 1) {
    this.#lot = lot;
  }

  step(entry: Entry): Outputs {
    if (entry.kind === 'configuration') {
      this.#mission = entry.mission;
      this.#values = new Map(
        entry.mission.limits.map(({ id, above = {}, persistence, hysteresis }) => [
          id,
          { above, persistence, hysteresis },
        ]),
      );
      return outputs();
    }
    if (entry.kind === 'frame') this.#gathered.push({ value: entry.bytes[0] as number, at: entry.ground });
    if (entry.kind !== 'action') return this.#gathered.length < this.#lot ? outputs() : this.flush();
    const out = this.flush();
    const accepted = this.#act(entry.action);
    this.heard.push(JSON.stringify(entry.action));
    out.results.push({ person: entry.person, request: entry.request, accepted, reason: accepted ? '' : 'no' });
    return out;
  }

  #act(action: Action): boolean {
    if (action.act === 'change limit') {
      // a limit that has these values already is refused, and gets no number
      const is = this.#values.get(action.limit);
      if (JSON.stringify(is) === JSON.stringify(action.values)) return false;
      this.#changes.push(action);
    }
    if (action.act === 'approve change') {
      const change = this.#changes[action.change - 1];
      if (change === undefined) return false;
      this.#values.set(change.limit, change.values);
    }
    return true;
  }

  flush(): Outputs {
    const out = outputs();
    if (this.#gathered.length === 0) return out;
    const time = Float64Array.from(this.#gathered, ({ at }) => at);
    out.batches.push({ length: time.length, received: 2, time } as Outputs['batches'][number]);
    for (const { value, at } of this.#gathered) this.#check(value, at, out.alarms);
    this.#gathered = [];
    return out;
  }

  #check(value: number, at: number, alarms: AlarmEvent[]): void {
    for (const { id } of this.#mission?.limits ?? []) {
      const limitValue = this.#values.get(id)?.above?.caution ?? Infinity;
      if (value > limitValue === this.#outside.has(id)) continue;
      const event = value > limitValue ? ('raised' as const) : ('cleared' as const);
      if (event === 'raised') this.#outside.add(id);
      else this.#outside.delete(id);
      const times = { aircraft: aircraftTime(at), ground: groundTime(at) };
      const who = { position: '', person: '', detail: '' };
      alarms.push({ event, alarm: id, family: 'aircraft', level: 'caution', ...times, value, limitValue, ...who });
    }
  }

  save(): unknown {
    throw new Error('not asked for');
  }
  restore(): void {
    throw new Error('not asked for');
  }
}

const outputs = (): Outputs => ({
  batches: [],
  frames: { length: 0, aircraft: new Float64Array(0), ground: new Float64Array(0), taken: new Float64Array(0) },
  alarms: [],
  roomChanged: false,
  results: [],
  discontinuity: -1,
});

const caution = (value: number): LimitValues => ({ above: { caution: value }, persistence: 0, hysteresis: 0 });
const two = mission({
  limits: [levelLimit('x', 'A', { above: { caution: 50 } }), levelLimit('y', 'A', { above: { caution: 80 } })],
});
const configuration = (of: Mission): Entry => ({
  kind: 'configuration',
  ground: groundTime(0),
  mission: of,
  files: [],
});
const frame = (seconds: number, value: number): Entry => ({
  kind: 'frame',
  ground: groundTime(seconds * SECOND),
  input: 'test',
  bytes: Uint8Array.of(value),
});
const action = (seconds: number, what: Action): Entry => ({
  kind: 'action',
  ground: groundTime(seconds * SECOND),
  person: 'engineer',
  position: 'engine',
  request: 1,
  action: what,
});
const ask = (seconds: number, limit: string, value: number) =>
  action(seconds, {
    act: 'change limit',
    limit,
    values: caution(value),
    reason: 'why',
    pilotInformed: true,
    offCondition: true,
  });
const approve = (seconds: number, change: number) =>
  action(seconds, { act: 'approve change', change, pilotInformed: true, offCondition: true, note: '' });

/** The values 0, 10, 20 ... 100, 90 ... 0, one a second from second 1. */
const ramp: Entry[] = Array.from({ length: 21 }, (_, i) => frame(i + 1, i <= 10 ? i * 10 : (20 - i) * 10));
const kinds = (replay: ReturnType<typeof changeReplay>) =>
  replay.differences.map(({ alarm, kinds: of, startsBy, lastsBy }) => [alarm, of.join(', '), startsBy, lastsBy]);

it('without a change there is no difference, however the fold gathers', () => {
  for (const lot of [1, 3, 100]) {
    const entries = [configuration(two), ...ramp];
    const replay = changeReplay({ entries, makeFold: () => new SmallFold(lot), change: { mission: (was) => was } });
    expect(replay.differences).toEqual([]);
    expect(replay.after).toEqual(replay.before);
    expect(replay).toMatchObject({ entries: 22, samples: 42, from: 1 * SECOND, to: 21 * SECOND });
  }
});

it('a seeded change of one limit gives exactly the differences it makes, and always the same', () => {
  const replay = () =>
    changeReplay({
      entries: [configuration(two), ...ramp],
      makeFold: () => new SmallFold(4),
      change: changeOfLimit('x', caution(70)),
    });
  expect(kinds(replay())).toEqual([['x', 'later, shorter', 2 * SECOND, -4 * SECOND]]);
  expect(replay()).toEqual(replay());
});

it('looks no further than it is told', () => {
  const short = changeReplay({
    entries: [configuration(two), ...ramp],
    makeFold: () => new SmallFold(),
    change: changeOfLimit('x', caution(70)),
    count: 8,
  });
  // seven samples, to the value 60: x is outside in the flight, and not yet under the change
  expect(short).toMatchObject({ entries: 8, samples: 14, to: 7 * SECOND });
  expect(kinds(short)).toEqual([['x', 'lost', 0, 0]]);
});

it('of no sample says so', () => {
  const none = changeReplay({ entries: [], makeFold: () => new SmallFold(), change: changeOfLimit('x', caution(70)) });
  expect(none).toEqual({ entries: 0, samples: 0, from: 0, to: 0, before: [], after: [], differences: [] });
});

it('another mission stands in the place of every one that was put in force', () => {
  const other: Mission = { ...two, baselineId: 'other', limits: [levelLimit('z', 'A', { above: { caution: 95 } })] };
  const replay = changeReplay({
    entries: [configuration(two), ...ramp],
    makeFold: () => new SmallFold(),
    change: { mission: () => other },
  });
  expect(kinds(replay)).toEqual([
    ['x', 'lost', 0, 0],
    ['y', 'lost', 0, 0],
    ['z', 'new', 0, 0],
  ]);
});

it('of a limit that a mission does not have nothing changes', () => {
  const entries = [configuration(two), ...ramp];
  const makeFold = () => new SmallFold();
  expect(changeReplay({ entries, makeFold, change: changeOfLimit('nothing', caution(1)) }).differences).toEqual([]);
});

it('throws for a mission the fold does not take', () => {
  const entries = [configuration(two), ...ramp];
  const makeFold = () => new SmallFold();
  const change = {
    mission: (): Mission => {
      throw new Error('not this one');
    },
  };
  expect(() => changeReplay({ entries, makeFold, change })).toThrow('not this one');
});

it('changes of other limits are replayed, also when one before them is left out and their numbers move', () => {
  const folds: SmallFold[] = [];
  const replay = changeReplay({
    entries: [
      configuration(two),
      ask(0.1, 'x', 40),
      ask(0.2, 'y', 20),
      approve(0.3, 1),
      approve(0.4, 2),
      // of no change at all: refused in the flight
      approve(0.5, 9),
      ...ramp,
    ],
    makeFold: () => {
      folds.push(new SmallFold());
      return folds.at(-1) as SmallFold;
    },
    change: changeOfLimit('x', caution(70)),
  });
  // y was changed to 20 in both; x to 40 in the flight, and is 70 from the start here
  expect(kinds(replay)).toEqual([['x', 'later, shorter', 3 * SECOND, -6 * SECOND]]);
  const acts = folds.map((fold) => fold.heard.map((text) => JSON.parse(text) as { act: string; change?: number }));
  expect(acts[0]?.map(({ act, change }) => [act, change])).toEqual([
    ['change limit', undefined],
    ['change limit', undefined],
    ['approve change', 1],
    ['approve change', 2],
    ['approve change', 9],
  ]);
  expect(acts[1]?.map(({ act, change }) => [act, change])).toEqual([
    ['change limit', undefined],
    ['approve change', 1],
  ]);
});

it('a change that the flight took and the other mission refuses takes its approval with it', () => {
  const folds: SmallFold[] = [];
  changeReplay({
    entries: [configuration(two), ask(0.1, 'y', 60), approve(0.2, 1), ask(0.3, 'x', 30), approve(0.4, 2), ...ramp],
    makeFold: () => {
      folds.push(new SmallFold());
      return folds.at(-1) as SmallFold;
    },
    // y has 60 from the start: asking for it is refused there
    change: {
      mission: (was) => ({
        ...was,
        limits: was.limits.map((one) => (one.id === 'y' ? { ...one, above: { caution: 60 } } : one)),
      }),
    },
  });
  const approvals = (folds[1] as SmallFold).heard.filter((text) => text.includes('approve'));
  expect(approvals).toHaveLength(1);
  expect(approvals[0]).toContain('"change":1');
});
