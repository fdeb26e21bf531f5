import { describe, expect, it } from 'vitest';
import type { Anomaly, ConductAction, PointRun } from '../../protocol/conduct.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { StopCallState } from '../../protocol/stop-call.ts';
import { entry, GROUND, missionOf, NOW } from '../../test/support/conduct.ts';
import { cardOf, damping, family, measure, point, run } from '../../test/support/step-family.ts';
import { levelLimit } from '../../test/support/tiny-mission.ts';
import { groundTime } from '../../protocol/time.ts';
import { type GateMoment, StepGates } from './step-gate.ts';

const steps = [80, 90, 100, 105, 110];
const vibrations = [0.11, 0.131, 0.164, 0.188, 0.218];
const dampings = [0.06, 0.055, 0.047, 0.042, 0.036];
const flown = steps.map((step, i) => run(i + 1, step, { VIB: vibrations[i] as number, ZETA: dampings[i] as number }));

const gates = () =>
  new StepGates(
    missionOf({
      families: [family({ measures: [measure(), damping], reserve: [112, 113] })],
      cards: [cardOf(...steps.map((step) => point(step)), point(112), point(113), point(115))],
    }),
  );

const moment = (runs: PointRun[] = flown, more: Partial<GateMoment> = {}): GateMoment => ({
  aircraft: NOW,
  ground: groundTime(GROUND),
  calls: [],
  runs: () => runs,
  anomalies: () => [],
  limits: () => [],
  ...more,
});

const decide = (
  of: StepGates,
  choice: string,
  value: number,
  { position = 'test conductor', text = '', at = moment() } = {},
): string => {
  const action: ConductAction = { act: 'decide step', subject: 'level', number: 0, choice, text, value, aircraft: 0 };
  return of.act(entry(position, action), action, at);
};

const anomaly: Anomaly = {
  ...{ number: 1, text: 'a rattle', point: '' },
  opened: { person: 'rl', position: 'rotor and loads', aircraft: 1, ground: 1 },
};
const call = { number: 4, step: 'called' } as unknown as StopCallState;

describe('the step gate', () => {
  it('lets no point of a family be flown before somebody has decided', () => {
    const gate = gates();
    expect(gate.refusal('L80', moment([]))).toBe('80 kt of Level flight is not cleared: no step was decided');
    expect(gate.refusal('L115', moment())).toBe(
      '115 kt of Level flight is not cleared: no step was decided since 110 kt was flown',
    );
    expect(gate.refusal('of no family', moment())).toBe('');
  });

  it('lets the conductor take the smaller step that it offers, and keeps the advice with the decision', () => {
    const gate = gates();
    expect(decide(gate, 'reduce', 112)).toBe('');
    expect(gate.refusal('L112', moment())).toBe('');
    expect(gate.refusal('L105', moment())).toBe('');
    expect(gate.refusal('L113', moment())).toBe('113 kt of Level flight is above the 112 kt that are cleared');
    expect(gate.refusal('L115', moment())).toBe('115 kt of Level flight is above the 112 kt that are cleared');
    const [decision] = gate.view(moment())[0]?.decisions ?? [];
    expect(decision).toMatchObject({
      step: 112,
      decision: 'reduce',
      person: 'test-conductor',
      aircraft: NOW,
      note: '',
    });
    expect(decision?.advice).toMatch(/^reduce to 112 kt: Vibration: 0.2494 g predicted at 115 kt/);
  });

  it('goes against its advice only by the test director, who says why', () => {
    const gate = gates();
    const against = /^115 kt is against the advice, reduce to 112 kt: .*: /;
    expect(decide(gate, 'clear', 115)).toMatch(new RegExp(`${against.source}the test director decides that$`));
    expect(decide(gate, 'clear', 115, { text: 'it is fine' })).toMatch(/the test director decides that$/);
    expect(decide(gate, 'clear', 115, { position: 'test director' })).toMatch(/: say why$/);
    expect(decide(gate, 'reduce', 113)).toMatch(/^113 kt is against the advice, .*: the test director decides that$/);
    expect(gate.refusal('L115', moment())).not.toBe('');
    expect(decide(gate, 'clear', 115, { position: 'test director', text: 'loads agreed with the designer' })).toBe('');
    expect(gate.refusal('L115', moment())).toBe('');
  });

  it.each([
    ['an open anomaly', { anomalies: () => [anomaly] }, 'anomaly 1 is open: a rattle'],
    ['an open stop call', { calls: [call] }, 'stop call 4 is open'],
  ])('clears nothing, by nobody, under %s', (_, blocked, why) => {
    const gate = gates();
    const at = moment(flown, blocked);
    const director = { at, position: 'test director', text: 'go on' };
    expect(decide(gate, 'clear', 115, director)).toBe(`no step is cleared while ${why}`);
    expect(decide(gate, 'reduce', 112, director)).toBe(`no step is cleared while ${why}`);
    expect(decide(gate, 'hold', 115, { at })).toBe('');
    // what was cleared before is not flown now
    expect(decide(gate, 'reduce', 112)).toBe('');
    expect(gate.refusal('L112', at)).toBe(`112 kt of Level flight may not be flown: ${why}`);
    expect(gate.refusal('L112', moment())).toBe('');
  });

  it('is not stopped by what is closed', () => {
    const closed = { ...anomaly, closed: { text: 'a loose bag', ...anomaly.opened } };
    const at = moment(flown, { anomalies: () => [closed], calls: [{ ...call, step: 'closed' }] });
    expect(decide(gates(), 'reduce', 112, { at })).toBe('');
  });

  it('asks for a new decision after each step that was flown', () => {
    const gate = gates();
    expect(decide(gate, 'reduce', 112)).toBe('');
    const after = moment([...flown, run(6, 112, { VIB: 0.23, ZETA: 0.0335 })]);
    expect(gate.refusal('L115', after)).toBe(
      '115 kt of Level flight is not cleared: no step was decided since 112 kt was flown',
    );
    // the same step again, not good, is no newly flown one
    const repeated = moment([...flown, run(6, 112, { VIB: 0.23 }, 'repeat')]);
    expect(gate.refusal('L112', repeated)).toBe('');
  });

  it('asks for a new decision when a step was flown again and is good once more: it may tell something else', () => {
    const gate = gates();
    expect(decide(gate, 'reduce', 112)).toBe('');
    const again = moment([...flown, run(6, 110, { VIB: 0.24, ZETA: 0.036 })]);
    expect(gate.refusal('L112', again)).toBe(
      '112 kt of Level flight is not cleared: no step was decided since 110 kt was flown',
    );
  });

  it('asks for a new decision when a run that is not good reached a caution, and holds until the test director speaks', () => {
    const gate = gates();
    expect(decide(gate, 'reduce', 112)).toBe('');
    const at = moment([...flown, run(6, 112, { VIB: 0.251, ZETA: 0.0335 }, 'repeat')]);
    expect(gate.refusal('L112', at)).toMatch(/no step was decided since 112 kt was flown$/);
    expect(gate.view(at)[0]).toMatchObject({
      advice: 'hold',
      cleared: null,
      reasons: ['run 6 at 112 kt, which is not good, gave Vibration 0.251 g, with the caution at 0.25'],
    });
    expect(decide(gate, 'reduce', 112, { at })).toMatch(/the test director decides that$/);
    expect(decide(gate, 'reduce', 112, { at, position: 'test director', text: 'a gust' })).toBe('');
    expect(gate.refusal('L112', at)).toBe('');
    const good = moment([...at.runs(), run(7, 112, { VIB: 0.23, ZETA: 0.0335 })]);
    expect(gate.view(good)[0]?.reasons.join()).not.toContain('run 6');
  });

  it('asks for a new decision when a stop call is logged late that was made during a good record', () => {
    const gate = gates();
    decide(gate, 'reduce', 112);
    const reasons = ['stop call 1 (STOP TEST) during the record, at 10:00:00.000'];
    const doubted = flown.map((one, i) =>
      i < 4 ? one : { ...one, advice: { judgement: 'repeat' as const, reasons } },
    );
    expect(gate.refusal('L112', moment(doubted))).toMatch(
      /no step was decided since something came to speak against run 5, which was judged good$/,
    );
    expect(gate.view(moment(doubted))[0]?.advice).toBe('hold');
  });

  it('asks for a new decision when a caution was changed since', () => {
    const watched = family({ measures: [measure({ limit: 'shake' })] });
    const cards = [cardOf(...steps.map((step) => point(step)), point(112))];
    const gate = new StepGates(missionOf({ families: [watched], cards }));
    const limit = (caution: number): Limit => levelLimit('shake', 'VIB', { above: { caution } });
    const at = (caution: number) => moment(flown, { limits: () => [limit(caution)] });
    expect(decide(gate, 'clear', 112, { at: at(0.25) })).toBe('');
    expect(gate.refusal('L112', at(0.25))).toBe('');
    expect(gate.refusal('L112', at(0.235))).toBe(
      '112 kt of Level flight is not cleared: no step was decided since the caution of Vibration became 0.235, from 0.25',
    );
  });

  it.each([
    ['reduce', false],
    ['return', false],
    ['skip', false],
    ['repeat', true],
    ['resume', true],
  ])('after a stop call that closed with %s the decision before it stands: %s', (decision, stands) => {
    const gate = gates();
    decide(gate, 'reduce', 112);
    const after = moment(flown, { calls: [{ ...call, step: 'closed', decision } as StopCallState] });
    const refused = `112 kt of Level flight is not cleared: no step was decided since stop call 4 closed with ${decision}`;
    expect(gate.refusal('L112', after)).toBe(stands ? '' : refused);
    expect(decide(gate, 'reduce', 112, { at: after })).toBe('');
    expect(gate.refusal('L112', after)).toBe('');
  });

  it('asks for a new decision when another mission came into force', () => {
    const gate = gates();
    decide(gate, 'reduce', 112);
    const families = [family({ measures: [measure(), damping], reserve: [112, 113] })];
    const cards = [cardOf(...steps.map((step) => point(step)), point(112), point(113), point(115))];
    const other = new StepGates(missionOf({ baselineId: 'another', families, cards }));
    other.restore(gate.save());
    expect(other.refusal('L112', moment())).toMatch(/no step was decided since another mission came into force$/);
  });

  it('clears nothing more when a second class 1 call on the same cause ended testing', () => {
    const gate = gates();
    decide(gate, 'reduce', 112);
    const again = { ...call, step: 'closed', decision: 'return', repeatOf: 2 } as StopCallState;
    const at = moment(flown, { calls: [again] });
    expect(gate.refusal('L112', at)).toMatch(/testing ended for the day/);
    expect(decide(gate, 'reduce', 112, { at, position: 'test director', text: 'x' })).toMatch(
      /testing ended for the day/,
    );
  });

  it('tells up to which step is cleared, as it refuses the points', () => {
    const gate = gates();
    const cleared = (at = moment()) => gate.view(at)[0]?.cleared;
    expect(cleared()).toBeNull();
    decide(gate, 'reduce', 112);
    expect(cleared()).toBe(112);
    expect(cleared(moment(flown, { anomalies: () => [anomaly] }))).toBeNull();
    expect(cleared(moment([...flown, run(6, 112, { VIB: 0.23, ZETA: 0.0335 })]))).toBeNull();
    decide(gate, 'hold', 115);
    expect(cleared()).toBeNull();
  });

  it('lets a flown step be flown again when no planned one is left', () => {
    const gate = gates();
    const at = moment([...flown, run(6, 115, { VIB: 0.24, ZETA: 0.0335 })]);
    expect(decide(gate, 'reduce', 113, { at })).toBe('no planned step of Level flight is left to decide');
    expect(decide(gate, 'reduce', 110, { at })).toBe('');
    expect(gate.refusal('L110', at)).toBe('');
    expect(gate.refusal('L115', at)).not.toBe('');
  });

  it('holds until somebody decides otherwise', () => {
    const gate = gates();
    decide(gate, 'reduce', 112);
    expect(decide(gate, 'hold', 115, { text: 'wind' })).toBe('');
    expect(gate.refusal('L112', moment())).toBe('Level flight is on hold: wind');
    expect(decide(gate, 'reduce', 112)).toBe('');
    expect(gate.refusal('L112', moment())).toBe('');
    expect(gate.view(moment())[0]?.decisions.map(({ decision }) => decision)).toEqual(['reduce', 'hold', 'reduce']);
  });

  it('lets a flown step be flown again although it advises to hold', () => {
    const gate = gates();
    const at = moment([...flown, run(6, 112, { VIB: 0.262, ZETA: 0.0335 })]);
    expect(gate.view(at)[0]?.advice).toBe('hold');
    expect(decide(gate, 'clear', 115, { at })).toMatch(/is against the advice, hold: Vibration: 0.262 g at 112 kt/);
    expect(decide(gate, 'reduce', 114, { at })).toMatch(/is against the advice, hold/);
    expect(decide(gate, 'reduce', 112, { at })).toBe('');
    expect(gate.refusal('L112', at)).toBe('');
  });

  it.each([
    ['clear', 112, 'the next step is 115 kt, not 112 kt: a smaller one is a reduce'],
    ['clear', Number.NaN, 'a step is decided with its value'],
    ['reduce', 115, '115 kt is not smaller than the next step, 115 kt'],
    ['reduce', 120, '120 kt is not smaller than the next step, 115 kt'],
    ['go', 115, 'a step is decided as clear, reduce or hold, not as go'],
    ['', 115, 'a step is decided as clear, reduce or hold, not as nothing'],
  ])('refuses %s to %s', (choice, value, reason) => {
    expect(decide(gates(), choice, value)).toBe(reason);
  });

  it('refuses a family that is none, and a family of which all is flown', () => {
    const action: ConductAction = {
      act: 'decide step',
      subject: 'climb',
      number: 0,
      choice: 'hold',
      text: '',
      value: 0,
      aircraft: 0,
    };
    expect(gates().act(entry('test director', action), action, moment())).toBe('there is no family climb');
    const all = moment([...flown, run(6, 115, { VIB: 0.24 })]);
    expect(decide(gates(), 'hold', 115, { at: all })).toBe('no planned step of Level flight is left to decide');
  });

  it('takes the caution of a limit as it is in force', () => {
    const watched = family({ measures: [measure({ limit: 'shake' })] });
    const cards = [cardOf(...steps.map((step) => point(step)), point(112))];
    const gate = new StepGates(missionOf({ families: [watched], cards }));
    const limit = (caution: number): Limit => levelLimit('shake', 'VIB', { above: { caution } });
    const advice = (caution: number) => gate.view(moment(flown, { limits: () => [limit(caution)] }))[0]?.advice;
    expect(advice(0.25)).toBe('clear');
    expect(advice(0.235)).toBe('hold');
  });

  it('says at once when a point names a family that the mission lacks', () => {
    expect(() => new StepGates(missionOf({ cards: [cardOf(point(80))] }))).toThrow(
      'L80 is of the unknown family level',
    );
  });
});
