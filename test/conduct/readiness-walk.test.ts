/**
 * Rooms in which people do anything in any order, while fuel, ids and the link do what they do: never ready while anything
 * is missing, every answer as a slow judge has it, and the same however the log is folded.
 */
import { deserialize, serialize } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ReadinessView } from '../../protocol/conduct.ts';
import { type Action, type Entry, TICK } from '../../protocol/entry.ts';
import { SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { SlowReadiness } from '../reference/slow-readiness.ts';
import { FRAME, fuelled, Log, readyMission, say, seats } from '../support/ready-room.ts';

type Op =
  | { op: 'frames'; count: number; fuel: 'inside' | 'outside'; ids: boolean }
  | { op: 'silence'; seconds: number }
  | { op: 'acknowledge'; position: string; notice: string }
  | { op: 'everything' }
  /** each position in turn, the director last */
  | { op: 'round' }
  | { op: 'open poll'; position: string }
  | { op: 'answer'; position: string; ready: boolean }
  | { op: 'watch'; to: string }
  | { op: 'load'; heavy: boolean }
  | { op: 'call' }
  | { op: 'close call' }
  | { op: 'anomaly' }
  | { op: 'close anomaly' };

const position = fc.constantFrom(...seats);
const rare = (op: fc.Arbitrary<Op>) => ({ arbitrary: op, weight: 1 });
const often = (op: fc.Arbitrary<Op>) => ({ arbitrary: op, weight: 5 });
const of = <T extends Op['op']>(op: T) => fc.constant(op);
const ops: fc.Arbitrary<Op[]> = fc.array(
  fc.oneof(
    often(fc.record({ op: of('frames'), count: fc.integer({ min: 1, max: 4 }), fuel: of2(), ids: fc.constant(true) })),
    rare(fc.record({ op: of('frames'), count: fc.constant(2), fuel: of2(), ids: fc.constant(false) })),
    rare(fc.record({ op: of('silence'), seconds: fc.constantFrom(0.3, 0.8, 1.5) })),
    rare(fc.record({ op: of('acknowledge'), position, notice: fc.constantFrom('gains', 'flow') })),
    often(fc.record({ op: of('everything') })),
    often(fc.record({ op: of('round') })),
    rare(fc.record({ op: of('open poll'), position })),
    {
      arbitrary: fc.record({ op: of('answer'), position, ready: fc.constantFrom(true, true, true, false) }),
      weight: 12,
    },
    rare(fc.record({ op: of('watch'), to: fc.constantFrom('', 'flight control') })),
    rare(fc.record({ op: of('load'), heavy: fc.boolean() })),
    rare(fc.record({ op: of('call') })),
    rare(fc.record({ op: of('close call') })),
    rare(fc.record({ op: of('anomaly') })),
    rare(fc.record({ op: of('close anomaly') })),
  ),
  { minLength: 10, maxLength: 60, size: 'max' },
);

/** Seldom outside. */
function of2(): fc.Arbitrary<'inside' | 'outside'> {
  return fc.constantFrom('inside', 'inside', 'inside', 'inside', 'inside', 'outside');
}

/** Writes what an op does into the log, tells the judge, and says which acts must be taken. */
class Walk {
  readonly log = new Log(readyMission());
  readonly judge = new SlowReadiness();
  /** which of the acts so far must have been taken */
  readonly taken: boolean[] = [];
  private watcher = 'test conductor';
  private calls = 0;
  private anomalies = 0;

  private act(by: string, action: Action, isTaken = true): void {
    this.log.act(by, action);
    this.taken.push(isTaken);
  }

  do(op: Op): void {
    const { judge, log } = this;
    switch (op.op) {
      case 'frames': {
        const tanks = op.fuel === 'inside' ? fuelled : { ...fuelled, forward: 0, aft: 99 };
        for (let i = 0; i < op.count; i++) log.frame({ ...tanks, ...(op.ids ? {} : { softwareId: 'S9' }) });
        Object.assign(judge, { heard: true, silent: 0, idsMatch: op.ids, fuelInside: op.fuel === 'inside' });
        // samples outside take the answer of who minds the load, and with it the director's
        if (!judge.fuelInside || !judge.loadInside)
          for (const one of ['test conductor', 'test director'])
            if (judge.answers.get(one) === 'ready') judge.answers.delete(one);
        // ids of another pack take them all, though the next frame may have the right ones again
        if (!judge.idsMatch) for (const one of seats) if (judge.answers.get(one) === 'ready') judge.answers.delete(one);
        break;
      }
      case 'silence':
        for (let i = 0; i < (op.seconds * SECOND) / TICK; i++) log.tick();
        judge.silent += op.seconds;
        if (judge.silent > 1) judge.settle();
        break;
      case 'everything':
        for (const one of seats) for (const notice of ['gains', 'flow']) this.acknowledge(one, notice);
        if (!judge.polled) this.open('test conductor');
        break;
      case 'round':
        for (const one of [...seats.slice(1), 'test director']) this.answer(one, true);
        break;
      case 'acknowledge':
        this.acknowledge(op.position, op.notice);
        break;
      case 'open poll':
        this.open(op.position);
        break;
      case 'answer':
        this.answer(op.position, op.ready);
        break;
      case 'watch': {
        // it begins at the test conductor; to give it where it is already is refused
        const isNew = op.to !== this.watcher;
        this.act('test director', say('assign watch', { subject: 'card-stop', choice: op.to }), isNew);
        if (!isNew) break;
        this.watcher = op.to;
        judge.stopWatched = op.to !== '';
        judge.settle();
        break;
      }
      case 'load':
        this.act(
          'test conductor',
          say('set load', { subject: 'empty', value: op.heavy ? 1500 : 1285, text: 'ballast' }),
        );
        judge.loadInside = !op.heavy;
        judge.settle();
        break;
      default:
        this.trouble(op.op);
    }
  }

  private acknowledge(one: string, notice: string): void {
    this.act(one, say('acknowledge notice', { subject: notice }));
    this.judge.acknowledged.add(`${one} ${notice}`);
    this.judge.settle();
  }

  private open(by: string): void {
    const may = by === 'test director' || by === 'test conductor';
    this.act(by, say('open poll'), may);
    if (!may) return;
    this.judge.polled = true;
    this.judge.answers.clear();
  }

  private answer(by: string, ready: boolean): void {
    const { judge } = this;
    const isTaken = ready ? judge.takes(by) : judge.polled;
    this.act(by, say('answer poll', { choice: ready ? 'ready' : 'not ready', text: ready ? '' : 'wait' }), isTaken);
    if (!isTaken) return;
    judge.answers.set(by, ready ? 'ready' : 'not ready');
    judge.settle();
  }

  private trouble(what: 'call' | 'close call' | 'anomaly' | 'close anomaly'): void {
    const { judge } = this;
    if (what === 'call') {
      if (judge.openCalls > 0) return;
      const call = { act: 'stop call', stopClass: 2, word: 'STOP TEST', reason: `reason ${this.calls}` } as const;
      this.act('test conductor', { ...call, caller: '', alarm: '' });
      this.calls++;
      judge.openCalls = 1;
    } else if (what === 'close call') {
      if (judge.openCalls === 0) return;
      const step = { act: 'stop step', call: this.calls, note: '' } as const;
      this.act('test conductor', { ...step, step: 'safe', decision: '' });
      this.act('test conductor', { ...step, step: 'closed', decision: 'skip' });
      judge.openCalls = 0;
    } else if (what === 'anomaly') {
      this.act('flight control', say('open anomaly', { text: 'a knock' }));
      this.anomalies++;
      judge.openAnomalies++;
    } else {
      if (judge.openAnomalies === 0) return;
      this.act(
        'test director',
        say('close anomaly', { number: this.anomalies - judge.openAnomalies + 1, text: 'found' }),
      );
      judge.openAnomalies--;
    }
    judge.settle();
  }
}

const viewOf = (pipeline: Pipeline): ReadinessView => {
  const view = pipeline.conduct()?.readiness;
  if (!view) throw new Error('no readiness');
  return view;
};

/** All results of acts, and what the room is shown at the end. */
function folded(entries: readonly Entry[], gather: number, restoreAt: ReadonlySet<number> = new Set()) {
  let pipeline = new Pipeline({ gather });
  const results: string[] = [];
  const note = (told: { reason: string }[]) => results.push(...told.map(({ reason }) => reason));
  entries.forEach((entry, n) => {
    note(pipeline.step(entry).results);
    if (!restoreAt.has(n)) return;
    note(pipeline.flush().results);
    const saved = deserialize(serialize(pipeline.save()));
    pipeline = new Pipeline({ gather });
    pipeline.step(entries[0] as Entry);
    pipeline.restore(saved);
  });
  pipeline.flush();
  return { results, view: structuredClone(viewOf(pipeline)) };
}

describe('a room in which anything is done in any order', () => {
  it('is never ready while anything is missing; every answer is taken, refused and falls as the slow judge has it', () => {
    let ready = 0;
    let fell = 0;
    fc.assert(
      fc.property(ops, (list) => {
        const walk = new Walk();
        const pipeline = new Pipeline({ gather: 0 });
        let done = 0;
        let acts = 0;
        let wasReady = false;
        for (const op of list) {
          walk.do(op);
          for (; done < walk.log.entries.length; done++) {
            for (const { accepted, reason } of pipeline.step(walk.log.entries[done] as Entry).results) {
              expect(accepted, `${JSON.stringify(op)}: ${reason}`).toBe(walk.taken[acts++]);
            }
          }
          const { missing, poll } = viewOf(pipeline);
          expect(missing.length > 0, JSON.stringify(op)).toBe(walk.judge.missing('test director'));
          expect(poll.answers.map(({ answer }) => answer)).toEqual([...walk.judge.holding().values()]);
          expect(poll.ready).toBe(walk.judge.ready);
          if (poll.ready) expect(missing).toEqual([]);
          if (poll.ready) ready++;
          if (wasReady && !poll.ready) fell++;
          wasReady = poll.ready;
        }
      }),
      { seed: 512, numRuns: 100 },
    );
    expect(ready).toBeGreaterThan(20);
    expect(fell).toBeGreaterThan(5);
  });

  it('says the same however frames are gathered, and wherever the state is saved and restored', () => {
    const cuts = fc.array(fc.nat(), { maxLength: 5 });
    fc.assert(
      fc.property(ops, cuts, fc.constantFrom(FRAME, SECOND, 5 * SECOND), (list, where, gather) => {
        const walk = new Walk();
        for (const op of list) walk.do(op);
        const { entries } = walk.log;
        const plain = folded(entries, 0);
        expect(folded(entries, gather)).toEqual(plain);
        expect(folded(entries, gather, new Set(where.map((n) => n % entries.length)))).toEqual(plain);
      }),
      { seed: 513, numRuns: 40 },
    );
  });
});
