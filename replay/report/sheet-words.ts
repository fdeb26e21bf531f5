/** The mission in words, as the printed sheets say it: bands, limits, times. */
import type { Band } from '../../protocol/card.ts';
import { type LevelValues, type Limit, levels } from '../../protocol/limit.ts';
import { limitKinds, measureUnit } from '../../protocol/limit-kinds.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import { BLIND_ON_POINT } from '../../protocol/stop-call.ts';
import { SECOND } from '../../protocol/time.ts';

/** As the mission has it, without what converting a unit leaves in the last digits. */
export const number = (value: number): string => String(Number(value.toPrecision(12)));

/** Keeps a number and its unit on one line. */
const NBSP = '\u00a0';

export const seconds = (microseconds: number): string => `${number(microseconds / SECOND)}${NBSP}s`;

interface Named {
  name: string;
  unit: string;
}

export class Words {
  private readonly mission: Mission;
  private readonly parameters: ReadonlyMap<string, Named>;
  private readonly limits: ReadonlyMap<string, Limit>;

  constructor(mission: Mission) {
    this.mission = mission;
    this.parameters = new Map([...mission.parameters, ...mission.derived].map((one) => [one.id, one]));
    this.limits = new Map(mission.limits.map((limit) => [limit.id, limit]));
  }

  limit(id: string): Limit | undefined {
    return this.limits.get(id);
  }

  parameter(id: string): string {
    const name = this.parameters.get(id)?.name;
    return name === undefined || name === id ? id : `${name} (${id})`;
  }

  quantity(value: number, parameter: string): string {
    const unit = this.parameters.get(parameter)?.unit ?? '1';
    return `${number(value)}${unit === '1' ? '' : `${NBSP}${unit}`}`;
  }

  /** "Airspeed (IAS) 80 ± 3 kt", or "Ground speed (GS) 0, from -1 to 5 kt" where it may go farther one way */
  band({ parameter, target, below, above }: Band): string {
    const unit = this.parameters.get(parameter)?.unit ?? '1';
    const within =
      below === above ? ` ± ${number(below)}` : `, from ${number(target - below)} to ${number(target + above)}`;
    return `${this.parameter(parameter)} ${number(target)}${within}${unit === '1' ? '' : `${NBSP}${unit}`}`;
  }

  /** What the room reads of a limit. */
  text({ text, parameter }: Limit): string {
    return text ?? this.parameters.get(parameter)?.name ?? parameter;
  }

  /** Every level with its value: "above: caution 830, warning 860 degC". One line for each side, or each phase of it. */
  levels(limit: Limit): string[] {
    if ((limitKinds[limit.kind] as LimitKind).measure === 'state')
      return levels.filter((level) => limit.above?.[level] !== undefined).map((level) => `${level} when it is so`);
    const watched = this.parameters.get(limit.parameter)?.unit ?? '1';
    const unit = measureUnit(limit, watched);
    const one = (sides: { above?: LevelValues; below?: LevelValues }, before = ''): string[] =>
      (['above', 'below'] as const).flatMap((side) => {
        const values = levels.flatMap((level) =>
          sides[side]?.[level] === undefined ? [] : [`${level} ${number(sides[side][level])}`],
        );
        return values.length === 0
          ? []
          : [`${before}${side}: ${values.join(', ')}${unit === '1' ? '' : `${NBSP}${unit}`}`];
      });
    const phases = this.mission.phases?.phases ?? [];
    const byPhase = Object.entries(limit.byPhase ?? {}).flatMap(([id, sides]) =>
      one(sides, `${phases.find((phase) => phase.id === id)?.name ?? id}, `),
    );
    const lasting = limit.persistence > 0 ? [`for ${seconds(limit.persistence)}`] : [];
    return [...one(limit), ...byPhase, ...lasting];
  }

  hasStop(limit: Limit): boolean {
    const sides = [
      limit.above,
      limit.below,
      ...Object.values(limit.byPhase ?? {}).flatMap((of) => [of.above, of.below]),
    ];
    return sides.some((values) => values?.stop !== undefined);
  }

  /** The day's stop criteria: limits with a stop level, and those that points name. */
  criteria(): Limit[] {
    const named = new Set((this.mission.cards ?? []).flatMap(({ points }) => points.flatMap(({ stops }) => stops)));
    return this.mission.limits.filter((limit) => this.hasStop(limit) || named.has(limit.id));
  }

  /** Points that name a limit as a stop criterion, in few words; '' = every one. */
  criterionOf(id: string): string {
    const points = (this.mission.cards ?? []).flatMap((card) => card.points);
    const those = points.filter(({ stops }) => stops.includes(id)).map((point) => point.id);
    const others = points.filter(({ stops }) => !stops.includes(id)).map((point) => point.id);
    if (those.length === 0) return 'of no point';
    if (others.length === 0) return '';
    return others.length < those.length ? `not of ${others.join(', ')}` : `of ${those.join(', ')}`;
  }

  shownWhen({ shown, after }: Checklist): string {
    if (shown === 'voice lost') return 'when voice is reported lost';
    if (shown === 'link lost') return `when nothing was received for ${number(after ?? 0)} s`;
    if (shown === 'contact lost')
      return `when voice is reported lost and nothing was received for ${number(after ?? 0)} s`;
    return 'while its condition holds';
  }
}

/** When a stop criterion is met: as station/conduct/prompt.ts has it. */
export const criterionRule = `A stop criterion is met at its stop level, and at its warning level too on the points that name it, from setup until recovered. One that cannot tell for ${seconds(BLIND_ON_POINT)}, from on condition until recovered: class 2, no data.`;

/** What each class of stop call means. */
export const classMeanings = {
  class1: 'Break off: safety, or any doubt. Recover at once, as briefed.',
  class2: 'Stop this point: data, technique or weather. No safety concern.',
  start: 'Stop the start. As severe as class 1.',
} as const;
