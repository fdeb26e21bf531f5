import { describe, expect, it } from 'vitest';
import type { Action } from './entry.ts';
import { groundTime } from './time.ts';
import {
  actionFromWire,
  actionToWire,
  decodeEntries,
  decodeToStation,
  encodeEntries,
  encodeToStation,
} from './wire.ts';

const overTheWire = (action: Action): Action =>
  actionFromWire(
    decodeToStation(encodeToStation({ action: { request: 1, action: actionToWire(action) } })).action?.action,
  );

describe('an action over the wire', () => {
  const call = { stopClass: 1, word: 'KNOCK IT OFF', reason: 'doubt', caller: 'pilot', alarm: '' };
  const made = { aircraft: 1_795_600_800_000_001, ground: 1_795_600_800_100_003 };

  it.each<[string, Action]>([
    ['a stop call with its key and its times', { act: 'stop call', ...call, key: '0f', made }],
    ['a stop call of which neither is known', { act: 'stop call', ...call }],
    ['an acknowledgement of what was seen', { act: 'acknowledge', alarm: 'nr-low', seen: made.ground }],
    ['an acknowledgement of whatever stands', { act: 'acknowledge', alarm: 'nr-low' }],
    ['a mark', { act: 'mark', text: 'here', aircraft: made.aircraft }],
    ['a step', { act: 'stop step', call: 2, step: 'safe', decision: '', note: 'by voice' }],
    [
      'what was said to resume',
      {
        ...{ act: 'stop step', call: 2, step: 'closed', decision: 'resume', note: '' },
        ...{ pilotAgrees: true, reasonFound: true, rechecked: true },
      },
    ],
    [
      'what of that was said',
      { act: 'stop step', call: 2, step: 'closed', decision: 'resume', note: '', reasonFound: true },
    ],
  ])('keeps %s', (_, action) => {
    expect(overTheWire(action)).toEqual(action);
  });

  it('with a key as long as a book is refused', () => {
    const long = { act: 'stop call', ...call, key: 'k'.repeat(2001) } as const;
    expect(() => overTheWire(long)).toThrow('2001 characters');
  });
});

it('keeps an entry of the clock, set forward or back', () => {
  const entries = [-3_600_000_000, 0, 1_500_000].map((difference) => ({
    kind: 'clock' as const,
    ground: groundTime(1_795_600_800_000_001),
    difference,
  }));
  expect(decodeEntries(encodeEntries(entries))).toEqual(entries);
});
