import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ConductReader } from '../../display/state/conduct.ts';
import type { ConductView, PointRun } from '../../protocol/conduct.ts';
import { decodeToDisplay, type WireConductState } from '../../protocol/wire.ts';
import { run } from '../support/step-family.ts';
import { ConductMessages } from '../../station/publish/conduct.ts';

const viewOf = (points: PointRun[]): ConductView => ({
  ...{ points, steps: [], anomalies: [], readiness: null, sequences: [], checklists: [], stopwatches: [] },
  ...{ voiceLost: null, evidence: null, faults: [] },
});
const values = Object.fromEntries(Array.from({ length: 15 }, (_, i) => [`P${i}`, i + 1 / 3]));
const closedRun = (number: number): PointRun => run(number, 80, values, 'repeat');
const openRun = (number: number, recorded = 0): PointRun => ({
  ...run(number, 80, values, ''),
  gate: 'setup',
  recorded,
});
const conductOf = (message: Uint8Array): WireConductState => decodeToDisplay(message).conduct as WireConductState;

describe('what is sent of test conduct', () => {
  it('does not grow with the runs that are closed, while only the open one changes', () => {
    const messages = new ConductMessages();
    const closed = Array.from({ length: 60 }, (_, i) => closedRun(i + 1));
    messages.take(viewOf([...closed, openRun(61)]));
    const whole = messages.message(-1);
    const told = messages.closedNumber;
    messages.take(viewOf([...closed, openRun(61, 1)]));
    const next = messages.message(told);
    expect(messages.number).toBe(1);
    expect(next.length).toBeLessThan(whole.length / 30);
    // for one that has only just come
    expect(messages.message(-1).length).toBeGreaterThan(next.length * 30);
  });

  it('is nothing new when nothing changed', () => {
    const messages = new ConductMessages();
    messages.take(viewOf([closedRun(1)]));
    messages.take(viewOf([closedRun(1)]));
    expect(messages.number).toBe(0);
    messages.take(undefined);
    expect(messages.number).toBe(1);
    expect(new ConductReader().read(conductOf(messages.message(-1)))).toBeUndefined();
  });

  it('is put together again by every display, whichever messages it was too slow for', () => {
    const happening = fc.oneof(
      fc.constantFrom('begin', 'change', 'close', 'close', 'amend', 'move back'),
      fc.constantFrom('reads', 'another', 'reconnects'),
    );
    fc.assert(
      fc.property(fc.array(happening, { minLength: 5, maxLength: 60 }), (all) => {
        const messages = new ConductMessages();
        const displays = [0, 1].map(() => ({ reader: new ConductReader(), told: -1 }));
        let points: PointRun[] = [];
        for (const what of all) {
          const last = points.at(-1);
          if (what === 'begin' && last?.gate !== 'setup') points = [...points, openRun(points.length + 1)];
          if (what === 'change' && last?.gate === 'setup')
            points = [...points.slice(0, -1), { ...last, recorded: last.recorded + 1 }];
          if (what === 'close' && last?.gate === 'setup')
            points = [...points.slice(0, -1), { ...last, gate: 'closed' }];
          if (what === 'amend') points = points.map((one, i) => (i === 0 ? { ...one, offered: one.offered + 1 } : one));
          // the player of a replay: everything is another object
          if (what === 'move back') points = structuredClone(points.slice(0, -1));
          messages.take(viewOf(points));
          if (what === 'reconnects') (displays[1] as (typeof displays)[number]).told = -1;
          for (const [i, display] of displays.entries()) {
            if (what !== (['reads', 'another'] as const)[i]) continue;
            const seen = display.reader.read(conductOf(messages.message(display.told)));
            display.told = messages.closedNumber;
            expect(seen).toEqual(viewOf(points));
          }
        }
      }),
      { seed: 251126, numRuns: 200 },
    );
  });
});
