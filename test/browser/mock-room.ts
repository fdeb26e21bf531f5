/** The room as the stand-in station tells it. */
import type { Mission } from '../../protocol/mission.ts';
import type { ToStation, WireRoom } from '../../protocol/wire.ts';
import type { MockRoom } from './mock-acts.ts';

/** What a test sets of the room. */
export interface SetRoom extends MockRoom {
  readonly ground: number;
  readonly aircraft: number;
  cannotTell: string[];
  floods: NonNullable<WireRoom['floods']>;
  phase: string;
  streamState: string;
  southState: string;
  lost: boolean;
  recording: { state: string; hoursLeft: number; trouble: string };
  playback: { playing: boolean; speed: number; positionS: number; lengthS: number };
}

/** `flown`: aircraft seconds; `lostFrom`: when frames stopped. */
export function roomOf(
  set: SetRoom,
  mission: Mission,
  mode: string,
  flown: number,
  lostFrom: number | undefined,
): WireRoom {
  const ageUs = Math.round((flown - (lostFrom ?? flown)) * 1e6);
  const frames = Math.round(flown * 50);
  const { softwareId, configurationId } = mission.aircraft;
  const received = (state: string) => (set.lost ? 'silent' : state);
  const { alarms, cannotTell, calls, changes, floods, prompts, phase, marks } = set;
  return {
    groundUs: set.ground,
    aircraftUs: set.aircraft,
    ...{ alarms, cannotTell, calls, changes, floods, prompts, phase, marks },
    receivers: [
      {
        name: 'North',
        state: received('receiving'),
        frames,
        damaged: 3,
        missed: 41,
        chosen: frames - 800,
        ageUs,
      },
      {
        name: 'South',
        state: received(set.southState),
        frames: frames - 210,
        damaged: 12,
        missed: 198,
        chosen: 800,
        ageUs,
      },
    ],
    stream: {
      state: received(set.streamState),
      frames,
      lost: 2,
      damaged: 19,
      samples: frames * 200,
      ageUs,
      offsetUs: 61_000,
      softwareId,
      configurationId,
      idsMatch: true,
    },
    recording: mode === 'replay' ? { state: 'none' } : { ...set.recording, file: 'mock.sqlite' },
    ...(mode === 'replay' ? { playback: set.playback } : {}),
    flight: { number: '017', crew: 'invented', note: '', closed: false },
  };
}

/** The one field that a Playback message carries. */
export function playbackOf(message: NonNullable<ToStation['playback']>): Partial<SetRoom['playback']> {
  if (message.seekS !== undefined && message.seekS !== null) return { positionS: message.seekS };
  if (message.speed !== undefined && message.speed !== null) return { speed: message.speed };
  return { playing: message.playing ?? false };
}
