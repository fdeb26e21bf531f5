/** Whether the room is ready, put in the order a person asks: what is missing and who mends it, and where each part stands. */
import type {
  ChannelResult,
  ConductView,
  Missing,
  MorningView,
  ReadinessView,
  SweepResult,
  SweepView,
  WeightView,
} from '../../protocol/conduct.ts';
import { hazardTrace, type TraceRow } from '../../protocol/hazard-trace.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { ChannelCheck } from '../../protocol/readiness.ts';
import { type Position, positions } from '../../protocol/role.ts';
import { currentRun } from './points.ts';

/** `none`: the mission plans nothing of it. */
export const partStates = ['done', 'to do', 'under way', 'fault', 'cannot tell', 'none'] as const;
export type PartState = (typeof partStates)[number];

/** Where a part stands, in one word and one line. */
export interface PartLine {
  state: PartState;
  line: string;
  /** in place of the state's own word; absent = that */
  word?: string;
}

/** What one position can mend; position '' = nobody alone: the whole room waits for it. */
export interface MissingGroup {
  position: Position | '';
  mine: boolean;
  texts: string[];
}

/** Where a part stood when the station was last heard; what is not planned stays so. */
export const lastHeard = (part: PartLine): PartLine =>
  part.state === 'none' && part.word === undefined
    ? part
    : { state: 'cannot tell', line: part.state === 'cannot tell' ? part.line : `last heard: ${part.line}` };

const count = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`;

/** Positions that somebody sits at, in the order of the role table. */
export const mannedPositions = ({ people }: Pick<Mission, 'people'>): Position[] =>
  positions.filter((position) => people.some((person) => person.position === position));

/** Mine first, then what the whole room waits for, then the others in the order of the role table; only groups with something. */
export function missingGroups(missing: readonly Missing[], position: string): MissingGroup[] {
  const order = [position as Position, '' as const, ...positions.filter((one) => one !== position)];
  return order.flatMap((one, i) => {
    const texts = missing.filter((each) => each.position === one).map(({ text }) => text);
    // nobody signed in has nothing of his own
    const mine = i === 0 && position !== '';
    return texts.length > 0 && !(i === 0 && position === '') ? [{ position: one, mine, texts }] : [];
  });
}

/** What is missing of more than one position in the same words, told once. */
export interface SharedMissing {
  text: string;
  positions: MissingGroup['position'][];
}

/** Takes what more than one group lacks in the same words out of all of them; the rest stays where it stood. */
export function foldMissing(groups: readonly MissingGroup[]): { shared: SharedMissing[]; groups: MissingGroup[] } {
  const of = new Map<string, Set<MissingGroup['position']>>();
  for (const { position, texts } of groups)
    for (const text of texts) of.set(text, (of.get(text) ?? new Set()).add(position));
  const isShared = (text: string): boolean => (of.get(text)?.size ?? 0) > 1;
  return {
    shared: [...of].flatMap(([text, all]) => (all.size > 1 ? [{ text, positions: [...all] }] : [])),
    groups: groups.flatMap((group) => {
      const texts = group.texts.filter((text) => !isShared(text));
      return texts.length > 0 ? [{ ...group, texts }] : [];
    }),
  };
}

/** The poll waits for an answer of this position; not while a point is flown, when there is no time for it. */
export function isAsked(conduct: ConductView | undefined, position: string): boolean {
  const poll = conduct?.readiness?.poll;
  if (!poll || poll.opened === null || currentRun(conduct) !== undefined) return false;
  return poll.answers.some((one) => one.position === position && one.answer === '');
}

/**
 * A refusal that lists its reasons after a colon, apart; whole where it lists none. What stands in brackets is not cut.
 */
export function refusalList(reason: string): { head: string; items: string[] } {
  const at = reason.indexOf(': ');
  const [head, rest] = at < 0 ? [reason, ''] : [reason.slice(0, at), reason.slice(at + 2)];
  const items: string[] = [];
  let depth = 0;
  let from = 0;
  for (let i = 0; i < rest.length; i++) {
    if (rest[i] === '(') depth++;
    if (rest[i] === ')') depth--;
    if (depth > 0 || rest[i] !== ';') continue;
    items.push(rest.slice(from, i).trim());
    from = i + 1;
  }
  if (items.length === 0) return { head: reason, items };
  items.push(rest.slice(from).trim());
  return { head, items: foldItems(items.filter((item) => item !== '')) };
}

/** What begins with one position after the other and goes on in the same words is told once, the others named behind it. */
function foldItems(items: readonly string[]): string[] {
  const split = (item: string): [position: string, text: string] => {
    const position = positions.find((one) => item.startsWith(`${one}: `)) ?? '';
    return [position, position === '' ? item : item.slice(position.length + 2)];
  };
  const of = new Map<string, string[]>();
  for (const [position, text] of items.map(split))
    if (position !== '') of.set(text, [...(of.get(text) ?? []), position]);
  return items.flatMap((item) => {
    const [position, text] = split(item);
    const [first, ...others] = position === '' ? [''] : (of.get(text) ?? []);
    if (position !== first) return [];
    return others.length > 0 ? [`${item} (and of ${others.join(', ')})`] : [item];
  });
}

const blind = (line: string): PartLine => ({ state: 'cannot tell', line });
/** What a part says whose view does not come although the mission plans it. */
const notTold = blind('the station does not tell it');

export function noticesLine(mission: Mission, view: ReadinessView | null, position: string): PartLine {
  const notices = mission.readiness?.notices ?? [];
  if (notices.length === 0) return { state: 'none', line: 'no notice today' };
  if (!view) return notTold;
  const unread = (one: Position): number => notices.filter(({ id }) => !isAcknowledged(view, id, one)).length;
  const open = mannedPositions(mission).filter((one) => unread(one) > 0);
  if (open.length === 0)
    return { state: 'done', line: `${count(notices.length, 'notice')}, acknowledged by every position` };
  const mine = open.some((one) => one === position);
  const others = open.filter((one) => one !== position);
  const parts = [
    ...(mine ? [`you have ${unread(position as Position)} of ${notices.length} to read`] : []),
    ...(others.length > 3 ? [`${others.length} other positions still to acknowledge`] : []),
    ...(others.length > 0 && others.length <= 3 ? [`still to acknowledge: ${others.join(', ')}`] : []),
  ];
  return { state: 'to do', line: parts.join('; ') };
}

export const isAcknowledged = (view: ReadinessView, notice: string, position: string): boolean =>
  view.notices.some(({ id, acknowledged }) => id === notice && acknowledged.some((one) => one.position === position));

/** What a channel still has to be looked at for, in the order it is done. */
export function stillToLook(
  { looked }: Pick<ChannelResult, 'looked'>,
  { shunt }: Pick<ChannelCheck, 'shunt'>,
): string[] {
  const all = ['zero', ...(shunt === undefined ? [] : ['shunt']), 'rate', 'range'] as ChannelResult['looked'];
  return all.filter((one) => !looked.includes(one));
}

/** What is gathered next: zero first, then each shunt that is still to be looked at; undefined when all of that was. */
export function nextGather(
  view: MorningView,
  checks: readonly ChannelCheck[],
): { choice: 'zero' | 'shunt'; subject: string } | undefined {
  const of = (check: ChannelCheck): ChannelResult | undefined =>
    view.channels.find(({ parameter }) => parameter === check.parameter);
  if (view.channels.every(({ looked, cannotTell }) => looked.length === 0 && cannotTell.length === 0))
    return { choice: 'zero', subject: '' };
  const open = checks.find((check) => {
    const channel = of(check);
    // without a zero there is no step to be seen
    return check.shunt !== undefined && channel?.looked.includes('zero') && !channel.looked.includes('shunt');
  });
  return open && { choice: 'shunt', subject: open.parameter };
}

export const channelState = (channel: ChannelResult, check: ChannelCheck): PartState => {
  if (channel.faults.length > 0) return 'fault';
  if (channel.cannotTell.length > 0) return 'cannot tell';
  return stillToLook(channel, check).length > 0 ? 'to do' : 'done';
};

export function morningLine(mission: Mission, view: ReadinessView | null): PartLine {
  const plan = mission.readiness?.morning;
  if (!plan) return { state: 'none', line: 'no morning check is planned' };
  const morning = view?.morning;
  if (!morning) return notTold;
  const { channels, complete, ended, faults, gathering, recorder } = morning;
  if (gathering !== '') return { state: 'under way', line: `gathering ${gathering}` };
  const sure = channels.filter((one, i) => stillToLook(one, plan.channels[i] ?? {}).length === 0).length;
  const told = `${sure} of ${count(channels.length, 'channel')} looked at for all they have`;
  const recorded =
    recorder.state === 'verified'
      ? ''
      : `; recorder: ${recorder.state === 'trouble' ? recorder.text || 'trouble' : 'not verified'}`;
  if (faults > 0 || recorder.state === 'trouble')
    return { state: 'fault', line: `${count(faults, 'fault')}; ${told}${recorded}` };
  const blindOnes = channels.filter(({ cannotTell }) => cannotTell.length > 0).length;
  if (blindOnes > 0) return blind(`${count(blindOnes, 'channel')} cannot be told; ${told}${recorded}`);
  if (complete && ended && recorded === '') return { state: 'done', line: `${told}; no fault; ended` };
  return { state: 'to do', line: `${told}${complete ? '; to be ended' : ''}${recorded}` };
}

export function sweepLine(mission: Mission, view: ReadinessView | null): PartLine {
  if (!mission.readiness?.sweep) return { state: 'none', line: 'no control sweep is planned' };
  const sweep: SweepView | null | undefined = view?.sweep;
  if (!sweep) return notTold;
  const { channels, done, faults, running } = sweep;
  if (running) return { state: 'under way', line: 'move every control to both ends, then end the sweep' };
  if (faults > 0) return { state: 'fault', line: `${count(faults, 'fault')} in ${count(channels.length, 'control')}` };
  const untold = channels.filter(({ cannotTell }) => cannotTell.length > 0).length;
  if (untold > 0) return blind(`${count(untold, 'control')} of ${channels.length} cannot be told`);
  if (done) return { state: 'done', line: `${count(channels.length, 'control')}, full travel, no fault` };
  return { state: 'to do', line: `${count(channels.length, 'control')} to be swept` };
}

export const sweepState = (sweep: SweepView, { cannotTell, faults, low }: SweepResult): PartState => {
  if (faults.length > 0) return 'fault';
  if (cannotTell.length > 0) return 'cannot tell';
  if (sweep.running) return 'under way';
  return sweep.done && low !== null ? 'done' : 'to do';
};

export function weightLine(mission: Mission, view: ReadinessView | null): PartLine {
  if (!mission.readiness?.weight) return { state: 'none', line: 'no mass and balance is planned' };
  const weight: WeightView | null | undefined = view?.weight;
  if (!weight) return notTold;
  const { now, planned } = weight;
  const outside = planned.filter(({ state }) => state === 'outside').map(({ name }) => name);
  if (now.state === 'outside') outside.unshift('now');
  if (outside.length > 0)
    return { state: 'fault', word: 'OUTSIDE', line: `outside the test envelope: ${outside.join(', ')}` };
  if (now.state === 'cannot tell' || planned.some(({ state }) => state === 'cannot tell'))
    return blind('mass and balance cannot be told now');
  return { state: 'done', word: 'inside', line: 'inside the test envelope now and at every planned fuel state' };
}

export function idsLine(view: ReadinessView | null): PartLine {
  if (!view) return notTold;
  const { differences, match, softwareId, configurationId } = view.ids;
  if (differences.length > 0)
    return {
      state: 'fault',
      word: 'DIFFERENT',
      line: match ? 'not the released pack' : 'ids of the aircraft are not those of this pack',
    };
  if (!match) return blind('the aircraft has not sent its ids yet');
  return { state: 'done', word: 'match', line: `${softwareId} / ${configurationId}, as this pack is for` };
}

export function watchLine(view: ReadinessView | null): PartLine {
  if (!view) return notTold;
  const { unwatched, watch } = view;
  if (unwatched.length > 0)
    return {
      state: 'fault',
      word: 'UNWATCHED',
      line: `nobody watches the stop ${unwatched.length === 1 ? 'limit' : 'limits'} ${unwatched.join(', ')}`,
    };
  const watched = watch.reduce((sum, { limits }) => sum + limits.length, 0);
  return {
    state: 'done',
    word: 'watched',
    line: `${count(watched, 'limit')} watched by ${count(watch.length, 'position')}; every stop limit is somebody's`,
  };
}

/** A hazard is traced by the mission; whether somebody sits where it is watched changes with the day. */
export function hazardsLine(mission: Mission, view: ReadinessView | null): PartLine {
  const hazards = mission.hazards?.length ?? 0;
  if (hazards === 0) return { state: 'none', line: 'no hazard is traced' };
  const empty = new Set(
    hazardRows(mission, view)
      .filter(({ control, people }) => control !== '' && people.length === 0)
      .map(({ watcher }) => watcher || 'nobody'),
  );
  const traced = `${count(hazards, 'hazard')} traced to what holds each up`;
  if (empty.size === 0) return { state: 'done', word: 'traced', line: traced };
  return { state: 'to do', word: 'to be read', line: `${traced}; nobody sits at ${[...empty].join(', ')}` };
}

/** The trace with the watches as they are now; a limit that nobody watches actively is still its own watcher's to act on. */
export function hazardRows(mission: Mission, view: ReadinessView | null): TraceRow[] {
  if (!view) return hazardTrace(mission);
  const watchers = watchersOf(view.watch);
  return hazardTrace(mission, (limit) => watchers.get(limit.id) ?? (limit.watcher as Position));
}

export function checklistsLine({ checklists = [] }: Mission, conduct: ConductView | undefined): PartLine {
  if (checklists.length === 0) return { state: 'none', line: 'no checklist is declared' };
  const shown = conduct?.checklists.filter(({ shownSince }) => shownSince > 0).map(({ id }) => id) ?? [];
  const titles = (some: Mission['checklists'] = []): string => some.map(({ title }) => title).join(', ');
  if (shown.length === 0) return { state: 'none', word: 'none shown', line: titles(checklists) };
  const now = checklists.filter(({ id }) => shown.includes(id));
  return { state: 'under way', word: 'SHOWN NOW', line: titles(now) };
}

/** Who watches each limit now, by id; undefined for one that nobody watches. */
export const watchersOf = (watch: ReadinessView['watch']): Map<string, Position> =>
  new Map(watch.flatMap(({ limits, position }) => limits.map((id) => [id, position] as const)));
