/** The alarm stage of a small mission and its list, driven by one call a change or an action. */
import type { AlarmEvent, AlarmState } from '../../protocol/alarm.ts';
import type { Action } from '../../protocol/entry.ts';
import { type Condition, type Level, type Limit, levelNumber } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { aircraftTime, groundTime, SECOND } from '../../protocol/time.ts';
import { type Alarm, compileAlarm } from '../../station/alarm/alarm.ts';
import { group, levelLimit, mission, parameter } from './tiny-mission.ts';

const phase = (id: string, critical?: true) => ({ id, name: id, transitions: [], ...(critical && { critical }) });

/** Alarms hot, cold (suppressed in two phases), hottest (a stop limit), mixed (watched by another); four phases. */
export const fourAlarms = (more: Partial<Mission> = {}): Mission =>
  mission({
    groups: [group('main', 100)],
    parameters: [parameter('TOT', 'main'), parameter('PHASE', 'main')],
    phases: {
      parameter: 'PHASE',
      phases: [phase('ground'), phase('hover'), phase('landing', true), phase('flare', true)],
      hold: 0,
    },
    limits: [
      levelLimit('hot', 'TOT', { above: { caution: 830, warning: 860 } }),
      levelLimit('cold', 'TOT', { below: { advisory: 300 }, suppressIn: ['ground', 'landing'] }),
      levelLimit('hottest', 'TOT', { above: { stop: 900 } }),
      levelLimit('mixed', 'TOT', { above: { advisory: 700 }, watcher: 'rotor and loads' }),
    ],
    ...more,
  });

export class AlarmRoom {
  readonly alarm: Alarm;
  readonly events: AlarmEvent[] = [];
  /** ground time of the newest thing, seconds */
  now = 0;
  private phaseNow = '';
  private requests = 0;

  constructor(of: Mission) {
    const { value, findings } = compileAlarm(of);
    if (!value) throw new Error(findings.map(({ found }) => found).join('; '));
    this.alarm = value;
  }

  private get at() {
    // aircraft time runs an hour behind, so that the two are never taken for each other
    return { aircraft: aircraftTime((this.now - 3600) * SECOND), ground: groundTime(this.now * SECOND) };
  }

  /** Ground time goes on to this many seconds, with an entry there. */
  to(seconds: number): this {
    this.now = seconds;
    this.alarm.advance(this.at.ground, this.at.aircraft, this.phaseNow, this.events);
    return this;
  }

  phase(id: string): this {
    this.phaseNow = id;
    return this.to(this.now);
  }

  outside(limit: number, level: Level, value = 1, limitValue = 0, detail = ''): this {
    return this.change(limit, 'outside', level, value, limitValue, detail);
  }

  inside(limit: number): this {
    return this.change(limit, 'inside');
  }

  change(limit: number, condition: Condition, level?: Level, value = NaN, limitValue = NaN, detail = ''): this {
    const reached = level ? levelNumber(level) : 0;
    this.alarm.apply([{ limit, condition, level: reached, ...this.at, value, limitValue, detail }], this.events);
    return this;
  }

  /** '' or why it is refused; by the person who sits at the position. */
  act(position: string, action: Action): string {
    const { aircraft, ground } = this.at;
    const entry = {
      kind: 'action' as const,
      ground,
      person: `p-${position}`,
      position,
      request: ++this.requests,
      action,
    };
    return this.alarm.act(entry, aircraft, this.events);
  }

  acknowledge(position: string, alarm: string): string {
    return this.act(position, { act: 'acknowledge', alarm });
  }

  shelve(position: string, alarm: string, reason = 'it chatters', seconds = 0): string {
    return this.act(position, { act: 'shelve', alarm, reason, seconds });
  }

  unshelve(position: string, alarm: string): string {
    return this.act(position, { act: 'unshelve', alarm });
  }

  takeOut(position: string, alarm: string, reason = 'sensor broken'): string {
    return this.act(position, { act: 'take out of service', alarm, reason });
  }

  putBack(position: string, alarm: string): string {
    return this.act(position, { act: 'return to service', alarm });
  }

  /** The limits have other values from now on. */
  changeLimits(limits: readonly Limit[]): this {
    this.alarm.changeLimits(limits, this.at.ground, this.at.aircraft, this.events);
    return this;
  }

  state(id: string): AlarmState {
    const found = this.alarm.list().find(({ definition }) => definition.id === id);
    if (!found) throw new Error(`${id} is not in the list`);
    return found.state;
  }

  /** The lines since the last call: second, event, alarm, level, position, detail. */
  lines(): string[] {
    return this.events
      .splice(0)
      .map(({ event, alarm, level, ground, position, detail }) =>
        [ground / SECOND, event, alarm, level, position, detail && `(${detail})`]
          .filter((part) => part !== '')
          .join(' '),
      );
  }
}
