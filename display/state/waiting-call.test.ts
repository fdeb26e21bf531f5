import { describe, expect, it } from 'vitest';
import { type WaitingCall, waitingFrom, waitingText } from './waiting-call.ts';

const call: WaitingCall = {
  action: {
    act: 'stop call',
    stopClass: 2,
    word: 'STOP TEST',
    reason: 'lost data',
    caller: 'pilot',
    alarm: '',
    key: 'a1',
    made: { aircraft: 5, ground: 7 },
  },
  person: 'tc',
  personName: 'Bram Tolliver',
  clock: 1000,
  refused: '',
};

describe('a call that waits', () => {
  it('is the same after it was kept', () => {
    expect(waitingFrom(waitingText([call, { ...call, refused: 'no' }]))).toEqual([call, { ...call, refused: 'no' }]);
  });

  it('is left out when it has no key, since it could be filed twice', () => {
    expect(waitingFrom(waitingText([{ ...call, action: { ...call.action, key: '' } }]))).toEqual([]);
  });

  it('reads whatever else stands there as no call', () => {
    expect([null, '', '{', '7', '[null]', '[{"action":{"key":4}}]'].flatMap(waitingFrom)).toEqual([]);
  });

  it('takes times that are none for unknown', () => {
    const broken = waitingText([call]).replace('"ground":7', '"ground":"x"').replace('"clock":1000', '"clock":-1');
    expect(waitingFrom(broken)[0]).toMatchObject({ clock: 0, action: { made: { aircraft: 5, ground: 0 } } });
  });
});
