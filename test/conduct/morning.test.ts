/** The morning check against channels with seeded faults: all of them found by name, and none where there is none. */
import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { MorningView } from '../../protocol/conduct.ts';
import type { MorningCheckPlan, ReadinessPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import { MorningCheck } from '../../station/conduct/morning-check.ts';
import {
  byGroup,
  chance,
  checkedMission,
  type Fault,
  type Feed,
  morningOf,
  type Room,
  say,
  Standing,
} from '../support/checked-channels.ts';
import { COUNT, seededIn } from '../support/seeded-faults.ts';
import { batchOf, type Instant } from '../support/tiny-batch.ts';
import { mission } from '../support/tiny-mission.ts';

/** Channels that the seeded faults are put into: of every rate, every noise, with a zero of 0 and without. */
const CHANNELS = [0, 1, 2, 5, 7, 10];

const faultsOf = (view: MorningView, k: number): string[] =>
  view.channels.find(({ parameter }) => parameter === `CH${k}`)?.faults ?? [];

const found = new Map<string, { found: number; seeded: number }>();
let falseAlarms = 0;
let healthy = 0;
afterAll(() => {
  const sum = (of: 'found' | 'seeded'): number => [...found.values()].reduce((all, one) => all + one[of], 0);
  const kinds = [...found].map(([kind, { found: n, seeded }]) => `${kind} ${n}/${seeded}`).join(', ');
  process.stdout.write(`morning check: ${sum('found')} of ${sum('seeded')} seeded faults found (${kinds}); `);
  process.stdout.write(`${falseAlarms} false in ${healthy} healthy checks of ${COUNT} channels\n`);
});

describe('the morning check', () => {
  it.each(CHANNELS)('finds every fault seeded into channel %i, by its name, and blames no other', (k) => {
    seededIn(k).forEach(({ kind, channel, faults, begins, about, counts = true }, i) => {
      const room: Room = { seed: 1000 * k + i, faults: new Map(faults), counts };
      const view = morningOf(room, undefined, about);
      const told = faultsOf(view, channel);
      const isFound = told.some((fault) => begins.test(fault));
      const tally = found.get(kind) ?? { found: 0, seeded: 0 };
      found.set(kind, { found: tally.found + (isFound ? 1 : 0), seeded: tally.seeded + 1 });
      expect(isFound, `${kind} ${JSON.stringify(faults)}: ${told.join('; ') || 'nothing'}`).toBe(true);
      expect(view.faults).toBeGreaterThan(0);
      const blamed = view.channels.filter(({ faults: of }) => of.length > 0).map(({ parameter }) => parameter);
      for (const id of blamed)
        expect(
          about.map((c) => `CH${c}`),
          `${kind}: ${faultsOf(view, Number(id.slice(2)))}`,
        ).toContain(id);
    });
  });

  it('finds two faults at once, on two channels, each by its name', () => {
    const { uniform } = chance(77);
    const any = <T>(list: readonly T[]): T => list[Math.floor(uniform() * list.length)] as T;
    for (let n = 0; n < 60; ) {
      const [one, two] = [any(seededIn(any(CHANNELS))), any(seededIn(any(CHANNELS)))];
      const isCounts = one.counts ?? true;
      // what is of one channel alone, or of others than the second has to do with
      if (one.about.some((k) => two.about.includes(k)) || isCounts !== (two.counts ?? true)) continue;
      n++;
      const faults = new Map([...one.faults, ...two.faults]);
      const about = [...new Set([...one.about, ...two.about])];
      const view = morningOf({ seed: 500 + n, faults, counts: isCounts }, undefined, about);
      for (const { kind, channel, begins } of [one, two]) {
        const told = faultsOf(view, channel);
        expect(
          told.some((fault) => begins.test(fault)),
          `${one.kind} and ${two.kind}: ${kind}: ${told.join('; ')}`,
        ).toBe(true);
      }
      const blamed = view.channels.flatMap(({ parameter, faults: of }) =>
        of.length > 0 ? [Number(parameter.slice(2))] : [],
      );
      for (const k of blamed) expect(about).toContain(k);
    }
  });

  it('is not healthy with two faults of one channel, whichever they are', () => {
    const { uniform } = chance(78);
    const any = <T>(list: readonly T[]): T => list[Math.floor(uniform() * list.length)] as T;
    for (let n = 0; n < 60; ) {
      const k = any(CHANNELS);
      const [one, two] = [any(seededIn(k)), any(seededIn(k))];
      const [first, second] = [one, two].map(({ faults }) => faults.find(([of]) => of === k)?.[1] ?? {});
      if (one.kind === two.kind || Object.keys(first ?? {}).some((key) => key in (second ?? {}))) continue;
      n++;
      const faults = new Map([...one.faults, ...two.faults, [k, { ...first, ...second }]] as [number, Fault][]);
      const about = [...new Set([...one.about, ...two.about])];
      const told = faultsOf(morningOf({ seed: 900 + n, faults }, undefined, about), k);
      expect(told.length, `${JSON.stringify([...faults])}`).toBeGreaterThan(0);
    }
  });

  it('finds nothing in 50 healthy mornings, and is complete', () => {
    for (let seed = 1; seed <= 50; seed++) {
      const view = morningOf({ seed, counts: seed % 2 === 0 });
      healthy++;
      falseAlarms += view.faults;
      expect(view.channels.flatMap(({ faults, cannotTell }) => [...faults, ...cannotTell])).toEqual([]);
      expect(view.timeFaults).toEqual([]);
      expect(view).toMatchObject({ complete: true, gathering: '', faults: 0 });
      for (const { looked, zero, noise, shunt, rate } of view.channels) {
        expect(looked).toEqual(['zero', 'shunt', 'rate', 'range']);
        for (const number of [zero, noise, shunt, rate]) expect(number).not.toBeNull();
      }
    }
  });

  it('finds a clock that is off and one that drifts, both ways, and says by how much', () => {
    for (const delay of [0.26, 2, -0.3]) {
      expect(morningOf({ seed: 5, delay }, undefined, []).timeFaults).toEqual([
        expect.stringContaining('ground minus aircraft time is'),
      ]);
    }
    for (const drift of [0.03, -0.03, 0.1]) {
      const { time, timeFaults } = morningOf({ seed: 6, drift });
      expect(time.drift).toBeCloseTo(drift, 2);
      expect(timeFaults).toEqual([expect.stringContaining('drifts by')]);
    }
    const { time } = morningOf({ seed: 7, drift: 0.01 });
    expect(time.offset).toBeCloseTo(0.04, 1);
    expect(time.drift).toBeCloseTo(0.01, 2);
  });

  it('takes frames that wait on a busy link for no clock that is off or drifts', () => {
    for (const [seed, delay] of [0.03, 0.03, 0.2].entries()) {
      const { complete, time, timeFaults } = morningOf({ seed, delay, busy: 1.5 });
      expect([complete, timeFaults]).toEqual([true, []]);
      expect(time.offset).toBeCloseTo(delay, 1);
      expect(Math.abs(time.drift as number)).toBeLessThan(0.02);
    }
    expect(morningOf({ seed: 4, delay: 0.3, busy: 1.5 }).timeFaults).toHaveLength(1);
    expect(morningOf({ seed: 5, drift: 0.05, busy: 1.5 }).timeFaults).toEqual([expect.stringContaining('drifts by')]);
  });
});

/** Cuts a piece at these shares of its frames, each frame with the samples that fall into it. */
const cutAt =
  (shares: readonly number[], keep: (check: MorningCheck) => MorningCheck): Feed =>
  (whole, { batches, frames }) => {
    const cuts = shares.map((share) => Math.floor(share * frames.length)).filter((cut) => cut > 0);
    const edges = [...new Set([0, ...cuts.sort((a, b) => a - b), frames.length])];
    return edges.slice(1).reduce((check, to, i) => {
      const from = edges[i] as number;
      const since = i === 0 ? -Infinity : (frames.aircraft[from] as number);
      const until = to === frames.length ? Infinity : (frames.aircraft[to] as number);
      const cut = batches.map((batch) => {
        const within = instantsOf(batch).filter(({ time }) => time >= since && time < until);
        return batchOf(batch.group, batch.columns, within);
      });
      check.run(byGroup(cut.filter(({ length }) => length > 0)), {
        length: to - from,
        aircraft: frames.aircraft.slice(from, to),
        ground: frames.ground.slice(from, to),
        taken: frames.taken.slice(from, to),
      });
      return keep(check);
    }, whole);
  };

const instantsOf = ({ length, time, values, validity }: Batch): Instant[] =>
  Array.from({ length }, (_, i) => ({
    time: time[i] as number,
    values: values.map((column) => column[i] as number),
    validity: validity.map((column) => column[i] as number),
  }));

const some: Fault[] = [{}, { offset: 30 }, { gain: 0.9 }, { frozen: { told: true } }, { lost: 0.1 }, { noShunt: true }];

describe('the result of the morning check', () => {
  const room = fc.record({
    seed: fc.integer({ min: 0, max: 1 << 30 }),
    faults: fc.array(fc.constantFrom(...some), { maxLength: 4 }).map((list) => new Map(list.entries())),
    count: fc.constant(4),
  });
  const cuts = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 6 });

  it('does not depend on how the samples are cut into batches', () => {
    fc.assert(
      fc.property(room, cuts, (one, shares) => {
        expect(
          morningOf(
            one,
            cutAt(shares, (check) => check),
            [0, 3],
          ),
        ).toEqual(morningOf(one, undefined, [0, 3]));
      }),
      { numRuns: 25, seed: 11 },
    );
  });

  it('is the same after it was saved and restored anywhere', () => {
    fc.assert(
      fc.property(room, cuts, (one, shares) => {
        const anew = (check: MorningCheck): MorningCheck => {
          const next = new MorningCheck(checkedMission(one));
          next.restore(deserialize(serialize(check.save())));
          return next;
        };
        expect(morningOf(one, cutAt(shares, anew), [1, 2])).toEqual(morningOf(one, undefined, [1, 2]));
      }),
      { numRuns: 25, seed: 12 },
    );
  });
});

describe('what is missing in the morning check', () => {
  const SMALL: Room = { seed: 3, count: 4 };

  it('is told: nothing is looked at before it is begun, and zero comes before a shunt', () => {
    const standing = new Standing(SMALL);
    const check = new MorningCheck(standing.mission);
    expect(check.view()).toMatchObject({ complete: false, faults: 0, gathering: '', ended: null });
    expect(check.view()?.channels.every(({ looked }) => looked.length === 0)).toBe(true);
    const now = standing.now;
    expect(say(check, 'begin check', { choice: 'zero' }, 0)).toContain('no sample has arrived');
    expect(say(check, 'begin check', { choice: 'gain' }, now)).toContain('zero or shunt, not gain');
    expect(say(check, 'begin check', { choice: 'shunt', subject: 'CH9' }, now)).toContain('CH9 is no channel');
    expect(say(check, 'begin check', { choice: 'shunt', subject: 'CH1' }, now)).toContain('zero comes first');
    expect(say(check, 'end check', {}, now)).toContain('no morning check was begun');
    expect(say(check, 'begin check', { choice: 'zero' }, now)).toBe('');
    expect(check.view()?.gathering).toBe('zero');
    expect(say(check, 'begin check', { choice: 'zero' }, now)).toMatch(/zero is still being gathered: 4\.5 s left/);
    expect(say(check, 'end check', { choice: 'shunt' }, now)).toContain('zero is being gathered, not shunt');
  });

  it('does not count as looked at: what was ended before its time is not judged', () => {
    const standing = new Standing(SMALL);
    const check = new MorningCheck(standing.mission);
    say(check, 'begin check', { choice: 'zero' }, standing.now);
    const { batches, frames } = standing.go(2, -1);
    check.run(byGroup(batches), frames);
    expect(say(check, 'end check', { choice: 'zero' }, standing.now)).toBe('');
    expect(check.view()).toMatchObject({ complete: false, gathering: '', ended: { position: 'instrumentation' } });
    expect(check.view()?.channels.map(({ looked }) => looked)).toEqual([[], [], [], []]);
    expect(say(check, 'end check', {}, standing.now)).toContain('was ended by');
  });

  it('is "cannot tell" for a channel that does not come, beside the rate that is wrong', () => {
    const standing = new Standing(SMALL);
    const check = new MorningCheck(standing.mission);
    say(check, 'begin check', { choice: 'zero' }, standing.now);
    for (let i = 0; i < 14; i++) {
      const { batches, frames } = standing.go(0.5, -1);
      check.run(
        byGroup(batches).map((batch, g) => (g === 1 ? undefined : batch)),
        frames,
      );
    }
    const view = check.view() as MorningView;
    const gone = view.channels[1];
    expect(gone?.faults).toEqual(['rate: 0 samples a second, declared are 50, within 2 %']);
    expect(gone).toMatchObject({ zero: null, noise: null, shunt: null, looked: ['rate'] });
    expect(gone?.cannotTell).toEqual(['range: no sample came', 'zero and noise: 0 usable samples of 200 due']);
    expect(view.channels[0]).toMatchObject({ faults: [], looked: ['zero', 'rate', 'range'] });
    expect(view).toMatchObject({ complete: false, gathering: '' });
    expect(say(check, 'begin check', { choice: 'shunt', subject: 'CH1' }, standing.now)).toContain('zero comes first');
  });

  it('is "cannot tell" for a shunt that is let go while it is gathered', () => {
    const standing = new Standing(SMALL);
    const check = new MorningCheck(standing.mission);
    const go = (seconds: number, shunt: number): void => {
      const { batches, frames } = standing.go(seconds, shunt);
      check.run(byGroup(batches), frames);
    };
    say(check, 'begin check', { choice: 'zero' }, standing.now);
    go(6, -1);
    go(1, 2);
    say(check, 'begin check', { choice: 'shunt', subject: 'CH2' }, standing.now);
    go(2, 2);
    go(4, -1);
    const seen = check.view()?.channels[2];
    expect(seen?.cannotTell).toEqual([expect.stringMatching(/^shunt: moved by -/)]);
    expect(seen).toMatchObject({ shunt: null, looked: ['zero', 'rate', 'range'] });
  });

  it('is found where the calibration is too old for the plan', () => {
    const mission = checkedMission(SMALL);
    const { readiness, parameters } = mission;
    const morning = { ...readiness?.morning, calibrationDays: 20 } as MorningCheckPlan;
    const check = new MorningCheck({
      ...mission,
      parameters: parameters.map((one, k) => ({ ...one, calibrationDate: k === 1 ? '2026-07-01' : '2026-09-20' })),
      readiness: { ...(readiness as ReadinessPlan), morning },
    });
    // the made-up aircraft's day is 2026-09-21
    say(check, 'begin check', { choice: 'zero' }, new Standing(SMALL).now);
    expect(check.view()?.channels.map(({ faults }) => faults)).toEqual([
      [],
      ['calibration: made 82 days ago, more than 20'],
      [],
      [],
    ]);
  });

  it('is found where aircraft time goes back', () => {
    const standing = new Standing(SMALL);
    const check = new MorningCheck(standing.mission);
    say(check, 'begin check', { choice: 'zero' }, standing.now);
    const { batches, frames } = standing.go(1, -1);
    check.run(byGroup(batches), frames);
    check.run([], { ...frames, aircraft: frames.aircraft.map((at) => at - 3 * SECOND) });
    expect(check.view()?.timeFaults).toContainEqual(
      expect.stringMatching(/aircraft time went back 1 times, by up to 3\.98 s/),
    );
  });
});

describe('what the morning check is told of the recorder', () => {
  it('is shown; anything but verified and trouble is refused', () => {
    const check = new MorningCheck(checkedMission({ seed: 1 }));
    expect(check.view()?.recorder).toEqual({ state: 'not looked at', text: '' });
    expect(say(check, 'report recorder', { choice: 'fine' }, 0)).toContain('verified or in trouble, not fine');
    expect(say(check, 'report recorder', { choice: 'trouble', text: 'block 2 is missing' }, 0)).toBe('');
    expect(check.view()?.recorder).toEqual({ state: 'trouble', text: 'block 2 is missing' });
    expect(say(check, 'report recorder', { choice: 'verified', text: '64 entries' }, 0)).toBe('');
    expect(check.view()?.recorder).toEqual({ state: 'verified', text: '64 entries' });
  });

  it('is kept where the mission has no morning check, which cannot be begun', () => {
    const check = new MorningCheck(mission());
    expect(say(check, 'report recorder', { choice: 'verified' }, 0)).toBe('');
    expect(say(check, 'begin check', { choice: 'zero' }, 5)).toBe('the mission has no morning check');
    expect(check.view()).toBeNull();
  });
});

it('a morning check of a channel the mission does not have is a mistake that names it', () => {
  const made = checkedMission({ seed: 1 });
  expect(() => new MorningCheck({ ...made, parameters: made.parameters.slice(1) })).toThrow('names CH0');
});
