/** Small flights of a made-up aircraft, from chance: noise, spikes, lost frames, limits changed, points begun and closed. */
import type { Action, Entry } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import {
  derived,
  frameBytes,
  frameEntry,
  type GroupSamples,
  group,
  levelLimit,
  mission,
  parameter,
} from '../support/tiny-mission.ts';

export const START = 1_795_600_000 * SECOND;
const FRAME = 20_000;

const band = (parameterId: string) => ({ parameter: parameterId, target: 0, below: 500, above: 500 });

export const smallMission: Mission = mission({
  people: [
    { id: 'tc', name: 'Conductor', position: 'test conductor' },
    { id: 'td', name: 'Director', position: 'test director' },
    { id: 'en', name: 'Engineer', position: 'engine' },
  ],
  groups: [group('main', 100), group('slow', 10)],
  parameters: [
    parameter('A', 'main', { physicalRange: [-150, 150] }),
    parameter('G', 'main', { calibration: { kind: 'states', states: { 0: 'off', 1: 'on' } } }),
    parameter('B', 'slow', { physicalRange: [0, 100] }),
  ],
  derived: [
    derived('UP', 'B', 'B > 60'),
    derived('DOWN', 'B', 'B < 40'),
    derived('PHASE', 'B', '', { name: 'Phase', states: { 0: 'low', 1: 'high' } }),
  ],
  phases: {
    parameter: 'PHASE',
    hold: SECOND,
    phases: [
      { id: 'low', name: 'Low', transitions: [{ to: 'high', when: 'UP', for: 0 }] },
      { id: 'high', name: 'High', transitions: [{ to: 'low', when: 'DOWN', for: 0 }] },
    ],
  },
  limits: [
    levelLimit('two', 'A', {
      above: { caution: 50, warning: 80 },
      below: { caution: -60 },
      persistence: 50_000,
      hysteresis: 5,
    }),
    levelLimit('gated', 'A', { above: { warning: 40, stop: 30 }, while: 'G' }),
    levelLimit('low', 'B', { below: { caution: 30 }, hysteresis: 2 }),
    levelLimit('high-only', 'A', { above: { caution: 70 }, phases: ['high'], hysteresis: 1 }),
    levelLimit('phased', 'A', {
      kind: 'by phase',
      byPhase: {
        low: { above: { caution: 30 }, below: { warning: -40 } },
        high: { above: { caution: 60, warning: 90 } },
      },
      hysteresis: 3,
      persistence: 20_000,
    }),
  ],
  cards: [
    {
      id: 'card',
      title: 'Card',
      points: [
        {
          ...{ id: 'p1', title: 'Point', card: 'card', configuration: [], tolerance: [band('A')], dwell: 0 },
          ...{ data: [band('B')], mayBeOutside: 0, hold: SECOND, manoeuvre: '', recordFrom: 'on condition' },
          ...{ recover: '', stops: [], required: ['A'], dropout: 0, repeatRule: '', predicted: [] },
        },
      ],
    },
  ],
  maintenance: [
    {
      ...{ id: 'over', text: 'Over', parameter: 'A', side: 'above', source: 'table' },
      bands: [
        { value: 60, seconds: 0.3, cumulative: true, action: 'a' },
        { value: 60, seconds: 0.05, cumulative: false, action: 'b' },
        { value: 75, seconds: 0.02, cumulative: false, action: 'c' },
        { value: 95, seconds: 0, cumulative: false, action: 'd' },
      ],
    },
    {
      ...{ id: 'under', text: 'Under', parameter: 'B', side: 'below', source: 'table', phases: ['low'] },
      bands: [
        { value: 35, seconds: 0.2, cumulative: false, action: 'e' },
        { value: 20, seconds: 0, cumulative: false, action: 'f' },
      ],
    },
  ],
});

export interface SmallFlight {
  seed: number;
  frames: number;
  /** share of frames that begin a run of lost ones */
  lost: number;
}

const seeded = (seed: number) => {
  let state = (seed ^ 0x5bd1e995) >>> 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state / 2 ** 32;
  };
};

/** Every entry of the flight, in order. */
export function smallEntries({ seed, frames, lost }: SmallFlight): Entry[] {
  const chance = seeded(seed);
  const entries: Entry[] = [{ kind: 'configuration', ground: groundTime(START), mission: smallMission, files: [] }];
  const centre = { A: 20, B: 50 };
  let gate = 1;
  let gone = 0;
  let request = 0;
  let runs = 0;
  let isFlying = false;
  const act = (person: string, position: string, action: Action, ground: number): void => {
    entries.push({ kind: 'action', ground: groundTime(ground), person, position, request: ++request, action });
  };
  const conduct = (name: string, more: object): Action =>
    ({ act: name, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0, ...more }) as Action;
  for (let n = 0; n < frames; n++) {
    const time = START + n * FRAME;
    const row = () => {
      centre.A += (chance() - 0.5) * 16 + (20 - centre.A) * 0.02;
      if (chance() < 0.01) gate = 1 - gate;
      // one sample alone, far out; or one that is not physical
      const spike = chance() < 0.01 ? 100 : chance() < 0.01 ? 400 : 0;
      return { A: Math.round(centre.A + spike), G: gate };
    };
    const samples: GroupSamples[] = [{ group: 'main', rows: [row(), row()] }];
    if (n % 5 === 0) {
      centre.B = Math.min(98, Math.max(2, centre.B + (chance() - 0.5) * 20));
      samples.push({ group: 'slow', rows: [{ B: chance() < 0.02 ? 900 : Math.round(centre.B) }] });
    }
    if (gone === 0 && chance() < lost) gone = 1 + Math.floor(chance() * 60);
    if (gone > 0) gone--;
    else entries.push(frameEntry(time + 30_000, frameBytes(smallMission, n, time, samples)));
    const ground = time + 35_000;
    if (chance() < 0.02) {
      const levels = { above: { caution: 45 - Math.floor(chance() * 10), warning: 75 }, below: { caution: -50 } };
      const values = { ...levels, persistence: 50_000, hysteresis: 5 };
      const said = { reason: 'seen', pilotInformed: true, offCondition: true };
      act('en', 'engine', { act: 'change limit', limit: 'two', values, ...said }, ground);
    }
    if (chance() < 0.02) {
      const by = (name: string, more: object) => act('tc', 'test conductor', conduct(name, more), ground);
      if (!isFlying) {
        runs++;
        by('begin point', { subject: 'p1' });
      }
      // one that was refused has no number: those of others are refused
      for (let number = 1; isFlying && number <= runs; number++) {
        by('judge point', { number, choice: 'skip', text: 'enough' });
        by('enter gate', { number, choice: 'closed' });
      }
      isFlying = !isFlying;
    }
  }
  return entries;
}
