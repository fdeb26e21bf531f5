/**
 * The scripted pilot: one step of the scenario's script after the other, each ending when what it is for has been
 * reached. He moves at 100 Hz and sees what a pilot sees.
 */
import { COMPUTER_PERIOD, type PilotCommand, wrapped } from './computers.ts';
import { EngineMode, type EngineSwitch } from './governor.ts';
import type { Step, StepName } from './scenario.ts';
import { shuntNames } from './shunts.ts';

const KNOT = 1852 / 3600;
const degrees = Math.PI / 180;
const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(high, value));
const toward = (value: number, aim: number, step: number): number => value + clamp(aim - value, -step, step);

/** A step that has begun: seconds since the start of the flight. */
export interface StepBegun {
  step: StepName;
  at: number;
}

export class Pilot {
  readonly in = {
    north: 0,
    east: 0,
    /** skids above the ground, m */
    height: 0,
    heading: 0,
    pitch: 0,
    /** m/s over the ground along the heading, and across it */
    forward: 0,
    right: 0,
    climb: 0,
    airspeed: 0,
    nr: 0,
    /** torque over 100 % */
    tq: 0,
    onSkids: true,
    engineMode: 0 as number,
    n1: 0,
  };
  readonly command: PilotCommand;
  engine: EngineSwitch = 'off';
  /** N m on the rotor */
  brake = 0;
  transferPump = false;
  /** channel whose shunt the crew has switched in; '' = none */
  shunt = '';
  /** of a sweep of the controls: how far they have left what the computers ask for, 0 to 1, and where they are then, per cent */
  private sweepShare = 0;
  private sweepPlace = 0;
  /** what he has done so far, in order */
  readonly begun: StepBegun[] = [];
  private readonly script: readonly Step[];
  private index = -1;
  private elapsed = 0;
  private time = 0;
  private stage = 0;
  private since = 0;
  private holdNorth = 0;
  private holdEast = 0;
  private holdHeight = 0;

  constructor(script: readonly Step[], heading: number) {
    this.script = script;
    this.command = {
      law: 'ground',
      forward: 0,
      right: 0,
      climb: 0,
      heading,
      pitch: 0,
      collective: 0,
      rotorSpeed: 1,
    };
  }

  /** True when the script is over. */
  get finished(): boolean {
    return this.index >= this.script.length;
  }

  run(): void {
    if (this.index < 0) this.next();
    this.time += COMPUTER_PERIOD;
    this.elapsed += COMPUTER_PERIOD;
    this.since += COMPUTER_PERIOD;
    const step = this.script[this.index];
    if (step && this.does[step.do](step)) this.next();
  }

  private next(): void {
    this.index++;
    this.elapsed = this.since = this.stage = 0;
    this.holdNorth = this.in.north;
    this.holdEast = this.in.east;
    this.holdHeight = this.in.height;
    const step = this.script[this.index];
    if (step) this.begun.push({ step: step.do, at: this.time });
  }

  private enter(stage: number): void {
    this.stage = stage;
    this.since = 0;
  }

  /** Every step of the script language; each returns true when it is over. */
  private readonly does: Record<StepName, (step: Step) => boolean> = {
    wait: (step) => this.elapsed >= (step.for ?? 1),
    // nothing is applied, and nobody touches anything
    zero: (step) => this.elapsed >= (step.for ?? 6),
    shunt: (step) => {
      const channels = step.channel === undefined ? shuntNames : [step.channel];
      const each = step.for ?? 4;
      this.shunt = channels[Math.floor(this.elapsed / each)] ?? '';
      return this.shunt === '';
    },
    sweep: (step) => this.sweep(step),
    start: (step) => {
      this.engine = 'idle';
      return this.in.engineMode === EngineMode.idle && this.stays(step.for ?? 5);
    },
    'run up': (step) => {
      this.engine = 'fly';
      return this.in.engineMode === EngineMode.governed && this.stays(step.for ?? 5);
    },
    'pick up': (step) => this.pickUp(step.height ?? 3),
    hover: (step) => {
      this.hover(step.height ?? this.holdHeight);
      return this.elapsed >= (step.for ?? 10);
    },
    turn: (step) => {
      const aim = (step.heading ?? 0) * degrees;
      this.hover(step.height ?? this.holdHeight);
      const left = wrapped(aim - this.command.heading);
      this.command.heading += clamp(left, -9 * degrees * COMPUTER_PERIOD, 9 * degrees * COMPUTER_PERIOD);
      return Math.abs(wrapped(aim - this.in.heading)) < 3 * degrees && this.stays(step.for ?? 1);
    },
    fly: (step) => this.fly(step),
    autorotate: (step) => this.autorotate(step),
    'set down': () => this.setDown(),
    'cool down': (step) => {
      this.engine = 'idle';
      return this.elapsed >= (step.for ?? 30);
    },
    'shut down': (step) => {
      this.engine = 'off';
      this.brake = this.in.nr < 0.42 ? toward(this.brake, 900, 450 * COMPUTER_PERIOD) : 0;
      return this.elapsed >= (step.for ?? 40);
    },
  };

  /** True once what was waited for has lasted this long. */
  private stays(seconds: number): boolean {
    if (this.stage === 0) this.enter(1);
    return this.since >= seconds;
  }

  /** What an actuator is told, per cent of travel, where the computers ask for this. */
  swept(asked: number): number {
    return this.sweepShare === 0 ? asked : asked + this.sweepShare * (this.sweepPlace - asked);
  }

  /** All controls from where they are to the low end, to the high end, back, and home; only standing with the engine off. */
  private sweep({ for: lasts = 20, reach = 1 }: Step): boolean {
    const share = this.elapsed / lasts;
    const isSafe = this.in.onSkids && this.engine === 'off';
    /** from 0 to 1 between two shares of the time, without a jump of speed */
    const smooth = (from: number, to: number): number =>
      0.5 - 0.5 * Math.cos(Math.PI * clamp((share - from) / (to - from), 0, 1));
    this.sweepShare = isSafe ? smooth(0, 0.15) - smooth(0.8, 0.95) : 0;
    this.sweepPlace = 50 + 100 * reach * (smooth(0.2, 0.45) - smooth(0.5, 0.75) - 0.5);
    if (share < 1 && isSafe) return false;
    this.sweepShare = 0;
    return true;
  }

  private pickUp(height: number): boolean {
    const { command } = this;
    if (this.stage === 0) {
      command.law = 'ground';
      command.collective += 0.9 * COMPUTER_PERIOD;
      if (!this.in.onSkids && this.in.height > 0.05) {
        this.enter(1);
        command.climb = this.in.climb;
        this.holdNorth = this.in.north;
        this.holdEast = this.in.east;
      }
      return false;
    }
    this.hover(height, 0.7);
    return Math.abs(this.in.height - height) < 0.25 && Math.abs(this.in.climb) < 0.15;
  }

  /** Holds the place where the step began, and this height. */
  private hover(height: number, most = 1.5): void {
    const { command, in: sees } = this;
    command.law = 'hover';
    const north = this.holdNorth - sees.north;
    const east = this.holdEast - sees.east;
    const c = Math.cos(sees.heading);
    const s = Math.sin(sees.heading);
    const rate = 1.2 * COMPUTER_PERIOD;
    command.forward = toward(command.forward, clamp(0.3 * (north * c + east * s), -1.5, 1.5), rate);
    command.right = toward(command.right, clamp(0.3 * (east * c - north * s), -1.5, 1.5), rate);
    command.climb = toward(command.climb, clamp(0.5 * (height - sees.height), -most, most), 0.8 * COMPUTER_PERIOD);
  }

  private fly(step: Step): boolean {
    const { command, in: sees } = this;
    const speed = (step.speed ?? 60) * KNOT;
    const height = step.height ?? this.holdHeight;
    if (step.heading !== undefined) command.heading = step.heading * degrees;
    if (command.law === 'hover' && sees.airspeed > 15) {
      command.law = 'cruise';
      command.forward = sees.airspeed;
      command.right = 0;
    }
    // he asks for no more speed or climb than torque allows
    const spare = clamp((0.86 - sees.tq) / 0.08, 0, 1);
    const hurry = sees.airspeed < 22 ? 0.3 + spare : 0.2 + 0.4 * spare;
    command.forward = toward(command.forward, speed, hurry * COMPUTER_PERIOD);
    command.right = toward(command.right, 0, 0.8 * COMPUTER_PERIOD);
    const most = sees.airspeed > 22 ? 1 + 3 * spare : 0.8;
    command.climb = toward(command.climb, clamp(0.18 * (height - sees.height), -4, most), 0.6 * COMPUTER_PERIOD);
    if (step.for !== undefined) return this.elapsed >= step.for;
    const turned = Math.abs(wrapped(command.heading - sees.heading)) < 5 * degrees;
    return turned && Math.abs(sees.airspeed - speed) < 1.2 && Math.abs(sees.height - height) < 6;
  }

  /** Entry, glide, flare, and power recovery into a hover. */
  private autorotate(step: Step): boolean {
    const { command, in: sees } = this;
    const speed = (step.speed ?? 65) * KNOT;
    if (this.stage === 0) {
      this.engine = 'idle';
      command.law = 'autorotation';
      command.rotorSpeed = 1;
      command.forward = toward(command.forward, speed, 0.5 * COMPUTER_PERIOD);
      if (sees.height < FLARE_HEIGHT) {
        this.enter(1);
        command.pitch = sees.pitch;
        command.collective = this.flareCollective;
        command.right = sees.right;
      }
      return false;
    }
    if (this.stage === 1) return this.flare();
    this.hold(step.height ?? 3);
    return Math.abs(sees.forward) < 0.6 && Math.abs(sees.height - (step.height ?? 3)) < 0.4;
  }

  /** Blade pitch that the computers last held, degrees; the flare begins from there. */
  flareCollective = 0;

  private flare(): boolean {
    const { command, in: sees } = this;
    command.law = 'flare';
    command.right = toward(command.right, 0, 0.8 * COMPUTER_PERIOD);
    command.pitch = toward(command.pitch, 17.5 * degrees, 8 * degrees * COMPUTER_PERIOD);
    if (this.since > 1) this.engine = 'fly';
    // he lets rotor speed run past its limit before he takes it back with the lever
    if (sees.nr > 1.075) this.overspeed += COMPUTER_PERIOD;
    if (this.overspeed > 0.9) command.collective += (sees.nr > 1.05 ? 1.1 : 0) * COMPUTER_PERIOD;
    if (sees.forward < 12 || sees.height < 7) {
      this.enter(2);
      command.forward = sees.forward;
      command.climb = sees.climb;
      this.overspeed = 0;
    }
    return false;
  }
  private overspeed = 0;

  /** Levels out of the flare and comes to a hover where that ends. */
  private hold(height: number): void {
    const { command, in: sees } = this;
    command.law = 'hover';
    command.forward = toward(command.forward, 0, 1.3 * COMPUTER_PERIOD);
    command.right = toward(command.right, 0, 0.8 * COMPUTER_PERIOD);
    command.climb = toward(command.climb, clamp(0.4 * (height - sees.height), -1.2, 0.6), 1.5 * COMPUTER_PERIOD);
  }

  private setDown(): boolean {
    const { command, in: sees } = this;
    if (this.stage === 0) {
      this.hover(-1, Math.max(0.25, Math.min(0.6, 0.35 * sees.height)));
      if (sees.onSkids) {
        this.enter(1);
        command.law = 'ground';
        command.collective = this.flareCollective;
      }
      return false;
    }
    command.collective = toward(command.collective, 0, 3 * COMPUTER_PERIOD);
    command.climb = 0;
    return command.collective === 0 && this.since > 4;
  }
}

/** Skids above the ground when the flare begins, m. */
const FLARE_HEIGHT = 44;
