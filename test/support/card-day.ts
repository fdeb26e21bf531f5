/** The rehearsal's day of test cards at full speed: the people of the room act on what they see, none of them by the clock. */
import type { ConductAct, ConductAction, ConductView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import type { Action, Entry } from '../../protocol/entry.ts';
import type { Outputs } from '../../protocol/fold.ts';
import { columnIds, type Mission } from '../../protocol/mission.ts';
import type { ChannelCheck } from '../../protocol/readiness.ts';
import { groundTime, SECOND } from '../../protocol/time.ts';
import { shuntNames } from '../../replay/rehearsal/shunts.ts';
import type { Scenario } from '../../replay/rehearsal/scenario.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { flownEntries } from './flown.ts';

/** What people look at. */
export interface Seen {
  conduct: ConductView;
  /** newest value of a parameter */
  value(parameter: string): number;
  run: PointRun | undefined;
  gate: StepGateView;
}

/** One thing that one person does, as soon as what he waits for is there. */
export interface Doing {
  position: string;
  when: (seen: Seen) => boolean;
  action: Action | ((seen: Seen) => Action);
  /** what the station refuses it with; absent = it does it */
  refused?: RegExp;
  /** in the same moment as the one before: another person does it, who did not wait for that one */
  atOnce?: true;
}

const said = (act: ConductAct, more: Partial<ConductAction> = {}): ConductAction => ({
  ...{ act, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 },
  ...more,
});

const always = (): boolean => true;

/** Whether the controls are back where they rested, per cent of their travel. */
export const isHome = (rested: readonly number[], now: readonly number[]): boolean =>
  rested.length > 0 && rested.every((place, i) => Math.abs(place - (now[i] as number)) < 1.5);

/** Whether the shunt of this channel is in: more than half of its step is seen. */
export const isShunted = ({ zero, shunt = 0 }: ChannelCheck, value: number): boolean => value - zero > shunt / 2;

function morning(mission: Mission): Doing[] {
  const at = 'instrumentation';
  const rests = ({ conduct }: Seen) => conduct.readiness?.morning?.gathering === '';
  const swept = mission.readiness?.sweep?.channels ?? [];
  const places = ({ value }: Seen): number[] => swept.map(({ parameter }) => value(parameter));
  let rested: number[] = [];
  const channel = (name: string) => mission.readiness?.morning?.channels.find((one) => one.parameter === name);
  return [
    { position: '', when: always, action: said('report recorder', { choice: 'verified', text: 'read back' }) },
    { position: 'test conductor', when: always, action: said('open poll') },
    {
      position: 'test director',
      when: always,
      action: said('answer poll', { choice: 'ready' }),
      refused: /^the room is not ready: .*instrumentation: morning check not complete.*flight control: control sweep/,
    },
    {
      ...{ position: at, when: always },
      action: (seen) => {
        rested = places(seen);
        return said('begin check', { choice: 'zero' });
      },
    },
    ...shuntNames.map(
      (subject): Doing => ({
        position: at,
        when: (seen) => rests(seen) && isShunted(channel(subject) as ChannelCheck, seen.value(subject)),
        action: said('begin check', { choice: 'shunt', subject }),
      }),
    ),
    {
      position: at,
      when: (seen) => rests(seen) && seen.conduct.readiness?.morning?.complete === true,
      action: said('end check'),
    },
    { position: 'flight control', when: always, action: said('begin sweep'), atOnce: true },
    {
      position: 'flight control',
      when: (seen) =>
        seen.conduct.readiness?.sweep?.channels.every(({ travel }) => (travel ?? 0) > 0.98) === true &&
        isHome(rested, places(seen)),
      action: said('end sweep'),
    },
  ];
}

function poll(mission: Mission): Doing[] {
  const people = mission.people.filter(({ position }) => position !== 'test director');
  const ready = { when: always, action: said('answer poll', { choice: 'ready' }) };
  return [
    ...mission.people.flatMap(({ position }) =>
      (mission.readiness?.notices ?? []).map(
        ({ id }): Doing => ({
          ...{ position, when: always, atOnce: true },
          action: said('acknowledge notice', { subject: id }),
        }),
      ),
    ),
    { position: 'test conductor', when: always, action: said('open poll') },
    ...people.map(({ position }, i): Doing => ({ position, ...ready, ...(i > 0 && { atOnce: true }) })),
    { position: 'test director', ...ready },
  ];
}

/** A point from its call to its closing; `isFlown` = there is enough of a record, or nothing more to hope for. */
function point(
  subject: string,
  judgement: 'good' | 'repeat',
  isFlown: (run: PointRun) => boolean,
  isCalled: (seen: Seen) => boolean = always,
): Doing[] {
  const position = 'test conductor';
  const enter =
    (choice: string) =>
    ({ run }: Seen): Action =>
      said('enter gate', { number: run?.number ?? 0, choice });
  return [
    { position, when: isCalled, action: said('begin point', { subject }) },
    { position, when: ({ run }) => run?.offer === 'on condition', action: enter('on condition') },
    { position, when: ({ run }) => run !== undefined && isFlown(run), action: enter('recover') },
    {
      position,
      when: always,
      action: ({ run }) => said('judge point', { number: run?.number ?? 0, choice: judgement }),
    },
    { position, when: always, action: enter('closed') },
  ];
}

const decide = (choice: 'clear' | 'reduce', value: number): Doing => ({
  position: 'test director',
  when: ({ gate }) => gate.advice === choice,
  action: said('decide step', { subject: 'level-flight', choice, value }),
});

/** All that is done in the day, in this order. */
export function cardDay(mission: Mission): Doing[] {
  const complete = (run: PointRun): boolean => run.offer === 'complete';
  // the hold is over, and still nothing is offered
  const isLong = (run: PointRun): boolean => run.recorded >= 12 * SECOND;
  return [
    ...morning(mission),
    ...poll(mission),
    ...point('hover-steady', 'good', complete, ({ conduct }) =>
      conduct.sequences.some(({ id, state }) => id === 'pick-up' && state === 'done'),
    ),
    decide('clear', 60),
    ...point('level-60', 'good', complete),
    decide('clear', 70),
    ...point('level-70', 'repeat', isLong),
    ...point('level-70', 'good', complete),
    decide('reduce', 75),
  ];
}

/** People look up so often, in frames of 20 ms. */
const LOOK = 10;

export interface Flown {
  entries: Entry[];
  pipeline: Pipeline;
  /** view of conduct after every act */
  views: string[];
  alarms: Outputs['alarms'];
  /** what nobody came to do any more */
  left: Doing[];
}

/**
 * Flies the scenario with people who take this many seconds from seeing to doing; throws where the station answers otherwise
 * than they expect.
 */
export function flyDay(mission: Mission, scenario: Scenario, doings: readonly Doing[], reaction: number): Flown {
  const pipeline = new Pipeline({ gather: 0 });
  const flown: Flown = { entries: [], pipeline, views: [], alarms: [], left: [...doings] };
  const ids = columnIds(mission);
  const look = (): Seen => {
    const conduct = pipeline.conduct() as ConductView;
    const value = (parameter: string) => pipeline.latest.value[ids.indexOf(parameter)] as number;
    return { conduct, value, run: conduct.points.at(-1), gate: conduct.steps[0] as StepGateView };
  };
  const step = (entry: Entry): Outputs => {
    flown.entries.push(entry);
    const outputs = pipeline.step(entry);
    flown.alarms.push(...outputs.alarms);
    return outputs;
  };
  let due = Infinity;
  let frames = 0;
  for (const entry of flownEntries(mission, scenario)) {
    step(entry);
    const { ground } = entry;
    if (frames++ % LOOK !== 0 || frames < 2 * LOOK) continue;
    for (let next = flown.left[0]; next; next = flown.left[0]) {
      const seen = look();
      if (due === Infinity && next.when(seen)) due = next.atOnce ? ground : ground + reaction * SECOND;
      if (ground < due) break;
      due = Infinity;
      flown.left.shift();
      act(mission, next, seen, ground, flown.entries.length, step);
      flown.views.push(JSON.stringify(pipeline.conduct()));
    }
  }
  return flown;
}

function act(
  mission: Mission,
  { action, position, refused }: Doing,
  seen: Seen,
  ground: number,
  request: number,
  step: (entry: Entry) => Outputs,
): void {
  const person = mission.people.find((one) => one.position === position)?.id ?? '';
  const does = typeof action === 'function' ? action(seen) : action;
  const { results } = step({ kind: 'action', ground: groundTime(ground), person, position, request, action: does });
  const { accepted, reason } = results[0] as Outputs['results'][number];
  const expected = refused ? !accepted && refused.test(reason) : accepted;
  if (!expected) throw new Error(`${position}: ${JSON.stringify(does)}: ${accepted ? 'done' : reason}`);
}
