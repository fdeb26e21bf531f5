import { describe, expect, it } from 'vitest';
import { groundTime } from '../../protocol/time.ts';
import { believed, lateness, Requests } from './requests.ts';

describe('request numbers', () => {
  it('are taken once in a session, rising', () => {
    const requests = new Requests();
    const taken = [0, 1, 1, 5, 3, 5, 6, 0].map((request) => requests.take('a', request));
    expect(taken).toEqual([true, true, false, true, false, false, true, false]);
  });

  it('of one session say nothing of another, nor of what came without one', () => {
    const requests = new Requests();
    expect(requests.take('a', 7)).toBe(true);
    expect(requests.take('b', 7)).toBe(true);
    expect(requests.take(undefined, 7)).toBe(true);
    expect(requests.take(undefined, 7)).toBe(true);
    expect(requests.take('b', 6)).toBe(false);
    expect(requests.save()).toEqual([
      ['a', 7],
      ['b', 7],
    ]);
  });

  it('are kept of the thousand sessions that acted last', () => {
    const requests = new Requests();
    for (let i = 0; i < 1000; i++) requests.take(`s${i}`, 9);
    expect(requests.take('s0', 9)).toBe(false);
    requests.take('new', 1);
    expect(requests.save()).toHaveLength(1000);
    expect(requests.take('s0', 9)).toBe(false);
    expect(requests.take('s2', 9)).toBe(false);
    expect(requests.take('s1', 9)).toBe(true);
  });

  it('come back as they were saved, and share nothing with what was saved', () => {
    const requests = new Requests();
    requests.take('a', 3);
    requests.take('b', 4);
    requests.take('a', 5);
    const saved = requests.save();
    const other = new Requests();
    other.take('c', 1);
    other.restore(saved);
    expect(other.save()).toEqual([
      ['b', 4],
      ['a', 5],
    ]);
    expect(other.take('a', 5)).toBe(false);
    other.take('b', 9);
    expect(requests.save()).toEqual(saved);
  });
});

describe('what was acted upon', () => {
  const now = groundTime(100_000_000);

  it('up to ten seconds ago, or up to one ahead, or nobody knows when, is in time', () => {
    for (const made of [undefined, 100_000_000, 90_000_000, 101_000_000]) expect(lateness(made, now)).toBe('');
  });

  it('earlier or later is told by how much', () => {
    expect(lateness(89_999_999, now)).toBe(
      'this was done 10.0 s before it arrived here, which is too late: look again, and repeat it',
    );
    expect(lateness(70_000_000, now)).toMatch(/^this was done 30.0 s before/);
    expect(lateness(101_000_001, now)).toBe('this was done 1.0 s after it arrived here: the clocks differ');
    expect(lateness(103_500_000, now)).toMatch(/^this was done 3.5 s after/);
  });

  it('at what is no time is refused', () => {
    for (const made of [Number.NaN, -1, 99_999_999.5]) expect(lateness(made, now)).toBe(`${made} is not a ground time`);
  });

  it('is believed to have been so unless that lies ahead or is no time', () => {
    expect(believed(1, now)).toBe(1);
    expect(believed(101_000_000, now)).toBe(101_000_000);
    for (const made of [undefined, 101_000_001, Number.NaN, -1, 0.5]) expect(believed(made, now)).toBe(0);
  });
});
