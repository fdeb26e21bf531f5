/** A conduct stage with one person at every position, and the actions they take. */
import type { Action, ActionEntry, StopCallAction } from '../../protocol/entry.ts';
import { emptyLatest, emptyStream } from '../../protocol/fold.ts';
import type { Mission, Person } from '../../protocol/mission.ts';
import { positions } from '../../protocol/role.ts';
import { aircraftTime, groundTime } from '../../protocol/time.ts';
import { type Conduct, compileConduct } from '../../station/conduct/conduct.ts';
import type { Situation } from '../../station/conduct/situation.ts';
import { levelLimit, mission, parameter } from './tiny-mission.ts';

export const idAt = (position: string): string => position.replaceAll(' ', '-');
export const people: Person[] = positions.map((position) => ({ id: idAt(position), name: `At ${position}`, position }));
export const words = { class1: ['KNOCK IT OFF', 'ABORT ABORT ABORT'], class2: ['STOP TEST'], start: ['ABORT START'] };
export const values = { above: { warning: 1 }, persistence: 0, hysteresis: 0 };
/** `a-high`, and a limit that each position watches. */
export const limits = [
  levelLimit('a-high', 'A', values),
  ...positions.map((watcher) => levelLimit(idAt(watcher), 'A', { ...values, watcher })),
];
export const missionOf = (more: Partial<Mission> = {}): Mission =>
  mission({ people, words, limits, parameters: [parameter('A', 'main')], ...more });

export const compiled = (of = missionOf()): Conduct => {
  const { value, findings } = compileConduct(of);
  if (!value) throw new Error(findings.map(({ found }) => found).join());
  return value;
};

/** What is around a stage when nothing is known: no sample, no alarm, no phase, and a check stage that takes all limits. */
export const nothingKnown: Situation = {
  latest: emptyLatest(0),
  room: () => ({ alarms: [], cannotTell: [], phase: '', receivers: [], stream: emptyStream() }),
  judge: () => '',
};

export const NOW = aircraftTime(50_000_000);
export const GROUND = 60_000_000;

export const entry = (position: string, action: Action, more: Partial<ActionEntry> = {}): ActionEntry => ({
  kind: 'action',
  ground: groundTime(GROUND),
  person: idAt(position),
  position,
  request: 1,
  action,
  ...more,
});

export const stopCall = (more: Partial<StopCallAction> = {}): Action => ({
  act: 'stop call',
  stopClass: 1,
  word: 'KNOCK IT OFF',
  reason: 'vibration',
  caller: '',
  alarm: '',
  ...more,
});

export const step = (call: number, name: string, decision = '', more: object = {}): Action =>
  ({ act: 'stop step', call, step: name, decision, note: '', ...more }) as Action;
export const agreed = { pilotAgrees: true, reasonFound: true, rechecked: true };

export const change = (limit: string, warning: number): Action => {
  const said = { reason: 'r', pilotInformed: true, offCondition: true };
  return { act: 'change limit', limit, values: { ...values, above: { warning } }, ...said };
};
export const approval = { pilotInformed: true, offCondition: true, note: '' };

/** Why it was refused; '' = it was done. */
export const act = (conduct: Conduct, position: string, action: Action, person = idAt(position)): string => {
  const { accepted, reason } = conduct.act(entry(position, action, { person }), NOW, nothingKnown);
  if (accepted !== (reason === '')) throw new Error(`accepted: ${accepted}, but ${reason}`);
  return reason;
};
