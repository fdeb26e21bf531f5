/** A stop call for tests: takes what a test cares about and fills in the rest. */
import type { StopCallState } from '../../protocol/stop-call.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';

/** Logged by the test conductor at 1 s aircraft time and 2 s ground time, answering no alarm. */
export function stopCallOf(more: Partial<StopCallState> = {}): StopCallState {
  const ground = groundTime(2_000_000);
  const aircraft = aircraftTime(1_000_000);
  return {
    number: 1,
    stopClass: 1,
    kind: 'flight',
    word: 'KNOCK IT OFF',
    reason: 'vibration',
    caller: 'test conductor',
    person: 'conductor',
    alarm: '',
    key: '',
    madeAircraft: aircraftTime(0),
    madeGround: groundTime(0),
    step: 'called',
    decision: '',
    steps: [{ step: 'called', person: 'conductor', position: 'test conductor', ground, aircraft, note: '' }],
    facts: {
      parameter: '',
      level: '',
      value: Number.NaN,
      limitValue: Number.NaN,
      phase: '',
      point: '',
      gate: '',
      baselineId: 'tiny',
      limitChanges: 0,
      values: [],
      stream: 'receiving',
      receivers: [],
      cannotTell: 0,
    },
    evidence: {
      fromAircraft: aircraftTime(0),
      toAircraft: aircraftTime(61_000_000),
      fromGround: groundTime(0),
      toGround: groundTime(62_000_000),
    },
    repeatOf: 0,
    ...more,
  };
}
