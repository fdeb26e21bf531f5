/**
 * Change-replay with the real fold against a slow, obvious twin: the same flight flown again under the other mission, by
 * people who ask for and approve the same changes of all other limits. Random flights, changes and lots.
 */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { changeOfLimit, changeReplay } from '../../replay/change-replay.ts';
import { differenceList } from '../../replay/difference.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { frameBytes, frameEntry, levelLimit, mission } from '../support/tiny-mission.ts';

const START = 1_764_064_800_000_000;
const FRAME = 20_000;
const limitIds = ['x', 'y', 'z'] as const;
type LimitId = (typeof limitIds)[number];

const flown = mission({
  limits: [
    levelLimit('x', 'A', { above: { caution: 30, warning: 60 }, hysteresis: 2, persistence: 30_000 }),
    levelLimit('y', 'A', { above: { caution: 50 }, hysteresis: 1 }),
    levelLimit('z', 'A', { below: { caution: -20 }, hysteresis: 1 }),
  ],
});

type Step =
  | { do: 'fly'; level: number; frames: number }
  | { do: 'ask'; limit: LimitId; caution: number; by: 'director' | 'engineer' }
  /** of the ask that many asks ago */
  | { do: 'approve' | 'decline'; back: number; by: 'director' | 'engineer' }
  | { do: 'acknowledge'; limit: LimitId };

const by = fc.constantFrom('director' as const, 'engineer' as const);
const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 5,
    arbitrary: fc.record({
      do: fc.constant('fly' as const),
      level: fc.integer({ min: -40, max: 80 }),
      frames: fc.integer({ min: 1, max: 6 }),
    }),
  },
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constant('ask' as const),
      limit: fc.constantFrom(...limitIds),
      caution: fc.integer({ min: -39, max: 59 }),
      by,
    }),
  },
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constantFrom('approve' as const, 'decline' as const),
      back: fc.integer({ min: 1, max: 3 }),
      by,
    }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('acknowledge' as const), limit: fc.constantFrom(...limitIds) }) },
);

const valuesOf = (limit: LimitId, caution: number): LimitValues => {
  if (limit === 'x') return { above: { caution, warning: 60 }, hysteresis: 2, persistence: 30_000 };
  const level = { caution };
  return limit === 'y'
    ? { above: level, hysteresis: 1, persistence: 0 }
    : { below: level, hysteresis: 1, persistence: 0 };
};

/**
 * Flies the steps under a mission; what is asked of the limit `without` is left out, and so is whatever is said of a
 * change that was not taken. Changes are told apart by their reason, which names the step.
 */
function fly(steps: readonly Step[], of: Mission, without?: LimitId): { entries: Entry[]; alarms: AlarmEvent[] } {
  const pipeline = new Pipeline({ gather: 0 });
  const entries: Entry[] = [];
  const alarms: AlarmEvent[] = [];
  let frames = 0;
  const put = (entry: Entry): void => {
    entries.push(entry);
    alarms.push(...structuredClone(pipeline.step(entry).alarms));
  };
  const people = { director: 'test director', engineer: 'engine' } as const;
  const act = (person: keyof typeof people, action: Action): void => {
    const ground = groundTime(START + frames * FRAME + 1);
    put({ kind: 'action', ground, person, position: people[person], request: entries.length, action });
  };
  put({ kind: 'configuration', ground: groundTime(START), mission: of, files: [] });
  const said = { pilotInformed: true, offCondition: true };
  steps.forEach((one, n) => {
    if (one.do === 'fly') {
      for (let f = 0; f < one.frames; f++) {
        const at = START + frames * FRAME;
        const rows = [{ A: one.level }, { A: one.level + f }];
        put(frameEntry(at, frameBytes(of, frames++, at, [{ group: 'main', rows }])));
      }
    } else if (one.do === 'ask') {
      if (one.limit === without) return;
      act(one.by, {
        act: 'change limit',
        limit: one.limit,
        values: valuesOf(one.limit, one.caution),
        reason: `step ${n}`,
        ...said,
      });
    } else if (one.do === 'acknowledge') {
      act('engineer', { act: 'acknowledge', alarm: one.limit });
    } else {
      const asks = steps.flatMap((other, k) => (other.do === 'ask' && k < n ? [k] : []));
      const reason = `step ${asks.at(-one.back)}`;
      const change = pipeline.room().changes.find((slip) => slip.reason === reason)?.number;
      if (change === undefined) return;
      if (one.do === 'approve') act(one.by, { act: 'approve change', change, note: '', ...said });
      else act(one.by, { act: 'decline change', change, reason: 'no' });
    }
  });
  alarms.push(...structuredClone(pipeline.flush().alarms));
  return { entries, alarms };
}

/** Every line whole, so that a difference shows as text. */
const lines = (alarms: readonly AlarmEvent[]) => alarms.map((event) => JSON.stringify(event));
const lot = fc.constantFrom(0, 50_000, 1_000_000);

it('says what the same flight under the other limit says, whatever was changed meanwhile and however it is cut', () => {
  let differing = 0;
  let changed = 0;
  fc.assert(
    fc.property(
      fc.array(step, { minLength: 5, maxLength: 40 }),
      fc.constantFrom(...limitIds),
      fc.integer({ min: -39, max: 59 }),
      lot,
      (steps, limit, caution, gather) => {
        const change = changeOfLimit(limit, valuesOf(limit, caution));
        const flight = fly(steps, flown);
        const twin = fly(steps, change.mission(flown), limit);
        const replay = changeReplay({ entries: flight.entries, makeFold: () => new Pipeline({ gather }), change });
        expect(lines(replay.before)).toEqual(lines(flight.alarms));
        expect(lines(replay.after)).toEqual(lines(twin.alarms));
        expect(replay.differences).toEqual(differenceList(flight.alarms, twin.alarms, replay.to));
        if (replay.differences.length > 0) differing++;
        if (flight.entries.some((entry) => entry.kind === 'action' && entry.action.act === 'approve change')) changed++;
      },
    ),
    { seed: 20261125, numRuns: 300 },
  );
  // the flights are such that something is at stake
  expect(differing).toBeGreaterThan(100);
  expect(changed).toBeGreaterThan(50);
});

it('under the mission as it was, by another name, nothing differs', () => {
  fc.assert(
    fc.property(fc.array(step, { minLength: 5, maxLength: 40 }), lot, (steps, gather) => {
      const { entries } = fly(steps, flown);
      const replay = changeReplay({
        entries,
        makeFold: () => new Pipeline({ gather }),
        change: { mission: (was) => ({ ...was, baselineId: 'by another name' }) },
      });
      expect(replay.differences).toEqual([]);
      expect(lines(replay.after)).toEqual(lines(replay.before));
    }),
    { seed: 20261125, numRuns: 100 },
  );
});
