/** Alarm states, transitions, floods and metrics against the published ones; rows and sources in alarm.json. */
import { describe, expect, it } from 'vitest';
import { alarmTargets, alarmWords } from '../../protocol/alarm-metrics.ts';
import { SECOND } from '../../protocol/time.ts';
import { FLOOD } from '../../station/alarm/flood.ts';
import { acknowledgementStates, availabilityStates, latchStates } from '../../station/alarm/life-cycle.ts';
import { AlarmRoom } from '../support/alarm-room.ts';
import { group, levelLimit, mission, parameter } from '../support/tiny-mission.ts';
import { type CheckRow, checkRows, rowName } from './rows.ts';

const rows = checkRows('alarm') as (Omit<CheckRow, 'expected' | 'inputs'> & { expected: unknown; inputs: unknown })[];
const rowOf = (id: string) => rows.find((row) => row.id === id) as (typeof rows)[number];
/** The numbers in the text of a row, in its order; words for small numbers count. */
const numbersOf = (id: string): number[] => {
  const words: Record<string, number> = { zero: 0, one: 1, three: 3, five: 5 };
  return [...String(rowOf(id).expected).matchAll(/\d+|\b(?:zero|one|three|five)\b/g)].map(
    ([text]) => words[text] ?? +text,
  );
};

const room = (): AlarmRoom => {
  const limits = [levelLimit('x', 'A', { suppressIn: ['ground'] })];
  const phases = { parameter: 'PHASE', phases: [{ id: 'ground', name: 'ground', transitions: [] }], hold: 0 };
  const parameters = [parameter('A', 'main'), parameter('PHASE', 'main')];
  return new AlarmRoom(mission({ groups: [group('main', 100)], parameters, phases, limits })).to(100);
};
const does: Record<string, (of: AlarmRoom) => unknown> = {
  'alarm occurs': (of) => of.outside(0, 'warning'),
  'returns to normal': (of) => of.inside(0),
  acknowledge: (of) => of.acknowledge('engine', 'x'),
  'another acknowledges': (of) => of.acknowledge('test director', 'x'),
  shelve: (of) => of.outside(0, 'caution').shelve('engine', 'x'),
  suppress: (of) => of.phase('ground'),
  'take out of service': (of) => of.takeOut('engine', 'x'),
};
const walked = (events: readonly string[]): AlarmRoom => {
  const of = room();
  for (const event of events) (does[event] as (of: AlarmRoom) => unknown)(of);
  return of;
};

/** The standard's name for where a latching alarm stands, seen by its watcher. */
const nameOf = (of: AlarmRoom): string => {
  const state = of.alarm.list().find(({ definition }) => definition.id === 'x')?.state;
  if (!state) return 'normal';
  if (state.availability !== 'in service') return state.availability;
  if (state.condition === 'inside' && state.latch === 'free') return 'normal';
  const acknowledged = state.acknowledgedBy.includes('engine');
  if (state.condition === 'inside') return acknowledged ? 'latched acknowledged' : 'return-to-normal unacknowledged';
  return acknowledged ? 'acknowledged' : 'unacknowledged';
};

const wayTo: Record<string, string[]> = {
  normal: [],
  unacknowledged: ['alarm occurs'],
  acknowledged: ['alarm occurs', 'acknowledge'],
  'return-to-normal unacknowledged': ['alarm occurs', 'returns to normal'],
  shelved: ['shelve'],
  'suppressed by design': ['suppress'],
  'out of service': ['take out of service'],
};

const checks: Record<string, () => void> = {
  'AL-STATES': () => {
    const latched = ['latched unacknowledged', 'latched acknowledged'];
    for (const state of rowOf('AL-STATES').expected as string[]) {
      if (!latched.includes(state)) expect([state, nameOf(walked(wayTo[state] as string[]))]).toEqual([state, state]);
    }
    // the latch of a warning that cleared is held: not acknowledged by anybody, then by one who is not its watcher
    const cleared = walked(['alarm occurs', 'returns to normal']);
    expect(cleared.state('x')).toMatchObject({ condition: 'inside', latch: 'held', acknowledgedBy: [] });
    does['another acknowledges']?.(cleared);
    expect(cleared.state('x')).toMatchObject({ condition: 'inside', latch: 'held', acknowledgedBy: ['test director'] });
  },
  'AL-TRANS': () => {
    const table = rowOf('AL-TRANS').expected as Record<string, Record<string, string>>;
    const walks = Object.entries(table).flatMap(([from, row]) =>
      Object.entries(row).map(([event, to]) => ({ from, event, to })),
    );
    expect(walks.length).toBe(6);
    for (const { from, event, to } of walks) {
      expect([from, event, nameOf(walked([...(wayTo[from] as string[]), event]))]).toEqual([from, event, to]);
    }
  },
  'AL-WALK-1': () => walks('AL-WALK-1'),
  'AL-WALK-2': () => walks('AL-WALK-2'),
  // what that model names and this one has not: confirming is the stop call's, a one-shot shelf is one that ends when it
  // clears, which a chattering alarm would do at once
  'AL-OPC': () => {
    const ours: Record<string, boolean> = {
      active: walked(['alarm occurs']).state('x').condition === 'outside',
      acknowledged: acknowledgementStates.includes('acknowledged'),
      confirmed: false,
      'shelving (unshelved': availabilityStates.includes('in service'),
      timed: walked(['shelve']).state('x').asideUntil > 0,
      'one-shot)': false,
      suppressed: availabilityStates.includes('suppressed by design'),
      'out of service': availabilityStates.includes('out of service'),
      latched: latchStates.includes('held'),
    };
    const named = String(rowOf('AL-OPC').expected).split(', ');
    expect(named.filter((word) => ours[word] === undefined)).toEqual([]);
    expect(named.filter((word) => !ours[word])).toEqual(['confirmed', 'one-shot)']);
  },
  'AL-EEM-RATE': () => expect(numbersOf('AL-EEM-RATE')).toEqual([alarmTargets.good, alarmWords.period / SECOND / 60]),
  'AL-EEM-FLOOD': () => expect(numbersOf('AL-EEM-FLOOD')).toEqual([FLOOD.beginsAbove, FLOOD.window / SECOND / 60]),
  'AL-EEM-AVG': () => {
    expect(numbersOf('AL-EEM-AVG')).toEqual([alarmTargets.meanHour, 24 * alarmTargets.meanHour]);
  },
  'AL-EEM-PKH': () => expect(numbersOf('AL-EEM-PKH')).toEqual([alarmTargets.peakHour]),
  'AL-EEM-PKM': () => expect(numbersOf('AL-EEM-PKM')).toEqual([alarmTargets.peakMinute]),
  'AL-EEM-PRIO': () => {
    const { high, medium, low } = alarmTargets.priorities;
    expect(numbersOf('AL-EEM-PRIO')).toEqual([100 * high, 100 * medium, 100 * low]);
  },
  'AL-ISA-CHAT': () => {
    expect(numbersOf('AL-ISA-CHAT')).toEqual([alarmWords.chattering.activations, 1, 1]);
    expect(alarmWords.chattering.within).toBe(60 * SECOND);
  },
  'AL-ISA-FLEET': () => {
    expect(rowOf('AL-ISA-FLEET').expected).toContain('clears before an operator could act and does not repeat quickly');
    const short = (...raises: number[]): number => {
      const of = room();
      for (const at of raises)
        of.to(at)
          .outside(0, 'caution')
          .to(at + 3.999999)
          .inside(0);
      return of.alarm.metrics().fleeting[0]?.times ?? 0;
    };
    expect([short(200), short(200, 260), short(200, 259)]).toEqual([1, 2, 0]);
    const long = room().to(200).outside(0, 'caution').to(204).inside(0);
    expect(long.alarm.metrics().fleeting).toEqual([]);
  },
  'AL-ISA-STALE': () => {
    expect(numbersOf('AL-ISA-STALE')).toEqual([alarmWords.stale / SECOND / 3600]);
    const of = room().outside(0, 'caution');
    expect(of.to(100 + 24 * 3600).alarm.metrics().stale).toEqual([]);
    expect(of.to(100.000001 + 24 * 3600).alarm.metrics().stale).toEqual(['x']);
  },
  'AL-ISA-FLOODDEF': () => {
    const minutes = FLOOD.window / SECOND / 60;
    expect(numbersOf('AL-ISA-FLOODDEF')).toEqual([FLOOD.beginsAbove, minutes, 1, FLOOD.endsBelow, minutes]);
  },
  'AL-ISA-DAY': () => {
    const { acceptableHour, manageableHour } = alarmTargets;
    // the standard rounds: 6 an hour are 144 a day, 12 are 288
    expect(numbersOf('AL-ISA-DAY')).toEqual([150, acceptableHour, 300, manageableHour]);
    expect([24 * acceptableHour, 24 * manageableHour].map((n) => Math.round(n / 50) * 50)).toEqual([150, 300]);
  },
  'AL-ISA-PCT30': () => {
    expect(rowOf('AL-ISA-PCT30').quantity).toContain(`more than ${alarmTargets.busyHour} `);
    expect(numbersOf('AL-ISA-PCT30')).toEqual([100 * alarmTargets.busyHours]);
  },
  'AL-ISA-PCT10': () => {
    expect(rowOf('AL-ISA-PCT10').quantity).toBe(
      `${alarmWords.period / SECOND / 60} min periods with more than ${alarmTargets.busyPeriod} alarms`,
    );
    expect(numbersOf('AL-ISA-PCT10')).toEqual([100 * alarmTargets.busyPeriods]);
  },
  'AL-ISA-TOP10': () => expect(numbersOf('AL-ISA-TOP10')).toEqual([1, 100 * alarmTargets.topTenShare]),
  'AL-ISA-CHN': () => {
    expect(numbersOf('AL-ISA-CHN')).toEqual([alarmTargets.chattering]);
    expect(alarmTargets.fleeting).toBe(alarmTargets.chattering);
  },
  'AL-ISA-STN': () => expect(numbersOf('AL-ISA-STN')).toEqual([alarmTargets.stale + 1]),
  'AL-CHAT-1': () => chatters('AL-CHAT-1'),
  'AL-CHAT-2': () => chatters('AL-CHAT-2'),
};

function walks(id: string): void {
  const { inputs, expected } = rowOf(id);
  expect(nameOf(walked((inputs as { events: string[] }).events))).toBe(expected);
}

function chatters(id: string): void {
  const { inputs, expected } = rowOf(id);
  const {
    activations_s: activations,
    n,
    window_s: window,
  } = inputs as Record<'activations_s', number[]> & Record<'n' | 'window_s', number>;
  expect([n, window * SECOND]).toEqual([alarmWords.chattering.activations, alarmWords.chattering.within]);
  const of = room();
  for (const at of activations)
    of.to(200 + at)
      .outside(0, 'caution')
      .inside(0);
  expect(of.alarm.metrics().chattering.length > 0).toBe(expected);
}

describe('alarms against published values', () => {
  for (const row of rows) {
    it(rowName(row as unknown as CheckRow), () => {
      const check = checks[row.id];
      if (!check) throw new Error(`nothing holds ${row.id}`);
      check();
    });
  }
});
