import { describe, expect, it } from 'vitest';
import { SECOND } from '../../protocol/time.ts';
import { at, cardMission, lacking, pointOf, Room, signalsOf } from '../../test/support/point-run.ts';
import { family, measure } from '../../test/support/step-family.ts';

/** A run whose record goes from 5 s to 16 s, standing at recover. */
function flown(made: Room): Room {
  made.until(1).act('begin point', { subject: 'level-80' });
  made.until(5).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) });
  made.until(16.01).act('enter gate', { number: 1, choice: 'recover', aircraft: at(16) });
  return made;
}

describe('what a family follows from step to step', () => {
  const step = pointOf({ family: 'level', step: 80, predicted: [] });
  const of = cardMission([step], { families: [family({ measures: [measure({ parameter: 'OAT', unit: 'degC' })] })] });
  const signals = signalsOf(40);

  it('must be there in the record of a step, required or not', () => {
    expect(flown(new Room(of, signals)).run.advice?.judgement).toBe('good');
    // one value a second: of eleven, three are left
    const { advice } = flown(new Room(of, { ...signals, OAT: lacking(signals.OAT, 8, 16) })).run;
    expect(advice).toEqual({
      judgement: 'repeat',
      reasons: ['OAT dropped out for 8000 ms in all; 200 ms may be missing'],
    });
  });
});

describe('a stop call that is logged late', () => {
  const closed = (): Room => {
    const made = flown(new Room(cardMission(), signalsOf(40)));
    made.act('judge point', { number: 1, choice: 'good' });
    made.act('enter gate', { number: 1, choice: 'closed' });
    expect(made.run.advice).toEqual({ judgement: 'good', reasons: [] });
    return made.until(20);
  };

  it('and was made during the record of a closed run speaks against that run', () => {
    const made = closed();
    made.call(12);
    expect(made.run.judged?.judgement).toBe('good');
    expect(made.run.advice).toEqual({
      judgement: 'repeat',
      reasons: ['stop call 1 (STOP TEST) during the record, at 10:00:12.000'],
    });
  });

  it('says nothing of a record before or after which it was made', () => {
    for (const second of [4.9, 16, 19]) {
      const made = closed();
      made.call(second);
      expect(made.run.advice).toEqual({ judgement: 'good', reasons: [] });
    }
  });
});

describe('a point that was skipped and is flown after all', () => {
  it('is judged anew: the skip does not stand', () => {
    const made = new Room(cardMission(), signalsOf(40)).until(1);
    made.act('begin point', { subject: 'level-80' });
    made.act('judge point', { number: 1, choice: 'skip', text: 'fuel' });
    made.until(5).act('enter gate', { number: 1, choice: 'on condition', aircraft: at(5) });
    expect(made.run.judged).toBeUndefined();
    made.until(16.01).act('enter gate', { number: 1, choice: 'recover', aircraft: at(16) });
    expect(made.act('enter gate', { number: 1, choice: 'closed' })).toMatch(/^run 1 is not judged yet/);
    expect(made.run.recorded).toBe(11 * SECOND);
  });
});

describe('a second class 1 call on the same cause', () => {
  it('ends testing: no further point is begun that day, whatever closed it', () => {
    const made = new Room(cardMission(), signalsOf(40)).until(1);
    made.call(0.5);
    Object.assign(made.calls[0] as object, { step: 'closed', decision: 'return', repeatOf: 1 });
    expect(made.act('begin point', { subject: 'level-80' })).toBe(
      'a second class 1 call on the same cause ended testing for the day',
    );
  });
});
