/** Ways in which a channel that is not right could slip through the morning check, each held shut. */
import { deserialize, serialize } from 'node:v8';
import { describe, expect, it } from 'vitest';
import type { MorningView } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { MorningCheckPlan, ReadinessPlan } from '../../protocol/readiness.ts';
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { MorningCheck } from '../../station/conduct/morning-check.ts';
import { byGroup, checkedMission, type Piece, type Room, say, sheetOf, Standing } from '../support/checked-channels.ts';

const RATES = [200, 50, 20];
const SMALL: Room = { seed: 31, count: 6 };
type Spoil = (piece: Piece, seconds: number) => void;

/** A morning check step by step: what is applied, and what is done to the samples before they are looked at. */
class Morning {
  readonly standing: Standing;
  check: MorningCheck;
  #seconds = 0;

  constructor(room: Room, mission?: Mission) {
    this.standing = new Standing(room);
    this.check = new MorningCheck(mission ?? this.standing.mission);
  }

  go(seconds: number, shunt = -1, spoil: Spoil = () => undefined): void {
    for (let left = seconds; left > 1e-9; left -= 0.5) {
      const piece = this.standing.go(0.5, shunt);
      spoil(piece, this.#seconds);
      this.#seconds += 0.5;
      this.check.run(byGroup(piece.batches), piece.frames);
    }
  }

  begin(choice: 'zero' | 'shunt', subject = ''): string {
    this.#seconds = 0;
    return say(this.check, 'begin check', { choice, subject }, this.standing.now);
  }

  zero(spoil?: Spoil): void {
    expect(this.begin('zero')).toBe('');
    this.go(6, -1, spoil);
  }

  shunt(k: number, spoil?: Spoil): void {
    this.go(0.5, k);
    expect(this.begin('shunt', `CH${k}`)).toBe('');
    this.go(6, k, spoil);
  }

  whole(): void {
    this.zero();
    for (let k = 0; k < (SMALL.count ?? 0); k++) this.shunt(k);
    expect(say(this.check, 'end check', {}, this.standing.now)).toBe('');
  }

  get view(): MorningView {
    return this.check.view() as MorningView;
  }

  faults(k: number): string[] {
    return this.view.channels[k]?.faults ?? [];
  }
}

/** Writes into the samples of channel k; `at` in seconds since what is gathered was begun. */
const into =
  (k: number, change: (value: number, at: number, i: number) => number, code?: (i: number) => number): Spoil =>
  ({ batches }, seconds) => {
    const batch = batches.find(({ group }) => group === k % RATES.length);
    const place = batch?.columns.indexOf(k) ?? -1;
    const values = batch?.values[place] as Float64Array;
    const { rate } = sheetOf(k, RATES);
    for (let i = 0; i < values.length; i++) {
      values[i] = change(values[i] as number, seconds + i / rate, i);
      const marked = code?.(Math.round(seconds * rate) + i) ?? 0;
      if (marked !== 0) (batch?.validity[place] as Uint8Array)[i] = marked;
    }
  };

describe('the morning check begins anew with zero', () => {
  it('so that no shunt of before a repair counts after it', () => {
    const morning = new Morning(SMALL);
    morning.whole();
    expect(morning.view).toMatchObject({ complete: true, faults: 0 });
    morning.zero();
    expect(morning.view.complete).toBe(false);
    for (const { looked, shunt } of morning.view.channels)
      expect([looked, shunt]).toEqual([['zero', 'rate', 'range'], null]);
  });

  it('also when that is ended before its time: what was found before is gone', () => {
    const morning = new Morning(SMALL);
    morning.whole();
    expect(morning.begin('zero')).toBe('');
    morning.go(1);
    expect(say(morning.check, 'end check', {}, morning.standing.now)).toBe('');
    expect(morning.view).toMatchObject({ complete: false });
    expect(morning.view.channels.flatMap(({ looked }) => looked)).toEqual([]);
  });

  it('and forgets a jump of the clocks that has been mended, but not what the recorder was found to be', () => {
    const morning = new Morning(SMALL);
    say(morning.check, 'report recorder', { choice: 'verified', text: 'all' }, 0);
    morning.begin('zero');
    morning.go(2);
    const { frames } = morning.standing.go(0.5, -1);
    morning.check.run([], { ...frames, aircraft: frames.aircraft.map((at) => at - 5 * SECOND) });
    morning.go(6);
    expect(morning.view.timeFaults).toContainEqual(expect.stringContaining('went back'));
    morning.zero();
    expect(morning.view.timeFaults).toEqual([]);
    expect(morning.view.recorder.state).toBe('verified');
  });
});

describe('under another mission', () => {
  const restored = (morning: Morning, other: Mission): MorningView => {
    const check = new MorningCheck(other);
    check.restore(deserialize(serialize(morning.check.save())));
    return check.view() as MorningView;
  };
  const planned = (mission: Mission, change: (plan: MorningCheckPlan) => Partial<MorningCheckPlan>): Mission => {
    const readiness = mission.readiness as ReadinessPlan;
    const morning = readiness.morning as MorningCheckPlan;
    return { ...mission, readiness: { ...readiness, morning: { ...morning, ...change(morning) } } };
  };

  it('nothing is looked at yet where calibrations or what is expected are others, and all is where they are the same', () => {
    const morning = new Morning(SMALL);
    say(morning.check, 'report recorder', { choice: 'verified', text: 'all' }, 0);
    morning.whole();
    const { mission } = morning.standing;
    expect(restored(morning, checkedMission(SMALL))).toEqual(morning.view);
    expect(restored(morning, { ...mission, baselineId: 'other', limits: [] })).toEqual(morning.view);
    const others: Mission[] = [
      checkedMission({ ...SMALL, faults: new Map([[2, { calibration: { slope: 1.1, zero: 0 } }]]) }),
      planned(mission, ({ channels }) => ({ channels: channels.map((one) => ({ ...one, zeroTolerance: 1e-9 })) })),
      planned(mission, () => ({ rateTolerance: 0.001 })),
    ];
    for (const other of others) {
      const view = restored(morning, other);
      expect(view).toMatchObject({ complete: false, ended: null, recorder: { state: 'verified' } });
      expect(view.channels.flatMap(({ looked }) => looked)).toEqual([]);
    }
  });
});

describe('a channel of the morning check is not shown healthy', () => {
  const { noise } = sheetOf(1, RATES);

  it('that drifts through its tolerance while it is gathered, from one side of it to the other', () => {
    for (const way of [1, -1]) {
      const morning = new Morning(SMALL);
      // from 4 noises below to 4 above, tolerance 5: the mean is right
      morning.zero(into(1, (value, at) => value + way * noise * 2 * (at - 2.5)));
      expect(morning.faults(1)).toContainEqual(expect.stringMatching(/^unsteady: moved by/));
    }
  });

  it('that is thrown far out for a sample now and then', () => {
    const morning = new Morning({ ...SMALL, faults: new Map() });
    const far = 25 * sheetOf(0, RATES).noise;
    morning.zero(into(0, (value, at, i) => (i === 7 && at > 2 && at < 2.5 ? value + far : value)));
    expect(morning.faults(0)).toContainEqual(expect.stringMatching(/^noisy: single samples up to/));
  });

  it('that is not usable for many small reasons, none of them large enough alone', () => {
    const morning = new Morning(SMALL);
    const codes = [Validity.plausible, Validity.input, Validity.link];
    // 1.5 % each, 4.5 % together, of 2 % that are allowed
    morning.zero(
      into(
        0,
        (value) => value,
        (i) => (i % 67 < 3 ? (codes[i % 67] as number) : 0),
      ),
    );
    expect(morning.faults(0)).toContainEqual(expect.stringMatching(/^validity: 3\d of 800 samples not usable: /));
  });

  it('whose samples are no numbers, whatever their mark says', () => {
    const morning = new Morning(SMALL);
    morning.zero(into(0, (value, _at, i) => (i % 20 === 0 ? Number.NaN : value)));
    expect(morning.faults(0)).toContainEqual(expect.stringMatching(/^validity: .* the formula has no value here/));
  });

  it('that stands still, or is noisy, with its shunt in, though the step is right', () => {
    const { shunt, zero } = sheetOf(1, RATES);
    const morning = new Morning(SMALL);
    morning.zero();
    // as an amplifier at its end
    morning.shunt(
      1,
      into(1, () => zero + shunt),
    );
    expect(morning.faults(1)).toContainEqual(expect.stringMatching(/^dead: .* with its shunt in, without any noise/));
    morning.shunt(
      1,
      into(1, (value, _at, i) => value + (i % 2 === 0 ? 4 : -4) * noise),
    );
    expect(morning.faults(1)).toContainEqual(expect.stringMatching(/^noisy: noise .* with its shunt in/));
    morning.shunt(1);
    expect(morning.faults(1)).toEqual([]);
  });

  it('whose offset is made good by a calibration that is not the one of its sheet', () => {
    for (const off of [8, -8]) {
      const faults = new Map([[1, { offset: off * noise, calibration: { slope: 1, zero: -off * noise } }]]);
      const morning = new Morning({ ...SMALL, faults });
      morning.zero();
      expect(morning.faults(1)).toEqual([expect.stringMatching(/^calibration: mean .* not that of the sheet$/)]);
    }
  });

  it('in a ring of three whose wires go one further each, whatever their shunts, also where those are equal', () => {
    const ring = new Map([
      [0, { swappedWith: 4 }],
      [4, { swappedWith: 8 }],
      [8, { swappedWith: 0 }],
    ]);
    const morning = new Morning({ seed: 8, count: 9, faults: ring });
    morning.zero();
    for (const k of [0, 4, 8]) morning.shunt(k);
    for (const k of [0, 4, 8]) expect(morning.faults(k).filter((fault) => fault.startsWith('swapped'))).toHaveLength(2);
    for (const k of [1, 2, 3, 5, 6, 7]) expect(morning.faults(k)).toEqual([]);
  });

  it('whose samples stop in the middle, by a link that is lost; that is closed once samples come again', () => {
    const morning = new Morning(SMALL);
    morning.begin('zero');
    morning.go(2);
    morning.standing.go(20, -1);
    morning.go(0.5);
    expect(morning.view.gathering).toBe('');
    for (const { faults, looked } of morning.view.channels) {
      expect(faults).toContainEqual(expect.stringMatching(/^rate: /));
      expect(looked).not.toContain('zero');
    }
  });

  it('whose calibration has no date, or one that is still to come, where its age is planned', () => {
    const mission = checkedMission(SMALL);
    const { readiness, parameters } = mission;
    const morning = { ...readiness?.morning, calibrationDays: 20 } as MorningCheckPlan;
    const dates: Record<number, string | undefined> = { 0: undefined, 1: '2062-09-20' };
    const dated = parameters.map(({ calibrationDate: _, ...one }, k) => {
      const date = k in dates ? dates[k] : '2026-09-20';
      return { ...one, ...(date !== undefined && { calibrationDate: date }) };
    });
    const of = new Morning(SMALL, {
      ...mission,
      parameters: dated,
      readiness: { ...(readiness as ReadinessPlan), morning },
    });
    of.begin('zero');
    expect(of.faults(0)).toEqual([expect.stringMatching(/^calibration: made nobody knows when/)]);
    expect(of.faults(1)).toEqual([expect.stringMatching(/^calibration: made \d+ days after today/)]);
    expect(of.faults(2)).toEqual([]);
  });
});

it('a clock that was off for a part of the check is found, though the mean of all of it is not', () => {
  const morning = new Morning(SMALL);
  const late: Spoil = ({ frames }, seconds) => {
    if (seconds >= 2 && seconds < 4)
      for (let i = 0; i < frames.length; i++) frames.ground[i] = (frames.ground[i] as number) + 0.5 * SECOND;
  };
  morning.zero(late);
  for (let k = 0; k < 6; k++) morning.shunt(k);
  expect(morning.view.timeFaults).toContainEqual(
    expect.stringMatching(/^time: ground minus aircraft time was 0\.5\d* s/),
  );
});

it('one frame that was late is no fault of the clocks', () => {
  const morning = new Morning(SMALL);
  morning.zero(({ frames }, seconds) => {
    if (seconds === 2) frames.ground[3] = (frames.ground[3] as number) + 2 * SECOND;
  });
  expect(morning.view.timeFaults).toEqual([]);
});
