import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { aircraftTime, SECOND } from '../../protocol/time.ts';
import { entry } from '../../test/support/conduct.ts';
import { action, at } from '../../test/support/point-run.ts';
import { makeMark, saidAt } from './mark.ts';
import type { Moment } from './part.ts';
import { Stopwatches } from './stopwatch.ts';

const NOW = at(100);
const moment = { aircraft: aircraftTime(NOW) } as Moment;
const press = (watches: Stopwatches, choice: string, seconds: number, subject = 'hover') => {
  const of = action('press stopwatch', { subject, choice, aircraft: seconds === 0 ? 0 : at(seconds) });
  return watches.act(entry('engine', of), of, moment);
};

describe('what a person said or saw', () => {
  it('stands at the time of the display, to the microsecond, and at the newest sample when that is unknown', () => {
    expect(saidAt(NOW - 123_457, aircraftTime(NOW))).toBe(NOW - 123_457);
    expect(saidAt(0, aircraftTime(NOW))).toBe(NOW);
    expect(saidAt(NOW + SECOND, aircraftTime(NOW))).toBe(NOW + SECOND);
    expect(saidAt(NOW + SECOND + 1, aircraftTime(NOW))).toBe('that lies after the newest sample');
    expect(saidAt(1.5, aircraftTime(NOW))).toBe('1.5 is not an aircraft time');
  });

  it('is a mark of its kind', () => {
    for (const kind of ['event', 'hack', 'comment', 'note'] as const)
      expect(makeMark(' rated 3 ', NOW - 5, aircraftTime(NOW), 7 as never, 'hq', kind)).toEqual({
        ...{ aircraft: NOW - 5, ground: 7, person: 'hq', kind, text: 'rated 3' },
      });
  });
});

describe('a stopwatch', () => {
  it('begins anew, and only that, when aircraft time has stepped back since it was pressed', () => {
    const watches = new Stopwatches();
    press(watches, 'start', 90);
    const back = (choice: string, seconds: number) => {
      const of = action('press stopwatch', { subject: 'hover', choice, aircraft: at(seconds) });
      return watches.act(entry('engine', of), of, { aircraft: aircraftTime(at(20)) } as Moment);
    };
    expect(back('stop', 19)).toBe('aircraft time stepped back since hover was pressed: it is reset first');
    expect(back('reset', 19)).toBe('');
    expect(watches.view()).toEqual([{ name: 'hover', running: true, from: at(19), counted: 0 }]);
    expect(back('stop', 20)).toBe('');
    expect(watches.view()).toEqual([{ name: 'hover', running: false, from: at(19), counted: SECOND }]);
  });

  it('counts aircraft time from start to stop, on from there, and from nothing after a reset', () => {
    const watches = new Stopwatches();
    expect(press(watches, 'start', 10)).toBe('');
    expect(watches.view()).toEqual([{ name: 'hover', running: true, from: at(10), counted: 0 }]);
    expect(press(watches, 'stop', 12.5)).toBe('');
    expect(press(watches, 'start', 20)).toBe('');
    expect(watches.view()[0]).toMatchObject({ running: true, from: at(20), counted: 2.5 * SECOND });
    expect(press(watches, 'stop', 21)).toBe('');
    expect(watches.view()[0]).toMatchObject({ running: false, counted: 3.5 * SECOND });
    expect(press(watches, 'reset', 22)).toBe('');
    expect(watches.view()[0]).toMatchObject({ running: false, counted: 0 });
    press(watches, 'start', 30);
    press(watches, 'reset', 31);
    press(watches, 'stop', 33);
    expect(watches.view()[0]).toMatchObject({ running: false, counted: 2 * SECOND });
  });

  it('says why a press does nothing', () => {
    const watches = new Stopwatches();
    expect(press(watches, 'stop', 10)).toBe('hover does not run');
    expect(press(watches, 'reset', 10)).toBe('there is no stopwatch hover');
    press(watches, 'start', 10);
    expect(press(watches, 'start', 11)).toBe('hover runs already');
    expect(press(watches, 'stop', 9)).toBe('hover was pressed later than that, at 10:00:10.000');
    expect(press(watches, 'stop', 102)).toBe('that lies after the newest sample');
    expect(press(watches, 'lap', 11)).toBe('a stopwatch is pressed to start, stop or reset, not to lap');
    expect(press(watches, 'start', 11, ' ')).toBe('a stopwatch has a name of at most 40 characters');
    for (let i = 1; i < 24; i++) expect(press(watches, 'start', 11, `w${i}`)).toBe('');
    expect(press(watches, 'start', 11, 'one more')).toBe('there are 24 stopwatches, and no more');
  });

  it('counts what lies between starts and stops, whatever is pressed, saved and restored', () => {
    const presses = fc.array(
      fc.record({ choice: fc.constantFrom('start', 'stop', 'reset'), after: fc.integer({ min: 0, max: 3_000_000 }) }),
      { maxLength: 30 },
    );
    fc.assert(
      fc.property(presses, fc.nat(30), (list, cut) => {
        let watches = new Stopwatches();
        let when = at(1);
        // counted a second at a time, as somebody with a watch of his own would
        let since: number | undefined;
        let counted = 0;
        for (const [i, { choice, after }] of list.entries()) {
          when += after;
          const of = action('press stopwatch', { subject: 'a', choice, aircraft: when });
          const reason = watches.act(entry('engine', of), of, moment);
          const known = watches.view().length > 0;
          if (choice === 'start' && since === undefined) since = when;
          else if (choice === 'stop' && since !== undefined) {
            counted += when - since;
            since = undefined;
          } else if (choice === 'reset' && known) {
            counted = 0;
            if (since !== undefined) since = when;
          } else expect(reason).not.toBe('');
          if (i === cut) {
            const again = new Stopwatches();
            again.restore(structuredClone(watches.save()));
            watches = again;
          }
          if (known) expect(watches.view()[0]).toMatchObject({ counted, running: since !== undefined });
          if (since !== undefined) expect(watches.view()[0]?.from).toBe(since);
        }
      }),
      { seed: 20261125, numRuns: 200 },
    );
  });
});
