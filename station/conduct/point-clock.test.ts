import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { at, cardMission, Room, signalsOf } from '../../test/support/point-run.ts';

describe('aircraft time that steps back', () => {
  /** Folds samples of an earlier time, as after somebody set the clock of the aircraft. */
  const back = (made: Room, from: number, to: number) => made.points.run(made.signalsFrom(from, to));
  const enter = (made: Room, choice: string, seconds: number) =>
    made.act('enter gate', { number: 1, choice, aircraft: at(seconds) });
  const begun = (until: number): Room => {
    const made = new Room(cardMission(), signalsOf(40)).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.until(until);
    expect(enter(made, 'on condition', until)).toBe('');
    return made;
  };

  it('does not lock the run: its gates go on in the time there is now, and the record is to be flown again', () => {
    const made = begun(20);
    made.until(25);
    back(made, 5, 8);
    expect(enter(made, 'recover', 7.9)).toBe('');
    expect(made.run.advice?.reasons).toContain('aircraft time stepped back by 19.99 s during the record');
    made.act('judge point', { number: 1, choice: 'repeat', aircraft: at(7.9) });
    expect(enter(made, 'closed', 7.95)).toBe('');
  });

  it('still lets no gate be entered before the one before it, where both are of the time there is now', () => {
    const made = begun(20);
    made.until(25);
    back(made, 5, 8);
    expect(enter(made, 'recover', 7.9)).toBe('');
    expect(enter(made, 'admin', 7.8)).toBe('that was before recover was entered, at 10:00:07.900');
  });

  it('is noticed before the first sample of the record', () => {
    const made = begun(15);
    back(made, 10, 15);
    made.until(27);
    expect(enter(made, 'recover', 26.5)).toBe('');
    expect(made.run.recorded).toBe(11.5 * SECOND);
    expect(made.run.advice).toEqual({
      judgement: 'repeat',
      reasons: ['aircraft time stepped back by 4.99 s during the record'],
    });
  });

  it('brings nothing more into a record that had ended', () => {
    const made = begun(5);
    made.until(16.01);
    expect(enter(made, 'recover', 16)).toBe('');
    made.until(20);
    const before = made.run;
    expect(before.advice).toEqual({ judgement: 'good', reasons: [] });
    back(made, 10, 14);
    expect(made.run).toEqual(before);
    made.call(30);
    expect(made.run.statistics).toEqual(before.statistics);
  });

  it('does not let what pends grow', () => {
    const made = begun(20);
    made.until(39);
    const pending = () =>
      (made.points.save() as { flight: { state: { pending: { time: Float64Array } } } }).flight.state.pending.time
        .length;
    const full = pending();
    back(made, 0, 38);
    expect(pending()).toBeLessThanOrEqual(full + 20);
  });
});
