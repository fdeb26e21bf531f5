/** What the stand-in station does on an action: enough of the real one for a display to be tried on it. */
import type { Action } from '../../protocol/entry.ts';
import { limitsFor } from './mock-limits.ts';
import { tightens, valuesOf } from '../../protocol/limit-change.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type StopStepName, stopSteps } from '../../protocol/stop-call.ts';
import {
  limitValuesToWire,
  type WireAlarm,
  type WireCall,
  type WireLimitChange,
  type WirePrompt,
} from '../../protocol/wire.ts';

/** What of the room people can change. */
export interface MockRoom {
  alarms: WireAlarm[];
  calls: WireCall[];
  changes: WireLimitChange[];
  prompts: WirePrompt[];
  marks: { aircraftUs: number; groundUs: number; person: string; kind: string; text: string }[];
}

/** Who acted, and when. */
export interface ActedBy {
  person: string;
  position: string;
  groundUs: number;
  aircraftUs: number;
}

export function doAction(room: MockRoom, mission: Mission, action: Action, by: ActedBy): void {
  switch (action.act) {
    case 'acknowledge':
      for (const alarm of room.alarms)
        if (alarm.id === action.alarm) alarm.acknowledgedBy = [...(alarm.acknowledgedBy ?? []), by.position];
      return;
    case 'stop call':
      call(room, action, by);
      return;
    case 'stop step':
      step(room, action, by);
      return;
    case 'mark':
      room.marks.unshift({
        aircraftUs: action.aircraft || by.aircraftUs,
        groundUs: by.groundUs,
        person: by.person,
        kind: action.kind ?? 'event',
        text: action.text,
      });
      return;
    case 'shelve':
      put(room, action.alarm, {
        availability: 'shelved',
        asideBy: by.person,
        asideReason: action.reason,
        asideUntilUs: by.groundUs + (action.seconds || 600) * 1e6,
      });
      return;
    case 'take out of service':
      put(room, action.alarm, {
        availability: 'out of service',
        asideBy: by.person,
        asideReason: action.reason,
        asideUntilUs: 0,
      });
      return;
    case 'unshelve':
    case 'return to service':
      put(room, action.alarm, { availability: 'in service', asideBy: '', asideReason: '', asideUntilUs: 0 });
      return;
    case 'change limit':
      change(room, mission, action, by);
      return;
    case 'approve change':
      decide(room, action.change, 'in force', by, {
        note: action.note,
        offCondition: action.offCondition,
        pilotInformed: action.pilotInformed,
        fromUs: by.aircraftUs,
      });
      return;
    case 'decline change': {
      const own = room.changes.some(({ number, person }) => number === action.change && person === by.person);
      decide(room, action.change, own ? 'withdrawn' : 'refused', by, { note: action.reason });
      return;
    }
  }
}

function put(room: MockRoom, id: string, more: Partial<WireAlarm>): void {
  for (const alarm of room.alarms) if (alarm.id === id) Object.assign(alarm, more);
}

function call(room: MockRoom, action: Extract<Action, { act: 'stop call' }>, by: ActedBy): void {
  const { stopClass, word, reason, caller, alarm, made } = action;
  const at = made?.aircraft || by.aircraftUs;
  const ground = made?.ground || by.groundUs;
  room.calls.push({
    number: room.calls.length + 1,
    stopClass,
    word,
    reason,
    caller,
    person: by.person,
    step: 'called',
    steps: [{ step: 'called', note: '', ...by }],
    alarm,
    madeAircraftUs: made?.aircraft ?? 0,
    madeGroundUs: made?.ground ?? 0,
    evidence: {
      fromAircraftUs: at - 30e6,
      toAircraftUs: at + 60e6,
      fromGroundUs: ground - 30e6,
      toGroundUs: ground + 60e6,
      frozen: by.groundUs > ground + 60e6,
    },
  });
  room.prompts = room.prompts.filter((prompt) => prompt.alarm !== alarm);
}

function step(room: MockRoom, action: Extract<Action, { act: 'stop step' }>, by: ActedBy): void {
  const open = room.calls.find((one) => one.number === action.call);
  if (!open || stopSteps.indexOf(action.step) <= stopSteps.indexOf(open.step as StopStepName)) return;
  open.step = action.step;
  open.decision = action.decision;
  open.steps = [...(open.steps ?? []), { step: action.step, note: action.note, ...by }];
}

function change(
  room: MockRoom,
  mission: Mission,
  { limit, values, reason, offCondition, pilotInformed }: Extract<Action, { act: 'change limit' }>,
  by: ActedBy,
): void {
  const now = limitsFor(mission, room.changes).find(({ id }) => id === limit);
  if (!now) return;
  const isTightening = tightens(valuesOf(now), values);
  room.changes.push({
    number: room.changes.length + 1,
    limit,
    before: limitValuesToWire(valuesOf(now)),
    after: limitValuesToWire(values),
    tightens: isTightening,
    reason,
    state: isTightening ? 'in force' : 'proposed',
    ...by,
    offCondition,
    pilotInformed,
    fromUs: isTightening ? by.aircraftUs : 0,
    baselineId: mission.baselineId,
  });
}

function decide(room: MockRoom, number: number, state: string, by: ActedBy, more: Partial<WireLimitChange>): void {
  const found = room.changes.find((one) => one.number === number);
  if (!found) return;
  const decided = { decidedBy: by.person, decidedPosition: by.position, decidedGroundUs: by.groundUs };
  Object.assign(found, { state, ...decided, ...more });
}
