/** The control sweep against controls with seeded faults: all of them found by name, and none where there is none. */
import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { SweepView } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';
import { ControlSweep } from '../../station/conduct/control-sweep.ts';
import { say } from '../support/checked-channels.ts';
import {
  BEGUN,
  CONTROLS,
  rigs,
  type Sweep,
  type SweepFault,
  sweepBatches,
  sweptMission,
} from '../support/swept-controls.ts';
import { batchOf } from '../support/tiny-batch.ts';
import { mission } from '../support/tiny-mission.ts';

type Keep = (sweep: ControlSweep) => ControlSweep;

/** A whole sweep: begun, its samples, ended. */
function sweepOf(of: Sweep, cut = (batches: Batch[]): Batch[] => batches, keep: Keep = (sweep) => sweep): SweepView {
  let sweep = new ControlSweep(sweptMission());
  expect(say(sweep, 'begin sweep', {}, BEGUN)).toBe('');
  for (const batch of cut(sweepBatches(of))) {
    sweep.run([batch]);
    sweep = keep(sweep);
  }
  expect(sweep.view()).toMatchObject({ running: true, done: false, faults: 0 });
  expect(say(sweep, 'end sweep', {}, BEGUN + (of.lasts ?? 20) * SECOND)).toBe('');
  return sweep.view() as SweepView;
}

const seeded: [kind: string, begins: RegExp, fault: SweepFault, more?: Partial<Sweep>][] = [
  ...[0.021, 0.03, 0.1, 0.4].flatMap((short): [string, RegExp, SweepFault][] => [
    ['low end short', /^low end missed by/, { stops: [short, 1] }],
    ['high end short', /^high end missed by/, { stops: [0, 1 - short] }],
  ]),
  ...[0.0215, 0.05].flatMap((short): [string, RegExp, SweepFault][] => [
    ['travel', /^travel: .* at least 98 %/, { stops: [short / 2, 1 - short / 2] }],
    ['travel', /^(low|high) end missed/, { stops: [short / 2, 1 - short / 2] }],
  ]),
  ...[0.0125, -0.0125, 0.03, -0.2].map((spread): [string, RegExp, SweepFault] => ['spread', /^spread: /, { spread }]),
  ...[0.11, 0.15, 0.3, 0.5].map((delay): [string, RegExp, SweepFault] => ['delay', /^delay: behind/, { delay }]),
  ['delay', /^delay: behind .* or more/, { delay: 0.8 }],
  ...[0.25, 0.5].map((delay): [string, RegExp, SweepFault] => ['tracking', /^tracking: /, { delay }]),
  ['frozen', /^does not move/, { frozen: true }],
  ['frozen', /^tracking: /, { frozen: true }],
  ...[0.013, 0.02, 0.03].map((hysteresis): [string, RegExp, SweepFault] => [
    'hysteresis',
    /^hysteresis: /,
    { hysteresis },
  ]),
  ...[0.03, 0.2, 0.7].map((bad): [string, RegExp, SweepFault] => ['rate loss', /^rate loss: .* not usable/, { bad }]),
  ...[0.025, -0.025].map((shifted): [string, RegExp, SweepFault] => ['rig', /^(low|high) end passed/, { shifted }]),
  // quick stirring: both ends missed, though position and command agree
  ...[0.03, 0.1, 0.25].flatMap((part): [string, RegExp, SweepFault, Partial<Sweep>][] => [
    ['stirring', /^low end missed/, { stirred: [part, 1 - part] }, { lasts: 8, strokes: 2 }],
    ['stirring', /^high end missed/, { stirred: [part, 1 - part] }, { lasts: 8, strokes: 2 }],
  ]),
  // one wild sample beyond the end is no travel
  ['stirring', /^high end missed/, { stirred: [0, 0.9], wild: 0.3 }],
];

const found = new Map<string, { found: number; seeded: number }>();
let falseAlarms = 0;
let healthy = 0;
afterAll(() => {
  const sum = (of: 'found' | 'seeded'): number => [...found.values()].reduce((all, one) => all + one[of], 0);
  const kinds = [...found].map(([kind, { found: n, seeded: all }]) => `${kind} ${n}/${all}`).join(', ');
  process.stdout.write(`control sweep: ${sum('found')} of ${sum('seeded')} seeded faults found (${kinds}); `);
  process.stdout.write(`${falseAlarms} false in ${healthy} healthy sweeps of ${CONTROLS} controls\n`);
});

describe('the control sweep', () => {
  it('finds every seeded fault by its name, whichever control has it, and blames no other', () => {
    for (const [i, [kind, begins, fault, more]] of seeded.entries()) {
      for (let k = 0; k < CONTROLS; k++) {
        const view = sweepOf({ seed: 100 * i + k, ...more, faults: new Map([[k, fault]]) });
        const told = view.channels[k]?.faults ?? [];
        const isFound = told.some((text) => begins.test(text));
        const tally = found.get(kind) ?? { found: 0, seeded: 0 };
        found.set(kind, { found: tally.found + (isFound ? 1 : 0), seeded: tally.seeded + 1 });
        expect(isFound, `${kind} ${JSON.stringify(fault)}: ${told.join('; ') || 'nothing'}`).toBe(true);
        const others = view.channels.filter((_, other) => other !== k);
        expect(
          others.flatMap(({ faults }) => faults),
          kind,
        ).toEqual([]);
      }
    }
  });

  it('finds nothing in 50 healthy sweeps, slow and brisk', () => {
    for (let seed = 1; seed <= 50; seed++) {
      const view = sweepOf({ seed, lasts: 10 + (seed % 4) * 5, lost: seed % 5 === 0 ? 0.01 : 0 });
      healthy++;
      falseAlarms += view.faults;
      expect(view.channels.flatMap(({ faults, cannotTell }) => [...faults, ...cannotTell])).toEqual([]);
      expect(view).toMatchObject({ running: false, done: true, faults: 0 });
    }
  });

  it('tells ends in the unit, travel and spread as shares, delay in seconds, all near the truth', () => {
    const { channels } = sweepOf({
      seed: 9,
      faults: new Map([[1, { delay: 0.07, spread: 0.006, hysteresis: 0.008 }]]),
    });
    channels.forEach(({ low, high, travel }, k) => {
      const [from, to] = rigs[k] as [number, number];
      const near = 0.005 * (to - from);
      expect(Math.abs((low as number) - from)).toBeLessThan(near);
      expect(Math.abs((high as number) - to)).toBeLessThan(near);
      expect(Math.abs((travel as number) - 1)).toBeLessThan(0.01);
    });
    expect(channels[0]?.delay).toBeCloseTo(0.04, 3);
    expect(channels[0]?.hysteresis).toBeLessThan(0.0005);
    // the play, too, keeps the position behind
    expect(channels[1]?.delay).toBeGreaterThan(0.07);
    expect(channels[1]?.delay).toBeLessThan(0.12);
    // the most of 2,000 samples, so that their noise is in it
    expect(channels[1]?.spread).toBeGreaterThan(0.006);
    expect(channels[1]?.spread).toBeLessThan(0.0075);
    expect(channels[1]?.hysteresis).toBeCloseTo(0.008, 3);
    expect(channels[2]?.tracking).toBeLessThan(0.02);
  });

  it('finds samples that were lost on the way, for all that were sampled with them', () => {
    for (const lost of [0.03, 0.2]) {
      const view = sweepOf({ seed: 4, lost });
      for (const { faults, missing } of view.channels) {
        expect(missing).toBeCloseTo(lost, 2);
        expect(faults).toEqual([expect.stringMatching(/^rate loss: /)]);
      }
    }
  });

  it('cannot tell anything of a control whose samples do not come, and is not done then', () => {
    const sweep = new ControlSweep(sweptMission());
    say(sweep, 'begin sweep', {}, BEGUN);
    say(sweep, 'end sweep', {}, BEGUN + 10 * SECOND);
    const view = sweep.view() as SweepView;
    expect(view).toMatchObject({ done: false, faults: 0 });
    for (const { cannotTell, travel, delay } of view.channels) {
      expect(cannotTell).toContain('no sample came');
      expect([travel, delay]).toEqual([null, null]);
    }
  });

  it('is begun once samples come, ended once, and begins anew', () => {
    const sweep = new ControlSweep(sweptMission());
    expect(say(sweep, 'end sweep', {}, BEGUN)).toBe('no sweep is under way');
    expect(say(sweep, 'begin sweep', {}, 0)).toContain('no sample has arrived');
    expect(say(sweep, 'begin sweep', {}, BEGUN)).toBe('');
    expect(say(sweep, 'begin sweep', {}, BEGUN)).toContain('is under way');
    for (const batch of sweepBatches({ seed: 1, lasts: 5 })) sweep.run([batch]);
    expect(sweep.view()?.channels[0]?.travel).toBeGreaterThan(0.9);
    expect(say(sweep, 'end sweep', {}, BEGUN + 5 * SECOND)).toBe('');
    const ended = sweep.view();
    // what comes after its end is no part of it
    for (const batch of sweepBatches({ seed: 2, lasts: 5 })) sweep.run([batch]);
    expect(sweep.view()).toEqual(ended);
    expect(say(sweep, 'begin sweep', {}, BEGUN + 9 * SECOND)).toBe('');
    expect(sweep.view()?.channels[0]).toMatchObject({ travel: null, low: null });
    expect(say(new ControlSweep(mission()), 'begin sweep', {}, BEGUN)).toBe('the mission has no control sweep');
  });

  it('names what the mission does not have, and what is sampled at other times', () => {
    const made = sweptMission();
    expect(() => new ControlSweep({ ...made, parameters: made.parameters.slice(2) })).toThrow('names POS0_A');
    const slow = made.parameters.map((one) => (one.id === 'POS1_B' ? { ...one, group: 'slow' } : one));
    expect(() => new ControlSweep({ ...made, parameters: slow })).toThrow('POS1_A with POS1_B');
  });
});

describe('the result of the control sweep', () => {
  const some: SweepFault[] = [
    {},
    { stops: [0.1, 0.9] },
    { delay: 0.2 },
    { bad: 0.1 },
    { hysteresis: 0.02 },
    { frozen: true },
  ];
  const sweep = fc.record({
    seed: fc.integer({ min: 0, max: 1 << 30 }),
    lasts: fc.constantFrom(3, 5),
    lost: fc.constantFrom(0, 0.05),
    faults: fc.array(fc.constantFrom(...some), { maxLength: 3 }).map((list) => new Map(list.entries())),
  });
  /** Batches of these lengths, over and over, instead of a second each. */
  const cutInto =
    (lengths: readonly number[]) =>
    (batches: Batch[]): Batch[] => {
      const instants = batches.flatMap(({ length, time, values, validity }) =>
        Array.from({ length }, (_, i) => ({
          time: time[i] as number,
          values: values.map((column) => column[i] as number),
          validity: validity.map((column) => column[i] as number),
        })),
      );
      const cut: Batch[] = [];
      for (let at = 0, n = 0; at < instants.length; n++) {
        const length = lengths[n % lengths.length] as number;
        cut.push(batchOf(0, (batches[0] as Batch).columns, instants.slice(at, at + length)));
        at += length;
      }
      return cut;
    };
  const lengths = fc.array(fc.integer({ min: 1, max: 120 }), { minLength: 1, maxLength: 5 });

  it('does not depend on how the samples are cut into batches, saved and restored after each', () => {
    const anew: Keep = (one) => {
      const next = new ControlSweep(sweptMission());
      next.restore(deserialize(serialize(one.save())));
      return next;
    };
    fc.assert(
      fc.property(sweep, lengths, (one, cut) => {
        const expected = sweepOf(one);
        expect(sweepOf(one, cutInto(cut))).toEqual(expected);
        expect(sweepOf(one, cutInto(cut), anew)).toEqual(expected);
      }),
      { numRuns: 20, seed: 21 },
    );
  });
});
