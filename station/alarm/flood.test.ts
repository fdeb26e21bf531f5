import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { FloodClock, type Foldable, foldFlood } from './flood.ts';

/** Announcements at position 0 at these seconds; the clock after them. */
const after = (seconds: readonly number[], positions = 2): FloodClock => {
  const clock = new FloodClock(positions);
  for (const second of seconds) clock.announce(0, second * SECOND);
  return clock;
};
const every = (count: number, step: number, from = 0): number[] =>
  Array.from({ length: count }, (_, i) => from + i * step);

describe('a flood of ten minutes', () => {
  // AL-ISA-FLOODDEF
  it('begins with the eleventh announcement in ten minutes, not with the tenth', () => {
    expect(after(every(10, 59)).in(0)).toBe(false);
    const clock = after(every(11, 59));
    expect(clock.in(0)).toBe(true);
    expect(clock.in(1)).toBe(false);
    expect(clock.since(0)).toBe(590 * SECOND);
    expect(clock.from(0)).toBe(0);
    expect(clock.count(0)).toBe(1);
  });

  it('does not count an announcement that is ten minutes old', () => {
    expect(after(every(11, 60)).in(0)).toBe(false);
    expect(after([...every(10, 60, 0.000001), 600]).in(0)).toBe(true);
  });

  it('ends at the very moment at which fewer than five are left', () => {
    const clock = after(every(11, 50));
    // the newest five: 300, 350, 400, 450, 500 s
    expect(clock.deadline).toBe(900 * SECOND);
    clock.pass(900 * SECOND - 1);
    expect(clock.in(0)).toBe(true);
    expect(clock.time(0)).toBe(400 * SECOND - 1);
    clock.pass(900 * SECOND);
    expect(clock.in(0)).toBe(false);
    expect(clock.deadline).toBe(Number.POSITIVE_INFINITY);
    clock.pass(2000 * SECOND);
    expect(clock.time(0)).toBe(400 * SECOND);
  });

  it('goes on while five are left, and begins again after its end as another one', () => {
    const clock = after(every(11, 50));
    clock.announce(0, 899 * SECOND);
    expect(clock.deadline).toBe(950 * SECOND);
    clock.pass(949 * SECOND);
    expect(clock.in(0)).toBe(true);
    clock.pass(950 * SECOND);
    expect([clock.in(0), clock.time(0)]).toEqual([false, 450 * SECOND]);
    for (const second of every(11, 55, 2000)) clock.announce(0, second * SECOND);
    expect([clock.count(0), clock.since(0), clock.from(0)]).toEqual([2, 2550 * SECOND, 2000 * SECOND]);
  });
});

describe('a burst', () => {
  it('begins with the sixth announcement in ten seconds, not with the fifth', () => {
    expect(after(every(5, 1)).in(0)).toBe(false);
    const clock = after([0, 100, 101, 102, 103, 104, 105]);
    expect([clock.in(0), clock.since(0), clock.from(0)]).toEqual([true, 105 * SECOND, 100 * SECOND]);
  });

  it('does not count an announcement that is ten seconds old', () => {
    expect(after(every(6, 2)).in(0)).toBe(false);
    expect(after([0, 2, 4, 6, 8, 9.999999]).in(0)).toBe(true);
  });

  it('ends a minute after its last announcement', () => {
    const clock = after(every(6, 1));
    expect(clock.deadline).toBe(65 * SECOND);
    clock.announce(0, 64 * SECOND);
    expect(clock.deadline).toBe(124 * SECOND);
    clock.pass(124 * SECOND - 1);
    expect(clock.in(0)).toBe(true);
    clock.pass(124 * SECOND);
    expect([clock.in(0), clock.time(0), clock.count(0)]).toEqual([false, 119 * SECOND, 1]);
  });

  it('that grows into a flood of ten minutes is one flood, and ends with the later of the two', () => {
    const clock = after(every(11, 1));
    expect([clock.since(0), clock.from(0), clock.count(0)]).toEqual([5 * SECOND, 0, 1]);
    clock.pass(70 * SECOND);
    expect([clock.in(0), clock.deadline]).toEqual([true, 606 * SECOND]);
    clock.pass(10_000 * SECOND);
    expect([clock.in(0), clock.time(0)]).toEqual([false, 601 * SECOND]);
  });
});

describe('the clock of floods', () => {
  it('lets no time go back: what comes late counts now', () => {
    const clock = new FloodClock(1);
    clock.pass(100 * SECOND);
    expect(clock.announce(0, 50 * SECOND)).toBe(100 * SECOND);
    clock.pass(20 * SECOND);
    expect(clock.announce(0, 60 * SECOND)).toBe(100 * SECOND);
    expect(clock.announce(0, 101 * SECOND)).toBe(101 * SECOND);
  });

  it('keeps positions apart', () => {
    const clock = after(every(6, 1), 3);
    for (const second of every(6, 1, 30)) clock.announce(2, second * SECOND);
    expect([0, 1, 2].map((p) => clock.in(p))).toEqual([true, false, true]);
    expect([0, 1, 2].map((p) => clock.since(p))).toEqual([5 * SECOND, 0, 35 * SECOND]);
    expect(clock.deadline).toBe(65 * SECOND);
    clock.pass(65 * SECOND);
    expect([0, 1, 2].map((p) => clock.in(p))).toEqual([false, false, true]);
    expect([0, 1, 2].map((p) => clock.time(p))).toEqual([60 * SECOND, 0, 30 * SECOND]);
    expect(clock.deadline).toBe(95 * SECOND);
  });

  it('goes on after a restore as if nothing had happened', () => {
    const clock = after(every(6, 1));
    const other = after(every(11, 3));
    other.restore(structuredClone(clock.save()));
    for (const one of [clock, other]) {
      expect([one.in(0), one.deadline, one.since(0), one.from(0), one.count(0)]).toEqual([
        true,
        65 * SECOND,
        5 * SECOND,
        0,
        1,
      ]);
      expect(one.announce(0, 3 * SECOND)).toBe(5 * SECOND);
      one.pass(100 * SECOND);
      expect(one.time(0)).toBe(60 * SECOND);
    }
    expect(() => other.restore(undefined)).toThrow('saved floods lack times');
    const { lasted: _, ...less } = structuredClone(clock.save()) as Record<string, unknown>;
    expect(() => other.restore(less)).toThrow('saved floods lack lasted');
    expect(() => other.restore(new FloodClock(3).save())).toThrow('saved floods lack times');
  });
});

describe('folding', () => {
  const at = (alarm: number, level: number, raised = alarm): Foldable => ({ alarm, level, raised });
  /** [cause, alarm] */
  const by =
    (...pairs: [number, number][]) =>
    (cause: number, alarm: number): boolean =>
      pairs.some(([c, a]) => c === cause && a === alarm);

  it('puts what explains most on top, though it was raised last or is of another position', () => {
    const flood = [at(0, 2), at(1, 2), at(2, 2)];
    expect(foldFlood(flood, [at(0, 2), at(9, 2)], by([0, 1], [9, 1], [9, 2]))).toEqual({ first: 9, folded: [0, 1, 2] });
  });

  it('of causes that explain as many takes the one raised first', () => {
    const flood = [at(2, 2), at(3, 2)];
    const standing = [at(5, 2, 51), at(4, 2, 50)];
    expect(foldFlood(flood, standing, by([5, 2], [4, 3])).first).toBe(4);
  });

  it('puts the one raised first on top where none explains any, and the others in the order they were raised', () => {
    expect(foldFlood([at(3, 2, 7), at(1, 1, 9), at(2, 2, 8)], [at(9, 2)], by())).toEqual({ first: 3, folded: [2, 1] });
  });

  it('never folds a stop limit, and a warning only under what explains it', () => {
    const flood = [at(0, 2), at(1, 3), at(2, 3), at(3, 4), at(4, 1), at(5, 2)];
    expect(foldFlood(flood, [at(0, 2)], by([0, 1], [0, 3], [0, 4]))).toEqual({ first: 0, folded: [1, 4, 5] });
  });

  it('folds nothing where nothing is left', () => {
    expect(foldFlood([], [at(0, 2)], by([0, 1]))).toEqual({ first: -1, folded: [] });
  });
});
