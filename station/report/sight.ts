/** How much of the flight one limit could be compared in: what was not seen is told, and never passes for inside. */
import type { LimitSight } from '../../protocol/report.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { IN_FORCE, type MeasuredColumn, NOT_IN_FORCE } from '../listener.ts';

type Kind = 'seen' | 'unseen' | 'off';

export class SightBook {
  private readonly longest: number;
  private readonly period: number;
  private seen = 0;
  private off = 0;
  private unseen = 0;
  /** of the newest sample */
  private newest = Number.NaN;
  private kind: Kind = 'unseen';
  private first = Number.NaN;

  /** `longest`: time after which a sample speaks for one `period` only. */
  constructor(longest: number, period: number) {
    this.longest = longest;
    this.period = period;
  }

  run({ time, values, validity, gate, length }: MeasuredColumn): void {
    for (let i = 0; i < length; i++) {
      const now = time[i] as number;
      this.pass(now - this.newest);
      if (this.first !== this.first) this.first = now;
      this.newest = now;
      const force = gate === undefined ? IN_FORCE : gate[i];
      const value = values[i] as number;
      if (force === NOT_IN_FORCE) this.kind = 'off';
      else if (force !== IN_FORCE || (validity[i] as number) >= FIRST_UNUSABLE || value !== value) this.kind = 'unseen';
      else this.kind = 'seen';
    }
  }

  private pass(dt: number): void {
    if (!(dt > 0)) return;
    const told = dt > this.longest ? Math.min(dt, this.period) : dt;
    if (this.kind === 'seen') this.seen += told;
    else if (this.kind === 'off') this.off += told;
    else this.unseen += told;
    this.unseen += dt - told;
  }

  /** Of a flight between these aircraft times. May be asked once. */
  read(limit: string, from: number, to: number): LimitSight {
    if (this.first !== this.first) return { limit, seen: 0, unseen: to - from, off: 0 };
    this.unseen += Math.max(0, this.first - from);
    this.pass(to - this.newest);
    return { limit, seen: this.seen, unseen: this.unseen, off: this.off };
  }
}
