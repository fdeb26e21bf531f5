/**
 * Rules that a mission must keep before anybody flies by it, beyond being well written: what the room may rely on in a
 * limit. Each broken one refuses the mission. Source: rules of our own, after common practice in telemetry rooms.
 */
import type { Finding, FindingCode } from '../../protocol/finding.ts';
import type { LevelValues, Limit, SequenceStep } from '../../protocol/limit.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Parameter } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import { namesIn } from './conditions.ts';
import { shown } from './source.ts';

/**
 * Seconds from an alarm on the screen until something is done: seen, spoken, passed on by radio, answered by the pilot.
 * The call alone may take 4 s. Source: our own budget, rehearsed in the scenarios.
 */
export const HUMAN_CHAIN = 4;
/** Limits one position may watch actively. Source: common practice. */
export const MOST_WATCHED = 4;

/** Adds a finding at a key of a limit, or at the limit where it lacks the key. */
type Tell = (limit: Limit, key: string, code: FindingCode, found: string, expected: string, hint?: string) => void;

/** Everything in the limits of a mission that breaks a rule. */
export function packCheck(mission: Omit<Mission, 'baselineId'>): Finding[] {
  const findings: Finding[] = [];
  const tell: Tell = (limit, key, code, found, expected, hint) => {
    const place = limit.places?.[key] ?? limit.place ?? { file: 'limits.yaml', line: 0, column: 0 };
    const whole = { code, ...place, found: `limit ${limit.id}: ${found}`, expected };
    findings.push(hint === undefined ? whole : { ...whole, hint });
  };
  const limits = mission.limits.filter(isWritten);
  for (const limit of limits) {
    checkWords(limit, tell);
    checkTime(limit, tell);
    if (hasLevel(limit, ['stop'])) checkStop(limit, mission, tell);
    checkInside(limit, mission.limits, tell);
  }
  checkCauses(limits, tell);
  checkWatchers(limits, tell);
  findings.push(...checkValidity(mission));
  return findings;
}

/** The loader's own limits, that say another one is blind, have a dot in their id. */
const isWritten = ({ id }: Limit): boolean => !id.includes('.');

const sidesOf = ({ above, below, byPhase }: Limit): { above?: LevelValues; below?: LevelValues }[] => [
  { ...(above && { above }), ...(below && { below }) },
  ...Object.values(byPhase ?? {}),
];

const hasLevel = (limit: Limit, names: readonly (keyof LevelValues)[]): boolean =>
  sidesOf(limit).some(({ above, below }) =>
    names.some((level) => above?.[level] !== undefined || below?.[level] !== undefined),
  );

/** A person has to act on it. */
const isUrgent = (limit: Limit): boolean => hasLevel(limit, ['warning', 'stop']);

/** Text that stands where something should, and says nothing. */
const nothing =
  /^[^\p{L}\p{N}]*(x+|tb[acd]|todo|none|nil|n\/?a|unknown|nothing|not known|do not know|don't know|see above)?[^\p{L}\p{N}]*$/iu;
/** A value that has no better source is better left out: an arbitrary limit teaches the room not to believe limits. */
const guessed =
  /\b(seem(s|ed)?( to be)? (right|ok|okay|good|fine|reasonable|sensible)|feels right|gut feeling|rule of thumb|guess(ed|es|work)?|made up|out of thin air|arbitrary|to be (defined|decided|confirmed|announced)|tb[acd]|no source)\b/i;

function checkWords(limit: Limit, tell: Tell) {
  const { firstAction, source, author, approver } = limit;
  if (nothing.test(firstAction))
    tell(limit, 'first action', 'first-action-missing', shown(firstAction), 'what the watcher says or does first');
  if (nothing.test(source) || guessed.test(source))
    tell(limit, 'source', 'source-missing', shown(source), 'the document the values come from; without one, no limit');
  if (author !== undefined && approver !== undefined && spoken(author) === spoken(approver))
    tell(limit, 'approver', 'release-missing', `${shown(approver)}, who wrote it`, 'another person than its author');
}

const spoken = (name: string): string => name.trim().replace(/\s+/g, ' ').toUpperCase();

/** Whether a person can still do something when the alarm comes: persistence has passed by then. */
function checkTime(limit: Limit, tell: Tell) {
  const { timeToConsequence, persistence, confirmsAutomation } = limit;
  if (!isUrgent(limit) || confirmsAutomation) return;
  const key = 'time to consequence';
  if (timeToConsequence === undefined) {
    tell(
      limit,
      key,
      'consequence-missing',
      'no time to consequence',
      'seconds from crossing to harm, for a warning or a stop',
    );
    return;
  }
  const left = timeToConsequence - persistence / SECOND;
  if (left >= HUMAN_CHAIN) return;
  const found = `${timeToConsequence} s to the consequence${persistence > 0 ? `, less ${persistence / SECOND} s of persistence` : ''}`;
  const expected = `at least ${HUMAN_CHAIN} s, which a call takes to be acted on`;
  tell(
    limit,
    key,
    'consequence-too-soon',
    found,
    expected,
    'confirms automation: true, where automation is the safeguard',
  );
}

function checkStop(limit: Limit, { people, name }: Omit<Mission, 'baselineId'>, tell: Tell) {
  if (limit.suppressIn !== undefined)
    tell(
      limit,
      'suppress in',
      'stop-suppressed',
      `suppressed in ${limit.suppressIn.join(', ')}`,
      'a stop that always speaks; phases: where it is in force',
    );
  for (const key of ['author', 'approver'] as const)
    if (limit[key] === undefined || nothing.test(limit[key]))
      tell(
        limit,
        key,
        'release-missing',
        `no ${key}`,
        `${key}: who ${key === 'author' ? 'wrote' : 'released'} the stop`,
      );
  // a mission.yaml with findings of its own has neither name nor people here
  if (name !== '' && !people.some(({ position }) => position === limit.watcher))
    tell(
      limit,
      'watcher',
      'stop-unwatched',
      `${limit.watcher}, which nobody of the mission is`,
      'a position that somebody holds',
    );
}

/** A stop of a test card lies inside the limit of the aircraft that it names, on every side they share. */
function checkInside(limit: Limit, limits: readonly Limit[], tell: Tell) {
  const name = limit.settings?.inside;
  if (typeof name !== 'string') return;
  const outer = limits.find(({ id }) => id === name);
  // the check stage tells a name that is none, and a card inside another card
  if (outer === undefined || outer.kind === 'card stop') return;
  const wrong = (found: string, expected: string) =>
    tell(limit, 'inside', 'outside-aircraft-limit', `inside ${name}, ${found}`, expected);
  if (outer.kind !== 'level' && outer.kind !== 'by phase')
    return wrong(`of kind ${outer.kind}`, 'a limit with values of the parameter itself: of kind level or by phase');
  if (outer.parameter !== limit.parameter)
    return wrong(`which watches ${outer.parameter}`, `a limit of the aircraft on ${limit.parameter}`);
  let shared = 0;
  for (const side of ['above', 'below'] as const) {
    const sign = side === 'above' ? 1 : -1;
    const end = endOf(outer, limit.phases, side, sign);
    for (const [level, value] of Object.entries(limit[side] ?? {})) {
      if (end === undefined) continue;
      shared++;
      if (sign * (end - value) < 0)
        tell(
          limit,
          side,
          'outside-aircraft-limit',
          `${level} ${side} ${value}`,
          `inside ${name}, which ends at ${end}`,
        );
    }
  }
  if (shared === 0) wrong('on another side or in other phases', 'a limit of the aircraft on the same side');
}

/** Where a limit of the aircraft ends on one side: its outermost level; of several phases, where that is nearest. */
function endOf(
  outer: Limit,
  phases: readonly string[] | undefined,
  side: 'above' | 'below',
  sign: 1 | -1,
): number | undefined {
  const inPhases = Object.entries(outer.byPhase ?? {}).filter(([id]) => phases === undefined || phases.includes(id));
  const sets = outer.kind === 'by phase' ? inPhases.map(([, set]) => set[side]) : [outer[side]];
  const ends = sets.flatMap((values) => outermost(values, sign) ?? []);
  return ends.length === 0 ? undefined : sign * Math.min(...ends.map((end) => sign * end));
}

function outermost(values: LevelValues | undefined, sign: number): number | undefined {
  const all = Object.values(values ?? {});
  return all.length === 0 ? undefined : sign * Math.max(...all.map((value) => sign * value));
}

/** No alarm explains itself by way of others. */
function checkCauses(limits: readonly Limit[], tell: Tell) {
  const causes = new Map(limits.map(({ id, causedBy }) => [id, causedBy ?? []]));
  const told = new Set<string>();
  for (const limit of limits) {
    const circle = told.has(limit.id) ? undefined : circleFrom(limit.id, causes);
    if (circle === undefined) continue;
    for (const id of circle) told.add(id);
    tell(limit, 'caused by', 'cause-cycle', circle.join(' caused by '), 'causes without a circle');
  }
}

/** The way from an alarm by its causes back to itself, the shortest one; undefined when there is none. */
function circleFrom(start: string, causes: ReadonlyMap<string, readonly string[]>): string[] | undefined {
  const cameFrom = new Map<string, string>();
  const open = [start];
  for (let at = open.shift(); at !== undefined; at = open.shift())
    for (const next of causes.get(at) ?? []) {
      if (next === start) {
        const path = [start];
        for (let back: string | undefined = at; back !== undefined; back = cameFrom.get(back)) path.unshift(back);
        return path;
      }
      if (cameFrom.has(next)) continue;
      cameFrom.set(next, at);
      open.push(next);
    }
  return undefined;
}

/** Each limit is one thing to watch: it has an action of its own, which its watcher must know. */
function checkWatchers(limits: readonly Limit[], tell: Tell) {
  const watched = new Map<string, number>();
  for (const limit of limits) {
    if (!(limit.watchedActively ?? isUrgent(limit))) continue;
    const count = (watched.get(limit.watcher) ?? 0) + 1;
    watched.set(limit.watcher, count);
    if (count === MOST_WATCHED + 1) {
      const all = limits.filter((one) => one.watcher === limit.watcher && (one.watchedActively ?? isUrgent(one)));
      const found = `${all.length} limits watched actively by ${limit.watcher}, this the ${count}th`;
      const hint = 'give it to another position, or say watched actively: false and let its alarm call';
      tell(limit, 'watcher', 'watch-overload', found, `at most ${MOST_WATCHED}`, hint);
    }
  }
}

/** What a warning or a stop stands on must have a rule that tells a bad value from a good one. */
function checkValidity(mission: Omit<Mission, 'baselineId'>): Finding[] {
  const criticals = criticalParameters(mission);
  const watchedOver = new Set(
    mission.limits
      .filter(({ kind }) => kind === 'validity')
      .flatMap(({ parameter, settings }) => [parameter, ...((settings?.parameters as string[] | undefined) ?? [])]),
  );
  return mission.parameters.flatMap((parameter): Finding[] => {
    const limit = criticals.get(parameter.id);
    if (limit === undefined || hasRule(parameter) || watchedOver.has(parameter.id)) return [];
    const place = parameter.place ?? { file: 'parameters.yaml', line: 0, column: 0 };
    const found = `${parameter.id} without a rule of validity`;
    const expected = `range, frozen after or plausible: limit ${limit} stands on it`;
    return [{ code: 'validity-missing', ...place, found, expected }];
  });
}

/** A discrete has one in its states: a value that has no name is not believed; one bit has no other values. */
const hasRule = ({ physicalRange, frozenAfter, plausible, calibration }: Parameter): boolean =>
  physicalRange !== undefined ||
  frozenAfter !== undefined ||
  plausible !== undefined ||
  calibration.kind === 'states' ||
  (calibration.kind === 'bits' && (calibration.states !== undefined || calibration.width === 1));

/** Ids of all that warnings and stops look at, by way of formulas, each with the first such limit. */
function criticalParameters({ limits, derived }: Omit<Mission, 'baselineId'>): Map<string, string> {
  const formulas = new Map(derived.map(({ id, formula }) => [id, formula]));
  const result = new Map<string, string>();
  for (const limit of limits.filter(isWritten).filter(isUrgent)) {
    const open = inputsOf(limit);
    for (let id = open.pop(); id !== undefined; id = open.pop()) {
      if (result.has(id)) continue;
      result.set(id, limit.id);
      open.push(...namesIn(formulas.get(id) ?? ''));
    }
  }
  return result;
}

/** What a limit looks at; a parameter that only brings the samples is not looked at. */
function inputsOf({ kind, parameter, settings }: Limit): string[] {
  const { parameter: role, settings: declared }: LimitKind = limitKinds[kind];
  const ids = role === 'watched' ? [parameter] : [];
  for (const [name, { type }] of Object.entries(declared)) {
    const value = settings?.[name];
    if (value === undefined) continue;
    if (type === 'parameter' || type === 'condition') ids.push(value as string);
    if (type === 'parameters') ids.push(...(value as string[]));
    if (type === 'steps') ids.push(...(value as readonly SequenceStep[]).map(({ when }) => when));
  }
  return ids;
}
