/** The mission of the cards with all that is looked at before a flight, and a morning half way through. Values invented. */
import type { ChannelResult, ConductView, ReadinessView, SequenceView, SweepResult } from '../../protocol/conduct.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ChannelCheck, ReadinessPlan } from '../../protocol/readiness.ts';
import type { Checklist, Hazard, Sequence } from '../../protocol/procedure.ts';
import { cardsMission, done } from './cards-mission.ts';
import { emptyConduct } from './mock-conduct.ts';
import { START } from './mock-station.ts';

const channel = (parameter: string, more: Partial<ChannelCheck> = {}): ChannelCheck => ({
  ...{ parameter, zero: 0, zeroTolerance: 20, noise: [2, 12], shunt: 900, shuntTolerance: 15 },
  ...more,
});

const { shunt: _, shuntTolerance: __, ...noShunt } = channel('NR', { zeroTolerance: 0.1, noise: [0.01, 0.05] });

const readiness: ReadinessPlan = {
  notices: [
    {
      id: 'flow-sensor',
      title: 'Fuel flow sensor replaced',
      text: 'The fuel flow sensor was replaced and calibrated on the bench. Flow reads about 2 kg/h lower than before at idle.',
    },
    { id: 'yaw', title: 'Yaw damping lowered', text: 'Expect more heading change with collective in the hover.' },
  ],
  morning: {
    gather: 4_000_000,
    settle: 500_000,
    channels: [channel('STRAIN_001'), channel('STRAIN_002'), channel('STRAIN_003'), noShunt],
    rateTolerance: 0.02,
    timeOffset: 250_000,
    timeDrift: 20_000,
  },
  sweep: {
    channels: [
      { parameter: 'STRAIN_010', command: 'STRAIN_011', rig: [-50, 50], channels: [] },
      { parameter: 'STRAIN_012', rig: [0, 100], channels: ['STRAIN_013'] },
    ],
    travel: 0.98,
    spread: 0.02,
    tracking: 0.04,
    delay: 100_000,
    missing: 0.01,
  },
  weight: {
    items: [],
    tanks: [
      { id: 'forward', name: 'Forward tank', parameter: 'FUEL', capacityKg: 150, armM: 2.35, lateralM: 0 },
      { id: 'aft', name: 'Aft tank', parameter: 'FUEL', capacityKg: 100, armM: 3.55, lateralM: 0 },
    ],
    envelope: [
      [2.4, 1300],
      [2.555, 1300],
      [2.555, 1650],
      [2.44, 1650],
      [2.4, 1450],
    ],
    lateral: 0.06,
    planned: [
      { name: 'Take-off', tanks: { forward: 140, aft: 60 } },
      { name: 'Aft tank empty', tanks: { forward: 140, aft: 0 } },
      { name: 'Landing', tanks: { forward: 60, aft: 0 } },
    ],
    knockOffKg: 60,
    flow: 'FUEL',
  },
  releases: [],
};

const sequences: Sequence[] = [
  {
    id: 'start',
    title: 'Engine start',
    begins: 'AIRBORNE',
    steps: [
      { name: 'light-off', within: 10_000_000, when: 'AIRBORNE' },
      { name: 'oil pressure', within: 10_000_000, when: 'AIRBORNE' },
      { name: 'idle', within: 25_000_000, when: 'AIRBORNE' },
    ],
    measures: [
      { title: 'Peak turbine outlet temperature', parameter: 'TOT', kind: 'max' },
      { title: 'Seconds above 830 degC', parameter: 'TOT', kind: 'time above', value: 830 },
      { title: 'Turbine outlet temperature now', parameter: 'TOT', kind: 'now' },
    ],
    gate: { text: 'Turbine outlet below 150 degC', when: 'AIRBORNE' },
  },
  {
    id: 'pick-up',
    title: 'Pick-up',
    begins: 'AIRBORNE',
    steps: [{ name: 'both skids up', within: 2_000_000, when: 'AIRBORNE' }],
    measures: [],
  },
];

const checklists: Checklist[] = [
  {
    id: 'lost-voice',
    title: 'Voice lost',
    shown: 'voice lost',
    steps: ['Call on the second radio, twice', 'Chase told to relay by hand signals', 'No further point is begun'],
  },
  {
    id: 'lost-link',
    title: 'Telemetry lost',
    shown: 'link lost',
    after: 2,
    steps: ['Tell the pilot that the room is blind', 'The point is stopped'],
  },
];

const hazards: Hazard[] = [
  {
    id: 'rotor-decay',
    title: 'Rotor speed decays below recovery',
    severity: 'catastrophic',
    owner: 'rotor and loads',
    mitigations: [
      {
        id: 'watched',
        text: 'Rotor speed is watched; the collective goes down at the warning',
        ...{ limits: ['nr-low'], checklists: [], cards: [], procedure: 'Flight manual, section 3' },
      },
    ],
  },
  {
    id: 'blind',
    title: 'The room can no longer speak to the aircraft',
    severity: 'marginal',
    owner: 'range safety',
    mitigations: [
      {
        id: 'briefed',
        text: 'Lost voice is flown as briefed',
        ...{ limits: [], checklists: ['lost-voice'], cards: [], procedure: '' },
      },
    ],
  },
];

export const readyMission: Mission = {
  ...cardsMission,
  people: [
    ...cardsMission.people,
    { id: 'in', name: 'Petra Wendholt', position: 'instrumentation' },
    { id: 'fc', name: 'Casper Lund', position: 'flight control' },
  ],
  readiness,
  sequences,
  checklists,
  hazards,
};

const seen = (parameter: string, more: Partial<ChannelResult> = {}): ChannelResult => ({
  ...{ parameter, zero: 3.1, noise: 6.2, shunt: null, rate: 100.02, faults: [], cannotTell: [] },
  ...{ looked: ['zero', 'rate', 'range'], ...more },
});

const swept = (parameter: string, more: Partial<SweepResult> = {}): SweepResult => ({
  ...{ parameter, low: null, high: null, travel: null, spread: null, tracking: null, delay: null, hysteresis: null },
  ...{ missing: null, faults: [], cannotTell: [], ...more },
});

const balance = (name: string, massKg: number, armM: number, fuelKg: number) =>
  ({ name, massKg, armM, lateralM: 0.001, fuelKg, state: 'inside' }) as const;

/** Notices read by one, zero gathered, controls swept with a fault, a stop limit unwatched. */
export function halfReady(): ReadinessView {
  return {
    notices: [
      {
        id: 'flow-sensor',
        acknowledged: [
          { person: 'td', position: 'test director', ground: START + 80e6 },
          { person: 'rl', position: 'rotor and loads', ground: START + 84e6 },
        ],
      },
      { id: 'yaw', acknowledged: [] },
    ],
    watch: [
      { position: 'test director', limits: [] },
      { position: 'test conductor', limits: ['nr-low', 'tq-high', 'tot-high', 'tq-rate'] },
      { position: 'flight control', limits: [] },
      { position: 'rotor and loads', limits: ['nr-high'] },
      { position: 'instrumentation', limits: [] },
    ],
    unwatched: ['ias-stop'],
    morning: {
      gathering: '',
      channels: [
        seen('STRAIN_001', { shunt: 899.4, looked: ['zero', 'shunt', 'rate', 'range'] }),
        seen('STRAIN_002'),
        seen('STRAIN_003', { zero: 88, faults: ['zero: 88 N, expected 0 ± 20 N: offset'] }),
        seen('NR', { zero: null, noise: null, rate: null, looked: [], cannotTell: ['no sample of 4 s was usable'] }),
      ],
      time: { offset: 0.062, drift: null },
      timeFaults: [],
      recorder: { state: 'verified', text: '4,096 entries read back' },
      complete: false,
      ended: null,
      faults: 1,
    },
    sweep: {
      running: false,
      done: true,
      faults: 1,
      channels: [
        swept('STRAIN_010', { low: -49.8, high: 49.9, travel: 0.997, tracking: 0.012, delay: 0.031, missing: 0 }),
        swept('STRAIN_012', {
          ...{ low: 4, high: 99.5, travel: 0.955, spread: 0.004, missing: 0.002 },
          faults: ['low end missed by 4, 4 % of travel: lowest 4, rig 0'],
        }),
      ],
    },
    weight: {
      loads: [
        { id: 'aircraft', name: 'Empty aircraft', massKg: 1170, armM: 2.617, lateralM: 0, changedBy: '' },
        { id: 'pilot', name: 'Pilot', massKg: 85, armM: 1.66, lateralM: 0.36, changedBy: '' },
        { id: 'ballast', name: 'Nose ballast', massKg: 15, armM: 1.7, lateralM: 0, changedBy: 'tc' },
      ],
      now: balance('Now', 1420, 2.5303, 150),
      planned: [
        { ...balance('Take-off', 1470, 2.565, 200), state: 'outside' },
        { ...balance('Take-off to Aft tank empty', 1470, 2.565, 200), state: 'outside' },
        balance('Aft tank empty', 1410, 2.523, 140),
        balance('Aft tank empty to Landing', 1330, 2.5335, 60),
        balance('Landing', 1330, 2.5335, 60),
      ],
      toKnockOffS: 2524,
    },
    ids: { match: true, softwareId: 'FCC-4.2', configurationId: 'SM1X-A7', differences: [] },
    missing: [
      { position: 'instrumentation', text: 'morning check not complete' },
      { position: 'instrumentation', text: 'morning check: 1 fault' },
      { position: 'flight control', text: 'control sweep: STRAIN_012 low end missed by 4' },
      {
        position: 'test conductor',
        text: 'mass and balance outside the test envelope, Take-off: 1470 kg, 10 mm beyond it',
      },
      { position: 'test director', text: 'nobody watches the stop limit ias-stop' },
      { position: 'test conductor', text: 'notice not acknowledged: Yaw damping lowered' },
      { position: '', text: 'anomaly 1 is open: ticking from the left door' },
    ],
    poll: {
      opened: done(70, 'td', 'test director'),
      answers: [
        { position: 'test director', answer: '', text: '', person: '', ground: 0 },
        { position: 'test conductor', answer: '', text: '', person: '', ground: 0 },
        {
          position: 'flight control',
          answer: 'not ready',
          text: 'sweep to be flown again',
          person: 'fc',
          ground: START + 90e6,
        },
        { position: 'rotor and loads', answer: 'ready', text: '', person: 'rl', ground: START + 92e6 },
        {
          position: 'instrumentation',
          answer: '',
          text: 'no longer ready: morning check: 1 fault',
          person: 'in',
          ground: START + 95e6,
        },
      ],
      ready: false,
    },
  };
}

/** A start that waits for its oil pressure; `from`: aircraft time it began. */
export const startUnderWay = (from: number): SequenceView => ({
  ...{ id: 'start', state: 'running', times: 1, began: from, ended: 0, gate: 'inside' },
  ...{ earlier: [], dropped: 0 },
  steps: [
    { name: 'light-off', state: 'done', at: from + 4_200_000, took: 4_200_000, within: 10_000_000 },
    { name: 'oil pressure', state: 'due', at: 0, took: 0, within: 10_000_000 },
    { name: 'idle', state: 'waiting', at: 0, took: 0, within: 25_000_000 },
  ],
  measures: [
    { title: 'Peak turbine outlet temperature', value: 742, unit: 'degC', missing: 400_000 },
    { title: 'Seconds above 830 degC', value: 0, unit: 's', missing: 0 },
    { title: 'Turbine outlet temperature now', value: null, unit: 'degC', missing: 0 },
  ],
});

export const notBegun = (id: string, steps: string[]): SequenceView => ({
  ...{ id, state: 'waiting', times: 0, began: 0, ended: 0, gate: '', measures: [], earlier: [], dropped: 0 },
  steps: steps.map((name) => ({ name, state: 'waiting', at: 0, took: 0, within: 2_000_000 })),
});

export const halfReadyConduct = (): ConductView => ({
  ...emptyConduct(),
  readiness: halfReady(),
  sequences: [startUnderWay(START + 124e6), notBegun('pick-up', ['both skids up'])],
  checklists: [
    { id: 'lost-voice', shownSince: 0, ticks: [] },
    { id: 'lost-link', shownSince: 0, ticks: [] },
  ],
});
