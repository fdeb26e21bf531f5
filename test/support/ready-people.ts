/** The people of ready-room.ts at work over the whole pipeline: each act has its answer, each moment its view. */
import { expect } from 'vitest';
import type { ConductAct, ConductAction, ReadinessView } from '../../protocol/conduct.ts';
import { type Action, type Entry, TICK } from '../../protocol/entry.ts';
import type { Mission } from '../../protocol/mission.ts';
import { SECOND } from '../../protocol/time.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { fuelled, Log, readyMission, say, seats, type Sent } from './ready-room.ts';

export class Room {
  readonly log: Log;
  readonly pipeline = new Pipeline({ gather: 0 });

  constructor(of: Mission = readyMission()) {
    this.log = new Log(of);
    this.step(this.log.entries[0] as Entry);
  }

  step(entry: Entry): string {
    const { results } = this.pipeline.step(entry);
    return results[0]?.reason ?? '';
  }

  fly(sent: Sent = fuelled, frames = 3): void {
    for (let i = 0; i < frames; i++) this.step(this.log.frame(sent));
  }

  silence(seconds: number): void {
    for (let i = 0; i < (seconds * SECOND) / TICK; i++) this.step(this.log.tick());
  }

  does(position: string, action: Action): string {
    return this.step(this.log.act(position, action));
  }

  say(position: string, act: ConductAct, more: Partial<ConductAction> = {}): string {
    return this.does(position, say(act, more));
  }

  ready(position: string): string {
    return this.say(position, 'answer poll', { choice: 'ready' });
  }

  acknowledgeAll(): void {
    for (const position of seats)
      for (const subject of ['gains', 'flow']) expect(this.say(position, 'acknowledge notice', { subject })).toBe('');
  }

  /** With telemetry and all notices acknowledged: the poll opened, everybody ready, the director last. */
  makeReady(): void {
    this.acknowledgeAll();
    this.makeReadyWithoutNotices();
  }

  makeReadyWithoutNotices(): void {
    this.fly();
    expect(this.say('test conductor', 'open poll')).toBe('');
    for (const position of [...seats.slice(1), 'test director']) expect(this.ready(position)).toBe('');
    expect(this.view.poll.ready).toBe(true);
  }

  get view(): ReadinessView {
    const view = this.pipeline.conduct()?.readiness;
    if (!view) throw new Error('no readiness');
    return view;
  }

  get answers(): Record<string, string> {
    return Object.fromEntries(this.view.poll.answers.map(({ position, answer }) => [position, answer]));
  }

  get missing(): string[] {
    return this.view.missing.map(({ position, text }) => `${position || 'room'}: ${text}`);
  }
}
