/**
 * Every position against every action, over the real WebSocket of a real station. What is expected stands here in a table
 * of its own, written from the roles of a telemetry room and not from the product's table; every attempt must be in the
 * recording, each refused one with its reason.
 */
import { afterEach, beforeEach, expect, it } from 'vitest';
import { type ConductAct, conductActs } from '../../protocol/conduct.ts';
import type { Action } from '../../protocol/entry.ts';
import { type ActionName, actionNames, type Position, positions } from '../../protocol/role.ts';
import { answer, FullRoom, idOf } from '../support/full-room.ts';

type Expected = 'yes' | 'own' | 'no';

/** In the order of the columns below. */
const columns: Position[] = [
  'test director',
  'test conductor',
  'flight control',
  'engine',
  'rotor and loads',
  'handling qualities',
  'range safety',
  'instrumentation',
  'configuration',
];
/** `own`: with the limits and alarms that the position watches, and with no others. */
const table: Record<ActionName, Expected[]> = {
  //                        TD     TC     FC     EN     RL     HQ     RS     IN     CF
  acknowledge: /*        */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'call stop class 1': /**/ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'call stop class 2': /**/ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'yes', 'no'],
  'step stop call': /*   */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'close stop call': /*  */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'resume after stop call': ['yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  mark: /*               */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'name flight': /*      */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  shelve: /*             */ ['yes', 'yes', 'own', 'own', 'own', 'own', 'own', 'own', 'own'],
  'take out of service': ['yes', 'own', 'own', 'own', 'own', 'own', 'own', 'own', 'own'],
  'tighten limit': /*    */ ['yes', 'no', 'own', 'own', 'own', 'own', 'no', 'no', 'no'],
  'propose loosening': /**/ ['yes', 'no', 'own', 'own', 'own', 'own', 'no', 'no', 'no'],
  'approve loosening': /**/ ['yes', 'no', 'own', 'own', 'own', 'own', 'no', 'no', 'no'],
  'decline change': /*   */ ['yes', 'no', 'own', 'own', 'own', 'own', 'no', 'no', 'no'],
  'run points': /*       */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'decide step': /*      */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'open anomaly': /*     */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'close anomaly': /*    */ ['yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'acknowledge notice': ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'open poll': /*        */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'answer poll': /*      */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'assign watch': /*     */ ['yes', 'own', 'own', 'own', 'own', 'own', 'own', 'own', 'own'],
  'run morning check': /**/ ['no', 'no', 'no', 'no', 'no', 'no', 'no', 'yes', 'no'],
  'run control sweep': /**/ ['no', 'no', 'yes', 'no', 'no', 'no', 'no', 'no', 'no'],
  'set load': /*         */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
  'report voice': /*     */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'tick checklist': /*   */ ['yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes', 'yes'],
  'hold evidence': /*    */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'yes', 'no'],
  // last: it ends the flight that the others act in
  'close flight': /*     */ ['yes', 'yes', 'no', 'no', 'no', 'no', 'no', 'no', 'no'],
};
/** Those that stand for limits in flight: only of theirs can a loosening be proposed at all. */
const disciplines: readonly string[] = ['flight control', 'engine', 'rotor and loads', 'handling qualities'];
const aboutSomething: readonly ActionName[] = [
  'shelve',
  'take out of service',
  'tighten limit',
  'propose loosening',
  'approve loosening',
  'decline change',
  'assign watch',
];
const ofProposals: readonly ActionName[] = ['propose loosening', 'approve loosening', 'decline change'];

interface Tried {
  person: string;
  position: string;
  act: string;
  accepted: boolean;
  reason: string;
}

let room: FullRoom;
/** what was tried, in order */
const tried: Tried[] = [];
beforeEach(async () => {
  tried.length = 0;
  values.clear();
  room = await FullRoom.open();
});
afterEach(() => room.close());

/** One attempt from a display of its own. */
async function attempt(position: string, action: Action): Promise<Tried> {
  const display = await room.sit(position);
  display.act(1, action);
  const { accepted, reason } = await answer(display, 1);
  display.socket.close();
  const one = { person: idOf(position), position, act: action.act, accepted, reason };
  tried.push(one);
  return one;
}

/** What prepares or tidies up: must be done. */
async function prepare(position: string, action: Action): Promise<void> {
  expect(await attempt(position, action)).toMatchObject({ accepted: true });
}

const call = (stopClass: number): Action => ({
  act: 'stop call',
  stopClass,
  word: stopClass === 2 ? 'STOP TEST' : 'KNOCK IT OFF',
  // a second class 1 call on the same cause would end testing for the day
  reason: `a test of the roles, number ${tried.length}`,
  caller: '',
  alarm: '',
});
const newestCall = () => room.station.fold.room().calls.at(-1)?.number ?? 0;
const step = (name: 'safe' | 'closed', decision: 'return' | 'resume' | '' = ''): Action => ({
  act: 'stop step',
  call: newestCall(),
  step: name,
  decision,
  note: '',
  ...(decision === 'resume' && { pilotAgrees: true, reasonFound: true, rechecked: true }),
});
/** Closes the newest call, from whatever step it stands at. */
async function closeCall(): Promise<void> {
  const stands = room.station.fold.room().calls.at(-1)?.step;
  if (stands === 'closed') return;
  if (stands !== 'safe') await prepare('test conductor', step('safe'));
  await prepare('test conductor', step('closed', 'return'));
}

/** Values of limits as they are now, so that each change is one. */
const values = new Map<string, number>();
const now = (limit: string) => values.get(limit) ?? 10_000;
const change = (limit: string, by: number): Action => ({
  act: 'change limit',
  limit,
  values: { above: { caution: now(limit) + by }, persistence: 0, hysteresis: 0 },
  reason: 'a test of the roles',
  pilotInformed: true,
  offCondition: true,
});
const newestChange = () => room.station.fold.room().changes.at(-1);
const decline = (): Action => ({ act: 'decline change', change: newestChange()?.number ?? 0, reason: 'no' });
const approve = (): Action => ({
  act: 'approve change',
  change: newestChange()?.number ?? 0,
  pilotInformed: true,
  offCondition: true,
  note: '',
});
/** A loosening that `position` could approve or refuse, if anybody there can: asked for by the other side. */
const propose = (limit: string, watcher: string, position: string) =>
  prepare(position === 'test director' ? watcher : 'test director', change(limit, 1));
async function withdraw(): Promise<void> {
  const proposal = newestChange();
  if (proposal?.state === 'proposed') await prepare(proposal.position, decline());
}

/** Brings about what an action needs, tries it, and tidies up; `watcher` is the position that what it is about belongs to. */
const cells: Record<ActionName, (position: string, watcher: string) => Promise<Tried>> = {
  acknowledge: (position) => attempt(position, { act: 'acknowledge', alarm: 'alarm-engine' }),
  'call stop class 1': async (position) => {
    const one = await attempt(position, call(1));
    await closeCall();
    return one;
  },
  'call stop class 2': async (position) => {
    const one = await attempt(position, call(2));
    if (one.accepted) await closeCall();
    return one;
  },
  'step stop call': async (position) => {
    await prepare('test conductor', call(2));
    const one = await attempt(position, step('safe'));
    await closeCall();
    return one;
  },
  'close stop call': async (position) => {
    await prepare('test conductor', call(2));
    await prepare('test conductor', step('safe'));
    const one = await attempt(position, step('closed', 'return'));
    await closeCall();
    return one;
  },
  'resume after stop call': async (position) => {
    await prepare('test conductor', call(2));
    await prepare('test conductor', step('safe'));
    const one = await attempt(position, step('closed', 'resume'));
    await closeCall();
    return one;
  },
  mark: (position) => attempt(position, { act: 'mark', text: 'here', aircraft: 0 }),
  'name flight': (position) => attempt(position, { act: 'name flight', number: '7', crew: '', note: '' }),
  'close flight': (position) => attempt(position, { act: 'close flight' }),
  shelve: async (position, watcher) => {
    const alarm = `alarm-${idOf(watcher)}`;
    const one = await attempt(position, { act: 'shelve', alarm, reason: 'known', seconds: 60 });
    if (one.accepted) await prepare(position, { act: 'unshelve', alarm });
    return one;
  },
  'take out of service': async (position, watcher) => {
    const alarm = `alarm-${idOf(watcher)}`;
    const one = await attempt(position, { act: 'take out of service', alarm, reason: 'broken' });
    if (one.accepted) await prepare(position, { act: 'return to service', alarm });
    return one;
  },
  'tighten limit': async (position, watcher) => {
    const limit = `limit-${idOf(watcher)}`;
    const one = await attempt(position, change(limit, -1));
    if (one.accepted) values.set(limit, now(limit) - 1);
    return one;
  },
  'propose loosening': async (position, watcher) => {
    const one = await attempt(position, change(`limit-${idOf(watcher)}`, 1));
    await withdraw();
    return one;
  },
  'approve loosening': async (position, watcher) => {
    const limit = `limit-${idOf(watcher)}`;
    await propose(limit, watcher, position);
    const one = await attempt(position, approve());
    if (one.accepted) values.set(limit, now(limit) + 1);
    await withdraw();
    return one;
  },
  'decline change': async (position, watcher) => {
    await propose(`limit-${idOf(watcher)}`, watcher, position);
    const one = await attempt(position, decline());
    await withdraw();
    return one;
  },
  'run points': (position) => conduct(position, 'begin point'),
  'decide step': (position) => conduct(position, 'decide step'),
  'open anomaly': (position) => conduct(position, 'open anomaly'),
  'close anomaly': (position) => conduct(position, 'close anomaly'),
  'acknowledge notice': (position) => conduct(position, 'acknowledge notice'),
  'open poll': (position) => conduct(position, 'open poll'),
  'answer poll': (position) => conduct(position, 'answer poll'),
  // to its own watcher: who may hand it over is told that it is there already
  'assign watch': (position, watcher) => conduct(position, 'assign watch', `alarm-${idOf(watcher)}`, watcher),
  'run morning check': (position) => conduct(position, 'begin check'),
  'run control sweep': (position) => conduct(position, 'begin sweep'),
  'set load': (position) => conduct(position, 'set load'),
  'report voice': (position) => conduct(position, 'report voice'),
  'tick checklist': (position) => conduct(position, 'tick checklist'),
  'hold evidence': (position) => conduct(position, 'hold evidence'),
};
/** An act that this mission has nothing for: whoever may do it is told so, and nobody else. */
const conduct = (position: string, act: ConductAct, subject = '', choice = '') =>
  attempt(position, { act, subject, number: 0, choice, text: '', value: 0, aircraft: 0 });
const ofConduct = new Set<string>(Object.values(conductActs).filter((name) => name !== 'mark'));

it('the table names every position and every action', () => {
  expect(columns).toEqual([...positions]);
  expect(Object.keys(table).sort()).toEqual([...actionNames].sort());
  for (const row of Object.values(table)) expect(row).toHaveLength(positions.length);
});

it('every position may do what the table says, and nothing else; every attempt is an entry', {
  timeout: 180_000,
}, async () => {
  await room.raiseAlarms();
  let refusals = 0;
  for (const [action, row] of Object.entries(table) as [ActionName, Expected[]][]) {
    for (const [n, position] of columns.entries()) {
      const watchers = aboutSomething.includes(action)
        ? [position, position === 'engine' ? 'rotor and loads' : 'engine']
        : ['engine'];
      for (const watcher of watchers) {
        if (ofProposals.includes(action) && !disciplines.includes(watcher)) continue;
        const isAllowed = row[n] === 'yes' || (row[n] === 'own' && watcher === position);
        const { accepted, reason } = await cells[action](position, watcher);
        if (isAllowed && ofConduct.has(action)) {
          expect(reason).not.toContain('may not');
          continue;
        }
        expect([action, position, watcher, accepted, reason === '']).toEqual([
          action,
          position,
          watcher,
          isAllowed,
          isAllowed,
        ]);
        if (isAllowed) continue;
        refusals++;
        expect(reason).toContain(`${position} may not ${action}`);
      }
    }
  }
  expect(refusals).toBeGreaterThan(80);
  const kept = await room.recorded();
  const told = kept.map(({ entry, outcome }) => ({
    person: entry.person,
    position: entry.position,
    act: entry.action.act,
    accepted: outcome.accepted,
    reason: outcome.reason,
  }));
  expect(told).toEqual(tried);
  // a connection of its own for each, never given twice, not even in the next flight
  expect(new Set(kept.map(({ entry }) => entry.session)).size).toBe(tried.length);
});

it('a position that the day\u2019s mission names may call class 2 directly, and no other', async () => {
  await room.close();
  room = await FullRoom.open({ mayCallClass2: ['engine'] });
  expect(await attempt('engine', call(2))).toMatchObject({ accepted: true });
  expect((await attempt('rotor and loads', call(2))).reason).toContain('rotor and loads may not call stop class 2');
});
