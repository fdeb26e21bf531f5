/** Stop criteria of the point that is flown: met from warning on, or blind too long; the call keeps the point and the gate. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Card } from '../../protocol/card.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { slowPrompts } from '../reference/slow-prompts.ts';
import { frameBytes, frameEntry, levelLimit, mission, parameter } from '../support/tiny-mission.ts';

const TICK = 20_000;
const START = 1_790_000_000 * SECOND;
/** Outside what the sensor can show. */
const UNUSABLE = 1000;

const point: Card['points'][number] = {
  ...{ id: 'hover', title: 'Hover', card: 'c', configuration: [], tolerance: [], data: [], dwell: SECOND },
  ...{ hold: 10 * SECOND, mayBeOutside: 0, manoeuvre: '', recordFrom: 'on condition', recover: '' },
  ...{ stops: ['a-high', 'b-high'], required: [], dropout: 0, repeatRule: '', predicted: [] },
};

const day = mission({
  cards: [{ id: 'c', title: 'C', points: [point] }],
  parameters: ['A', 'B', 'D'].map((id) => parameter(id, 'main', { physicalRange: [0, 100] })),
  limits: [
    levelLimit('a-high', 'A', { above: { caution: 5, warning: 10 } }),
    { ...levelLimit('b-high', 'B', { above: { warning: 10, stop: 20 } }), stopClass: 2 },
    levelLimit('d-high', 'D', { above: { warning: 10 } }),
  ],
});

/** A flight by hand: samples every 20 ms, ticks between, acts of the test conductor. */
class Flight {
  pipeline: Pipeline;
  readonly entries: Entry[] = [];
  ground = START;
  /** ground times at which the room was told at once, without anybody having acted */
  readonly told: number[] = [];
  /** ground time of the newest frame, and since when each criterion cannot tell */
  private heard = 0;
  private readonly since = new Map<string, number>();
  private frames = 0;
  private request = 0;

  constructor(gather = 0) {
    this.pipeline = new Pipeline({ gather });
    this.step({ kind: 'configuration', ground: groundTime(START), mission: day, files: [] });
  }

  private step(entry: Entry) {
    this.entries.push(entry);
    const { results, roomChanged } = this.pipeline.step(entry);
    if (entry.kind === 'frame') this.heard = entry.ground;
    for (const id of point.stops) {
      const isUnseen = this.pipeline.room().cannotTell.includes(id);
      if (!isUnseen) this.since.delete(id);
      else if (!this.since.has(id)) this.since.set(id, this.ground);
    }
    if (roomChanged && (entry.kind === 'tick' || entry.kind === 'frame'))
      this.told.push((this.ground - START) / SECOND);
    return structuredClone(results);
  }

  fly(seconds: number, values: { A?: number; B?: number; D?: number } = {}) {
    for (let i = 0; i < Math.round(seconds * 50); i++) {
      this.ground += TICK;
      const row = { A: 1, B: 1, D: 1, ...values };
      const bytes = frameBytes(day, this.frames++, this.ground - TICK, [{ group: 'main', rows: [row, row] }]);
      this.step(frameEntry(this.ground, bytes));
    }
  }

  silence(seconds: number) {
    for (let i = 0; i < Math.round(seconds * 50); i++) {
      this.ground += TICK;
      this.step({ kind: 'tick', ground: groundTime(this.ground) });
    }
  }

  act(action: Action): string {
    const by = { person: 'conductor', position: 'test conductor', request: ++this.request };
    return this.step({ kind: 'action', ground: groundTime(this.ground), ...by, action })[0]?.reason ?? 'no answer';
  }

  conduct(act: string, more: object) {
    const nothing = { subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 };
    expect(this.act({ act, ...nothing, ...more } as Action)).toBe('');
  }

  call(alarm: string, stopClass: 1 | 2, made?: number) {
    const word = stopClass === 1 ? 'KNOCK IT OFF' : 'STOP TEST';
    const time = made === undefined ? {} : { made: { aircraft: 0, ground: made }, key: String(made) };
    expect(
      this.act({
        act: 'stop call',
        stopClass,
        word,
        reason: `reason ${this.request}`,
        caller: '',
        alarm,
        ...time,
      } as Action),
    ).toBe('');
  }

  close(call: number) {
    for (const step of ['safe', 'closed'] as const)
      expect(
        this.act({ act: 'stop step', call, step, decision: step === 'closed' ? 'repeat' : '', note: '' } as Action),
      ).toBe('');
  }

  /** As the slow twin says; of a flight that is not gathered. */
  expected(): string[] {
    const { ground, heard, since, pipeline } = this;
    const runs = pipeline.conduct()?.points ?? [];
    return slowPrompts({ mission: day, room: pipeline.room(), runs, ground, heard, since }).sort();
  }

  prompts() {
    this.pipeline.flush();
    return this.pipeline.room().prompts.map(({ alarm, point: of, stopClass }) => [alarm, of, stopClass]);
  }
}

const begun = (gather = 0): Flight => {
  const flight = new Flight(gather);
  flight.fly(1);
  flight.conduct('begin point', { subject: 'hover' });
  return flight;
};

describe('a stop criterion of the point that is flown', () => {
  it('is met at warning, from the setup on, and only there; a limit that is none of them is not', () => {
    const idle = new Flight();
    idle.fly(1, { A: 12, D: 12 });
    expect(idle.prompts()).toEqual([]);
    idle.conduct('begin point', { subject: 'hover' });
    expect(idle.prompts()).toEqual([['a-high', 'hover', 1]]);
    const [prompt] = idle.pipeline.room().prompts;
    expect(prompt).toMatchObject({ value: 12, limitValue: 10, parameter: 'A', words: day.words.class1 });
  });

  it('is not met at caution, and has the class of its own limit', () => {
    const flight = begun();
    flight.fly(1, { A: 7 });
    expect(flight.prompts()).toEqual([]);
    flight.fly(1, { B: 12 });
    expect(flight.prompts()).toEqual([['b-high', 'hover', 2]]);
    // the same criterion at its stop level is one prompt, of that point still
    flight.fly(1, { B: 22 });
    expect(flight.prompts()).toEqual([['b-high', 'hover', 2]]);
  });

  it('goes with the recovery, and comes with the next run while it stands', () => {
    const flight = begun();
    flight.conduct('enter gate', { number: 1, choice: 'on condition' });
    flight.fly(1, { A: 12 });
    expect(flight.prompts()).toEqual([['a-high', 'hover', 1]]);
    flight.call('a-high', 1);
    expect(flight.prompts()).toEqual([]);
    flight.conduct('enter gate', { number: 1, choice: 'recover' });
    flight.close(1);
    flight.conduct('judge point', { number: 1, choice: 'repeat', text: 'stopped' });
    flight.conduct('enter gate', { number: 1, choice: 'closed' });
    expect(flight.prompts()).toEqual([]);
    // outside still: the call of the first run does not answer for the second
    flight.fly(1, { A: 12 });
    flight.conduct('begin point', { subject: 'hover' });
    expect(flight.prompts()).toEqual([['a-high', 'hover', 1]]);
  });
});

describe('a stop criterion that cannot tell', () => {
  it('asks for class 2 after 2.0 s while the point needs the ground, and the room is told at once', () => {
    const flight = begun();
    flight.fly(5, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([]);
    flight.fly(1);
    flight.conduct('enter gate', { number: 1, choice: 'on condition' });
    const from = (flight.ground - START) / SECOND;
    flight.told.length = 0;
    flight.fly(1.98, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([]);
    flight.fly(0.1, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([['a-high', 'hover', 2]]);
    // the frame that brought the first bad sample came 0.02 s after `from`; time passes with the entry after
    expect(flight.told).toHaveLength(1);
    expect((flight.told[0] as number) - from).toBeCloseTo(2.02, 6);
    const [prompt] = flight.pipeline.room().prompts;
    expect(prompt).toMatchObject({ words: day.words.class2, text: 'No data for 2 s: A' });
    flight.fly(0.1);
    expect(flight.prompts()).toEqual([]);
    expect(flight.told).toHaveLength(2);
  });

  it('is one prompt where it was outside as it went blind, and the call that answers it answers both', () => {
    const flight = begun();
    flight.conduct('enter gate', { number: 1, choice: 'on condition' });
    flight.fly(0.5, { A: 12 });
    flight.fly(3, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([['a-high', 'hover', 1]]);
    flight.call('a-high', 1);
    expect(flight.prompts()).toEqual([]);
  });

  it('is answered by a call, and said once where the whole stream is silent', () => {
    const flight = begun();
    flight.conduct('enter gate', { number: 1, choice: 'on condition' });
    flight.fly(3, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([['a-high', 'hover', 2]]);
    flight.silence(4);
    expect(flight.prompts()).toEqual([['data.stream', '', 2]]);
    flight.call('data.stream', 2);
    expect(flight.prompts()).toEqual([]);
    // data is back, and one of the criteria still is not: the point was stopped for that already
    flight.fly(3, { A: UNUSABLE });
    expect(flight.prompts()).toEqual([]);
  });
});

describe('a call that is logged', () => {
  const facts = (flight: Flight) => flight.pipeline.room().calls.map(({ facts: { point: of, gate } }) => [of, gate]);

  it('keeps the point and the gate at which it was made, however late it is logged', () => {
    const flight = new Flight();
    flight.fly(1);
    flight.call('', 1);
    flight.close(1);
    const before = flight.ground;
    flight.fly(1);
    flight.conduct('begin point', { subject: 'hover' });
    flight.fly(1);
    flight.call('', 1);
    flight.close(2);
    flight.fly(1);
    flight.conduct('enter gate', { number: 1, choice: 'on condition' });
    const on = flight.ground;
    flight.fly(1);
    flight.conduct('enter gate', { number: 1, choice: 'recover' });
    flight.call('', 2);
    flight.close(3);
    flight.conduct('judge point', { number: 1, choice: 'repeat', text: 'stopped' });
    flight.conduct('enter gate', { number: 1, choice: 'closed' });
    flight.fly(1);
    for (const made of [undefined, on + 1, before]) flight.call('', 2, made);
    expect(facts(flight)).toEqual([
      ['', ''],
      ['hover', 'setup'],
      ['hover', 'recover'],
      ['', ''],
      ['hover', 'on condition'],
      ['', ''],
    ]);
  });
});

/** As it was in the spell before: what stands goes on standing over gates, calls and runs. */
const SAME = -1;

/** Ticks of flying, with what A and B show then, and what is done after. */
const spell = fc.record({
  ticks: fc.integer({ min: 1, max: 150 }),
  a: fc.constantFrom(SAME, SAME, SAME, SAME, 1, 7, 12, UNUSABLE),
  b: fc.constantFrom(SAME, SAME, SAME, SAME, 1, 12, 22, UNUSABLE),
  silent: fc.constantFrom(false, false, false, true),
  then: fc.constantFrom('', '', 'on condition', 'on condition', 'recover', 'call 1', 'call 2', 'close', 'end', 'again'),
});

/** Does what may be done; what may not is refused, and is an entry all the same. */
function does(flight: Flight, then: string) {
  const nothing = { subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 };
  const runs = flight.pipeline.conduct()?.points ?? [];
  const number = runs.at(-1)?.number ?? 0;
  const { calls } = flight.pipeline.room();
  const of = (act: string, more: object) => flight.act({ act, ...nothing, ...more } as Action);
  const decide = () => {
    for (const { number: call } of calls)
      for (const step of ['safe', 'closed'])
        flight.act({ act: 'stop step', call, step, decision: step === 'closed' ? 'repeat' : '', note: '' } as Action);
  };
  if (then.startsWith('call')) flight.call(then === 'call 1' ? '' : 'a-high', then === 'call 1' ? 1 : 2);
  else if (then === 'close') decide();
  else if (then === 'end' || then === 'again') {
    decide();
    of('enter gate', { number, choice: 'recover' });
    of('judge point', { number, choice: 'skip', text: 'because' });
    of('enter gate', { number, choice: 'closed' });
    if (then === 'again') of('begin point', { subject: 'hover' });
  } else if (then !== '') of('enter gate', { number, choice: then });
}

it('prompts are those of the slow twin at any moment, gathered or not, and from any saved state on', () => {
  const seen = new Set<string>();
  fc.assert(
    fc.property(fc.array(spell, { minLength: 1, maxLength: 12 }), fc.nat(), (spells, where) => {
      const live = begun();
      const shows = { A: 1, B: 1 };
      for (const { ticks, a, b, silent, then } of spells) {
        if (a !== SAME) shows.A = a;
        if (b !== SAME) shows.B = b;
        if (silent) live.silence(ticks / 50);
        else live.fly(ticks / 50, shows);
        does(live, then);
        const shown = live.prompts();
        expect(shown.map(([id, of, stopClass]) => `${id} of ${of || 'none'}, ${stopClass}`).sort()).toEqual(
          live.expected(),
        );
        for (const [alarm, of, stopClass] of shown) seen.add(`${alarm} ${of} ${stopClass}`);
      }
      const whole = live.pipeline.room().prompts;
      const cut = where % live.entries.length || 1;
      let fold = new Pipeline({ gather: 300_000 });
      live.entries.forEach((entry, i) => {
        if (i === cut) {
          fold.flush();
          const state = structuredClone(fold.save());
          fold = new Pipeline({ gather: 300_000 });
          fold.step(live.entries[0] as Entry);
          fold.restore(state);
        }
        fold.step(entry);
      });
      fold.flush();
      expect(fold.room().prompts).toEqual(whole);
    }),
    { seed: 17, numRuns: 60 },
  );
  expect([...seen].sort()).toEqual(
    ['a-high hover 1', 'a-high hover 2', 'b-high  2', 'b-high hover 2', 'data.stream  2'].sort(),
  );
});
