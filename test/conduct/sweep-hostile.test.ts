/** Ways in which a control that is not right could slip through the sweep, each held shut. */
import { deserialize, serialize } from 'node:v8';
import { describe, expect, it } from 'vitest';
import type { Batch } from '../../protocol/batch.ts';
import type { SweepView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ReadinessPlan, SweepPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { ControlSweep } from '../../station/conduct/control-sweep.ts';
import { chance, say } from '../support/checked-channels.ts';
import { BEGUN, CONTROLS, RATE, rigs, sweepBatches, sweptMission } from '../support/swept-controls.ts';
import { batchOf, type Instant } from '../support/tiny-batch.ts';

type Path = (at: number) => number;
/** From the middle to the low end, to the high one and back, with rests. */
const whole: Path = (at) => clip(0.5 - 0.53 * Math.sin((2 * Math.PI * at) / 20));
const clip = (share: number): number => Math.max(0, Math.min(1, share));

/** From place to place, with a rest at each, 20 seconds in all; a little beyond the ends. */
const through =
  (places: readonly number[]): Path =>
  (at) => {
    const leg = (at / 20) * (places.length - 1);
    const k = Math.min(places.length - 2, Math.floor(leg));
    const share = (1 - Math.cos(Math.PI * Math.min(1, leg - k))) / 2;
    const beyond = (place: number): number => 0.5 + (place - 0.5) * 1.06;
    return clip(beyond(places[k] as number) * (1 - share) + beyond(places[k + 1] as number) * share);
  };

interface Moved {
  /** shares of travel over seconds, by control; those left out go the whole way */
  paths?: ReadonlyMap<number, Path>;
  /** where it is at the sample, given where it would be without fault */
  position?: (k: number, share: number, at: number) => number;
  /** of channel A, B, C: what it adds */
  channel?: (k: number, letter: number, at: number) => number;
  lasts?: number;
  /** seconds from and to which no sample comes */
  lost?: (i: number) => boolean;
  /** added to the aircraft's clock, seconds */
  clock?: (at: number) => number;
  code?: (k: number, at: number) => number;
}

/** 40 ms behind the command, with noise. */
function batchesOf({ paths, position, channel, lasts = 20, lost, clock, code }: Moved): Batch[] {
  const { normal } = chance(5);
  const columns = Array.from({ length: 4 * CONTROLS }, (_, k) => k);
  const batches: Batch[] = [];
  for (let from = 0; from < lasts * RATE; from += RATE) {
    const instants: Instant[] = [];
    for (let i = from; i < from + RATE; i++) {
      if (lost?.(i)) continue;
      const at = (i + 1) / RATE;
      const values: number[] = [];
      const validity: number[] = [];
      rigs.forEach(([low, high], k) => {
        const path = paths?.get(k) ?? whole;
        const unit = (share: number): number => low + share * (high - low);
        const share = path(Math.max(0, at - 0.04));
        const there = position ? position(k, share, at) : share;
        values.push(unit(path(at)));
        validity.push(Validity.good);
        for (let letter = 0; letter < 3; letter++) {
          values.push(unit(there + (channel?.(k, letter, at) ?? 0) + 0.0003 * normal()));
          validity.push(code?.(k, at) ?? Validity.good);
        }
      });
      instants.push({ time: BEGUN + Math.round((at + (clock?.(at) ?? 0)) * SECOND), values, validity });
    }
    if (instants.length > 0) batches.push(batchOf(0, columns, instants));
  }
  return batches;
}

const planned = (change: Partial<SweepPlan>): Mission => {
  const mission = sweptMission();
  const readiness = mission.readiness as ReadinessPlan;
  return { ...mission, readiness: { ...readiness, sweep: { ...(readiness.sweep as SweepPlan), ...change } } };
};

function sweep(of: Moved, mission = sweptMission(), ended = (of.lasts ?? 20) * SECOND): SweepView {
  const part = new ControlSweep(mission);
  expect(say(part, 'begin sweep', {}, BEGUN)).toBe('');
  for (const batch of batchesOf(of)) part.run([batch]);
  expect(say(part, 'end sweep', {}, BEGUN + ended)).toBe('');
  return part.view() as SweepView;
}

const only = (k: number, path: Path): Moved => ({ paths: new Map([[k, path]]) });

describe('full travel in both directions', () => {
  it('is found nothing against: from the middle, from either end, in pieces that overlap, with frames lost on the way', () => {
    const paths: Path[] = [
      whole,
      (at) => 1 - whole(at),
      (at) => clip(0.5 - 0.53 * Math.cos((2 * Math.PI * at) / 20)),
      (at) => clip(0.5 + 0.53 * Math.cos((2 * Math.PI * at) / 20)),
      // in pieces that overlap
      through([0.5, 0, 0.6, 0.45, 1, 0.4, 0.5]),
    ];
    for (const path of paths) {
      const lost = (i: number): boolean => i % 97 === 3;
      const { channels } = sweep({ ...only(1, path), lost });
      for (const { faults, cannotTell } of channels) expect([faults, cannotTell]).toEqual([[], []]);
    }
  });

  it('is not what went from one end to the other once', () => {
    for (const [way, path] of [
      ['down', (at: number) => clip(0.5 - 0.53 * Math.cos((Math.PI * at) / 20))],
      ['up', (at: number) => clip(0.5 + 0.53 * Math.cos((Math.PI * at) / 20))],
    ] as const) {
      const { channels } = sweep(only(1, path));
      expect(channels[1]?.faults).toEqual([
        expect.stringMatching(new RegExp(`^one way only: never went ${way} between`)),
      ]);
      expect(channels[0]?.faults).toEqual([]);
    }
  });

  it('is not what jumped over a part of the way back while no sample came', () => {
    // down and up, but for the way up from 0.2 to 0.8 no sample came
    const path: Path = (at) => clip(0.5 + 0.53 * Math.cos((2 * Math.PI * at) / 20));
    const code = (k: number, at: number): number => {
      const isUp = at > 10 && path(at - 0.04) > 0.2 && path(at - 0.04) < 0.8;
      return k === 1 && isUp ? Validity.plausible : Validity.good;
    };
    const { channels } = sweep({ ...only(1, path), code }, planned({ missing: 0.5 }));
    expect(channels[1]?.faults).toContainEqual(expect.stringMatching(/^one way only: never went up between/));
  });

  it('is not made up by one wild sample there and back', () => {
    const path: Path = (at) => clip(0.5 - 0.53 * Math.cos((Math.PI * at) / 20));
    const position = (k: number, share: number, at: number): number =>
      k === 1 && Math.round(at * RATE) % 400 === 0 ? 0 : share;
    const { channels } = sweep({ ...only(1, path), position });
    expect(channels[1]?.faults).toContainEqual(expect.stringMatching(/^one way only/));
  });
});

it('samples lost here and there, fewer than are allowed, leave nothing untold', () => {
  for (let seed = 1; seed <= 10; seed++) {
    const { uniform } = chance(seed);
    const { channels, done } = sweep({ lost: () => uniform() < 0.012, lasts: 20 });
    for (const { faults, cannotTell } of channels) expect([faults, cannotTell]).toEqual([[], []]);
    expect(done).toBe(true);
  }
});

describe('what was planned to be judged and could not be', () => {
  it('is "cannot tell", and the sweep is not done: hysteresis by movement too even, delay of too little', () => {
    // one speed all the way, without rest, turning sharply
    const even: Path = (at) => clip(Math.abs(((at / 10 + 0.5) % 2) - 1));
    const view = sweep(only(1, even));
    expect(view.channels[1]?.hysteresis).toBeNull();
    expect(view.channels[1]?.cannotTell).toEqual([expect.stringMatching(/^hysteresis: /)]);
    expect(view).toMatchObject({ done: false });
    const still = sweep({ paths: new Map([[1, () => 0.5]]) });
    expect(still.channels[1]?.cannotTell).toContainEqual(expect.stringMatching(/^delay: /));
    expect(still.done).toBe(false);
  });

  it('is not asked for where it is not planned', () => {
    const { hysteresis: _, delay: __, ...rest } = sweptMission().readiness?.sweep as SweepPlan;
    const mission = sweptMission();
    const plain = { ...mission, readiness: { ...(mission.readiness as ReadinessPlan), sweep: rest } };
    const even: Path = (at) => clip(Math.abs(((at / 10 + 0.5) % 2) - 1));
    expect(sweep(only(1, even), plain).channels[1]?.cannotTell).toEqual([]);
  });

  it('is what a clock that went back leaves: how many samples are missing', () => {
    for (const by of [2, 3600]) {
      const clock = (at: number): number => (at > 15 ? -by : 0);
      const view = sweep({ clock }, sweptMission(), (20 - by) * SECOND);
      for (const { cannotTell } of view.channels)
        expect(cannotTell).toContainEqual(expect.stringMatching(/^rate loss: aircraft time went back/));
      expect(view.done).toBe(false);
    }
  });
});

describe('a control that is not right is found', () => {
  it('when it stands still for a moment, and then jumps after its command', () => {
    let held = Number.NaN;
    const position = (k: number, share: number, at: number): number => {
      if (k !== 1 || at < 8.5 || at > 9.1) {
        held = k === 1 ? share : held;
        return share;
      }
      return held;
    };
    const { channels } = sweep({ position });
    expect(channels[1]?.faults).toContainEqual(expect.stringMatching(/^tracking: /));
    expect(channels[0]?.faults).toEqual([]);
  });

  it('when its channels part only while it moves', () => {
    const speed = (at: number): number => (whole(at) - whole(at - 0.02)) / 0.02;
    const channel = (k: number, letter: number, at: number): number => (k === 2 && letter === 1 ? 0.12 * speed(at) : 0);
    const { channels } = sweep({ channel });
    expect(channels[2]?.faults).toEqual([expect.stringMatching(/^spread: /)]);
  });
});

describe('under another mission', () => {
  it('nothing is swept where rig values or what is allowed are others, and all is where they are the same', () => {
    const part = new ControlSweep(sweptMission());
    say(part, 'begin sweep', {}, BEGUN);
    for (const batch of sweepBatches({ seed: 3 })) part.run([batch]);
    say(part, 'end sweep', {}, BEGUN + 20 * SECOND);
    const restored = (mission: Mission): SweepView => {
      const next = new ControlSweep(mission);
      next.restore(deserialize(serialize(part.save())));
      return next.view() as SweepView;
    };
    expect(restored({ ...sweptMission(), baselineId: 'other' })).toEqual(part.view());
    const { channels } = sweptMission().readiness?.sweep as SweepPlan;
    const wider = planned({ channels: channels.map((one) => ({ ...one, rig: [one.rig[0], one.rig[1] * 2] })) });
    for (const other of [wider, planned({ tracking: 0.001 })])
      expect(restored(other)).toMatchObject({ running: false, done: false });
  });
});
