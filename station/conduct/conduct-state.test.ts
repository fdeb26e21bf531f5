/** What the conduct stage carries: saved and restored anywhere in a flight, and what no flight can bring it to. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { idAt, limits, looser, missionOf, NOW, people, tighter } from '../../test/support/limit-changes.ts';
import { nothingKnown } from '../../test/support/conduct.ts';
import type { Action, ActionEntry } from '../../protocol/entry.ts';
import { sameValues, tightens, valuesOf } from '../../protocol/limit-change.ts';
import { stopDecisions, stopSteps, type StopDecision, type StopStepName } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Conduct, compileConduct } from './conduct.ts';

const of = missionOf();
const compiled = (): Conduct => compileConduct(of).value as Conduct;

const oneOf = <T>(...list: T[]) => fc.constantFrom(...list);
const base = valuesOf(limits[0] as (typeof limits)[number]);
const said = fc.record({ pilotInformed: oneOf(true, true, true, false), offCondition: oneOf(true, true, true, false) });
const agreed = fc.record({ pilotAgrees: fc.boolean(), reasonFound: fc.boolean(), rechecked: fc.boolean() });

/** Few calls, so that they meet; none of a class there is not, but now and then. */
const call: fc.Arbitrary<Action> = fc
  .record({
    stopClass: oneOf(1, 1, 1, 1, 2, 3),
    word: oneOf('BREAK', 'STOP TEST'),
    alarm: oneOf('', '', 'engine', 'gone'),
  })
  .chain((one) =>
    oneOf('', '', 'a').map((key): Action => ({ act: 'stop call', reason: 'r', caller: '', key, ...one })),
  );
const step: fc.Arbitrary<Action> = fc
  .record({
    call: oneOf(1, 1, 2, 2, 3, 9),
    step: oneOf<StopStepName>(...stopSteps, 'safe', 'safe', 'closed', 'closed'),
  })
  .chain((one) =>
    oneOf<StopDecision | ''>('', ...stopDecisions, 'return', 'return').map((decision) => ({ ...one, decision })),
  )
  .map((one) => (one.step === 'closed' ? one : { ...one, decision: '' as const }))
  .chain((one) => agreed.map((all): Action => ({ act: 'stop step', note: '', ...one, ...all })));
const calls = fc.oneof(call, { weight: 4, arbitrary: step });

/** Few limits, and what is asked for leads there and back. */
const wishes: Partial<typeof base>[] = [tighter, looser, { persistence: 0 }, {}, { above: {} }];
const ask: fc.Arbitrary<Action> = fc
  .record({ limit: oneOf('engine', 'engine', 'tot', 'instrumentation'), to: oneOf(...wishes) })
  .chain(({ limit, to }) =>
    said.map((all): Action => ({ act: 'change limit', limit, values: { ...base, ...to }, reason: 'r', ...all })),
  );
const change = oneOf(1, 1, 2, 2, 3, 4, 9);
const approve: fc.Arbitrary<Action> = fc
  .record({ change, all: said })
  .map(({ change: one, all }): Action => ({ act: 'approve change', change: one, note: 'n', ...all }));
const decline = change.map((one): Action => ({ act: 'decline change', change: one, reason: 'r' }));
const changes = fc.oneof({ weight: 2, arbitrary: ask }, { weight: 3, arbitrary: approve }, decline);

const others: fc.Arbitrary<Action> = oneOf<Action>(
  { act: 'mark', text: 'm', aircraft: 0 },
  { act: 'name flight', number: '', crew: '', note: '' },
  { act: 'name flight', number: '7', crew: '', note: '' },
  { act: 'close flight' },
  { act: 'acknowledge', alarm: 'engine' },
  { act: 'unreadable', fault: 'f' },
);
const all = fc.oneof({ weight: 3, arbitrary: calls }, { weight: 3, arbitrary: changes }, others);

const seats = ['test director', 'test director', 'test director', 'test conductor', 'engine', 'engine', 'range safety'];
const acts = (action: fc.Arbitrary<Action>): fc.Arbitrary<ActionEntry[]> =>
  fc
    .array(
      fc.record({
        seat: oneOf(...seats),
        which: oneOf('a', 'b'),
        request: fc.integer({ min: 1, max: 40 }),
        session: oneOf(undefined, undefined, undefined, undefined, undefined, 's', 't'),
        lag: oneOf(0, 0, 0, 0, 0, 0, 10_000_000, 11_000_000),
        action,
      }),
      { maxLength: 60, size: 'max' },
    )
    .map((list) =>
      list.map(({ seat, which, request, session, lag, action: done }, i): ActionEntry => {
        const ground = groundTime(60_000_000 + i * 1_000_000);
        const person = idAt(seat, which);
        const via = session === undefined ? {} : { session };
        return { kind: 'action', ground, person, position: seat, request, ...via, made: ground - lag, action: done };
      }),
    );

const runs = { numRuns: 120, seed: 20261125 };
const doAll = (conduct: Conduct, entries: ActionEntry[], from = 0): string[] =>
  entries.map((entry, i) => conduct.act(entry, aircraftTime(NOW + (from + i) * 1_000_000), nothingKnown).reason);

describe('the saved state of conduct', () => {
  it('is everything: restored anywhere, in a stage that saw something else, the rest of the flight is the same', () => {
    fc.assert(
      fc.property(acts(all), acts(all), fc.nat(), (entries, before, cut) => {
        const whole = compiled();
        const at = cut % (entries.length + 1);
        const first = doAll(whole, entries.slice(0, at));
        const state = structuredClone(whole.save());
        const other = compiled();
        doAll(other, before);
        other.restore(state);
        const rest = doAll(whole, entries.slice(at), at);
        expect(doAll(other, entries.slice(at), at)).toEqual(rest);
        expect(other.save()).toEqual(whole.save());
        expect(other.limitsInForce()).toEqual(whole.limitsInForce());
        const again = compiled();
        expect(doAll(again, entries)).toEqual([...first, ...rest]);
        expect(again.save()).toEqual(whole.save());
      }),
      runs,
    );
  });

  it('shares nothing with the stage that took it', () => {
    fc.assert(
      fc.property(acts(all), acts(all), (entries, more) => {
        const conduct = compiled();
        doAll(conduct, entries);
        const state = conduct.save();
        const before = structuredClone(state);
        const other = compiled();
        other.restore(state);
        doAll(other, more);
        expect(conduct.save()).toEqual(before);
      }),
      runs,
    );
  });

  it('is refused when something is missing, and then nothing of it is taken', () => {
    const whole = { calls: [], marks: [], changes: [], requests: [], flight: {} };
    expect(() => compiled().restore(whole)).not.toThrow();
    for (const name of Object.keys(whole)) {
      for (const wrong of [undefined, 7]) {
        const conduct = compiled();
        const before = structuredClone(conduct.save());
        expect(() => conduct.restore({ ...whole, [name]: wrong })).toThrow(`saved test conduct lacks its ${name}`);
        expect(conduct.save()).toEqual(before);
      }
    }
    expect(() => compiled().restore(undefined)).toThrow('saved test conduct lacks its calls');
  });
});

describe('whatever people do', () => {
  it('no limit is looser than in the pack but by two, off condition, with the pilot told', () => {
    let loosened = 0;
    fc.assert(
      fc.property(acts(changes), (entries) => {
        const conduct = compiled();
        doAll(conduct, entries);
        const positionOf = (id: string) => people.find((person) => person.id === id)?.position;
        for (const change of conduct.changes) {
          if (change.state !== 'in force' || change.tightens) continue;
          loosened++;
          expect(change).toMatchObject({ offCondition: true, pilotInformed: true });
          expect(change.decidedBy).not.toBe(change.person);
          expect(change.from).toBeGreaterThan(0);
          const both = [positionOf(change.person), positionOf(change.decidedBy)];
          expect(both).toContain('test director');
          expect(both).toContain(limits.find(({ id }) => id === change.limit)?.watcher);
        }
        // the values in force are those of the slips, one after the other
        for (const [i, limit] of conduct.limitsInForce().entries()) {
          const slips = conduct.changes.filter((one) => one.limit === limit.id && one.state === 'in force');
          const inOrder = slips.sort((a, b) => a.from - b.from);
          let values = valuesOf(limits[i] as (typeof limits)[number]);
          for (const slip of inOrder) {
            expect(sameValues(slip.before, values)).toBe(true);
            expect(slip.tightens).toBe(tightens(values, slip.after));
            values = slip.after;
          }
          expect(valuesOf(limit)).toEqual(values);
        }
      }),
      { ...runs, numRuns: 200 },
    );
    expect(loosened).toBeGreaterThan(20);
  });

  it('a stop call closes by a decision that may be taken then, and stays closed', () => {
    let returned = 0;
    fc.assert(
      fc.property(acts(calls), (entries) => {
        const conduct = compiled();
        let over = false;
        for (const [i, entry] of entries.entries()) {
          const before = structuredClone(conduct.calls);
          const { accepted } = conduct.act(entry, aircraftTime(NOW + i), nothingKnown);
          if (!accepted) expect(conduct.calls).toEqual(before);
          for (const [c, call] of conduct.calls.entries()) {
            const was = before[c];
            if (was?.step === 'closed') expect(call).toEqual(was);
            expect(call.step === 'closed').toBe(call.decision !== '');
            if (call.decision === 'resume') {
              const last = call.steps.at(-1);
              expect(last?.position).toBe('test director');
              expect(last?.agreed).toEqual({ pilotAgrees: true, reasonFound: true, rechecked: true });
            }
            if (over && call.step === 'closed' && was?.step !== 'closed') {
              expect(call.decision).toBe('return');
              returned++;
            }
          }
          over = conduct.calls.some(({ repeatOf }) => repeatOf > 0);
        }
      }),
      { ...runs, numRuns: 200 },
    );
    expect(returned).toBeGreaterThan(5);
  });
});
