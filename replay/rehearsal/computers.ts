/**
 * Triplex flight control computers: three channels measure, the middle value is taken, and the velocity laws turn what
 * the pilot asks for into four actuator commands. They run at 100 Hz. SI units, radians, actuator commands in per cent.
 */
import { travelFor } from './actuators.ts';
import { GRAVITY } from './air.ts';
import { Chance } from './chance.ts';

export const CHANNELS = 3;
/** Seconds between two runs. */
export const COMPUTER_PERIOD = 0.01;

/** How the pilot's inceptors are understood. */
export type Law =
  /** skids carry the weight: collective direct, attitude held, integrators let go */
  | 'ground'
  /** velocity over the ground, climb rate, heading */
  | 'hover'
  /** airspeed, climb rate, heading by banked turns */
  | 'cruise'
  /** airspeed; collective holds rotor speed */
  | 'autorotation'
  /** pitch attitude and collective direct */
  | 'flare';

export interface PilotCommand {
  law: Law;
  /** m/s: over the ground in `hover`, airspeed in `cruise` and `autorotation` */
  forward: number;
  right: number;
  climb: number;
  heading: number;
  /** for `flare` */
  pitch: number;
  /** degrees of blade pitch, for `ground` and `flare` */
  collective: number;
  /** rotor speed over 100 % to hold in `autorotation` */
  rotorSpeed: number;
}

export const FcsMode = { ground: 0, air: 1, autorotation: 2 } as const;

const degrees = Math.PI / 180;
const clamp = (value: number, low: number, high: number): number => Math.max(low, Math.min(high, value));
const toward = (value: number, aim: number, step: number): number => value + clamp(aim - value, -step, step);
const middle = (a: Float64Array): number => {
  const [x, y, z] = a as unknown as [number, number, number];
  return Math.max(Math.min(x, y), Math.min(Math.max(x, y), z));
};
export const wrapped = (angle: number): number => angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));

export class Computers {
  readonly in = {
    p: 0,
    q: 0,
    r: 0,
    roll: 0,
    pitch: 0,
    heading: 0,
    /** over the ground along and across the heading, and up */
    forward: 0,
    right: 0,
    climb: 0,
    airspeed: 0,
    /** rotor speed over 100 % */
    nr: 0,
    onSkids: true,
    pilot: {
      law: 'ground',
      forward: 0,
      right: 0,
      climb: 0,
      heading: 0,
      pitch: 0,
      collective: 0,
      rotorSpeed: 1,
    } as PilotCommand,
  };
  /** what each channel measures */
  readonly rollRate = new Float64Array(CHANNELS);
  readonly pitchRate = new Float64Array(CHANNELS);
  readonly yawRate = new Float64Array(CHANNELS);
  readonly roll = new Float64Array(CHANNELS);
  readonly pitch = new Float64Array(CHANNELS);
  readonly airspeed = new Float64Array(CHANNELS);
  /** added to what a channel's pitch-rate sensor gives, rad/s */
  readonly drift = new Float64Array(CHANNELS);
  /** per cent of travel, in the actuators' order */
  readonly command = new Float64Array([50, 50, 0, 40]);
  mode: number = FcsMode.ground;
  pitchAim = 0;
  rollAim = 0;
  private readonly bias: number[];
  private readonly chance: Chance;
  private law: Law = 'ground';
  private sinceSkids = 0;
  private readonly trim = { aft: 0, right: 0, tail: 0, collective: 0, pitch: 0, roll: 0 };
  private collective = 0;
  /** the pilot's speed command of the run before */
  private forwardBefore = 0;

  constructor(seed: number) {
    this.chance = new Chance(seed, 'flight control computers');
    this.bias = Array.from({ length: CHANNELS * 6 }, () => this.chance.normal());
  }

  run(): void {
    this.measure();
    const { pilot, onSkids } = this.in;
    this.sinceSkids = onSkids ? 0 : this.sinceSkids + COMPUTER_PERIOD;
    if (pilot.law === 'ground' || this.sinceSkids < 0.1) this.mode = FcsMode.ground;
    else this.mode = pilot.law === 'autorotation' || pilot.law === 'flare' ? FcsMode.autorotation : FcsMode.air;
    const law = pilot.law;
    if (law !== this.law) this.change(law);
    const collective = this.vertical(law);
    // collective levers move at most 12 degrees a second
    this.collective += clamp(collective - this.collective, -12 * COMPUTER_PERIOD, 12 * COMPUTER_PERIOD);
    this.collective = clamp(this.collective, 0, 15);
    this.longitudinal(law);
    this.lateral(law);
    this.directional(law);
  }

  /** Blade pitch asked for, degrees. */
  get collectiveDeg(): number {
    return this.collective;
  }

  private measure(): void {
    const { p, q, r, roll, pitch, airspeed } = this.in;
    for (let c = 0; c < CHANNELS; c++) {
      const b = c * 6;
      this.rollRate[c] = p + (0.02 * this.bias[b]! + 0.05 * this.chance.normal()) * degrees;
      this.pitchRate[c] = q + (0.02 * this.bias[b + 1]! + 0.05 * this.chance.normal()) * degrees + this.drift[c]!;
      this.yawRate[c] = r + (0.02 * this.bias[b + 2]! + 0.05 * this.chance.normal()) * degrees;
      this.roll[c] = roll + (0.03 * this.bias[b + 3]! + 0.02 * this.chance.normal()) * degrees;
      this.pitch[c] = pitch + (0.03 * this.bias[b + 4]! + 0.02 * this.chance.normal()) * degrees;
      const measured = airspeed + 0.1 * this.bias[b + 5]! + 0.12 * this.chance.normal();
      this.airspeed[c] = this.airspeed[c]! + 0.15 * (measured - this.airspeed[c]!);
    }
  }

  /** A new law takes over without a jump. */
  private change(law: Law): void {
    const { pilot, climb, pitch, roll, airspeed, forward, right } = this.in;
    this.law = law;
    this.forwardBefore = pilot.forward;
    this.trim.collective = this.collective - CLIMB_GAIN * (pilot.climb - climb);
    if (law === 'autorotation') this.trim.collective = this.collective;
    const speed = law === 'hover' ? forward : airspeed;
    this.trim.pitch = clamp(pitch + SPEED_GAIN * (pilot.forward - speed), -0.25, 0.05);
    this.trim.roll = clamp(roll - DRIFT_GAIN * (pilot.right - right), -0.08, 0.08);
  }

  /** Returns degrees of blade pitch. */
  private vertical(law: Law): number {
    const { pilot, climb, nr } = this.in;
    if (law === 'ground' || law === 'flare') return pilot.collective;
    if (law === 'autorotation') {
      const error = nr - pilot.rotorSpeed;
      // the lever goes down steadily while the engine fades, then holds rotor speed
      const lower = this.trim.collective > 3 ? -ENTRY_RATE : 12 * error;
      this.trim.collective = clamp(this.trim.collective + lower * COMPUTER_PERIOD, 0, 15);
      return this.trim.collective + 28 * error;
    }
    const error = pilot.climb - climb;
    this.trim.collective = clamp(this.trim.collective + 0.35 * error * COMPUTER_PERIOD, 0, 13);
    return this.trim.collective + CLIMB_GAIN * error;
  }

  private longitudinal(law: Law): void {
    const loaded = this.collective < LIGHT_ON_SKIDS;
    const { pilot, forward } = this.in;
    const q = middle(this.pitchRate);
    const pitch = middle(this.pitch);
    if (law === 'ground') this.pitchAim = 0;
    else if (law === 'flare') this.pitchAim = pilot.pitch;
    else {
      const speed = law === 'hover' ? forward : middle(this.airspeed);
      const error = pilot.forward - speed;
      this.trim.pitch = clamp(this.trim.pitch - 0.006 * error * COMPUTER_PERIOD, -0.25, 0.2);
      // what the pilot's command itself speeds up or slows down is tilted for at once
      const speeding = clamp((pilot.forward - this.forwardBefore) / COMPUTER_PERIOD, -1.5, 1.5);
      const aim = this.trim.pitch - SPEED_GAIN * error - (0.8 * speeding) / GRAVITY;
      this.pitchAim = toward(this.pitchAim, clamp(aim, -18 * degrees, 12 * degrees), 9 * degrees * COMPUTER_PERIOD);
    }
    this.forwardBefore = pilot.forward;
    const rateAim = clamp(1.6 * (this.pitchAim - pitch), -15 * degrees, 15 * degrees);
    const error = rateAim - q;
    this.trim.aft =
      this.mode === FcsMode.ground
        ? this.trim.aft * LETTING_GO + (loaded ? 0 : 0.4 * error * COMPUTER_PERIOD)
        : this.trim.aft + 0.4 * error * COMPUTER_PERIOD;
    this.trim.aft = clamp(this.trim.aft, -0.16, 0.16);
    this.command[0] = clamp(travelFor(0, this.trim.aft + 0.25 * error), 0, 100);
  }

  private lateral(law: Law): void {
    const loaded = this.collective < LIGHT_ON_SKIDS;
    const { pilot, right } = this.in;
    const p = middle(this.rollRate);
    const roll = middle(this.roll);
    if (law === 'ground') this.rollAim = 0;
    else if (law === 'hover' || law === 'flare') {
      const error = pilot.right - right;
      this.trim.roll = clamp(this.trim.roll + 0.008 * error * COMPUTER_PERIOD, -0.12, 0.12);
      const aim = clamp(this.trim.roll + DRIFT_GAIN * error, -15 * degrees, 15 * degrees);
      this.rollAim = toward(this.rollAim, aim, 12 * degrees * COMPUTER_PERIOD);
    } else {
      this.trim.roll *= 0.999;
      const aim = clamp(Math.atan((this.turnRate() * this.in.airspeed) / GRAVITY), -25 * degrees, 25 * degrees);
      this.rollAim = toward(this.rollAim, aim, 12 * degrees * COMPUTER_PERIOD);
    }
    const rateAim = clamp(2 * (this.rollAim - roll), -20 * degrees, 20 * degrees);
    const error = rateAim - p;
    this.trim.right =
      this.mode === FcsMode.ground
        ? this.trim.right * LETTING_GO + (loaded ? 0 : 0.25 * error * COMPUTER_PERIOD)
        : this.trim.right + 0.25 * error * COMPUTER_PERIOD;
    this.trim.right = clamp(this.trim.right, -0.12, 0.12);
    this.command[1] = clamp(travelFor(1, this.trim.right + 0.09 * error), 0, 100);
  }

  private turnRate(): number {
    return clamp(0.4 * wrapped(this.in.pilot.heading - this.in.heading), -0.11, 0.11);
  }

  private directional(law: Law): void {
    const loaded = this.collective < LIGHT_ON_SKIDS;
    const { pilot, heading } = this.in;
    const r = middle(this.yawRate);
    let rateAim = 0;
    if (law === 'hover' || law === 'flare' || law === 'ground') {
      rateAim = clamp(1.1 * wrapped(pilot.heading - heading), -14 * degrees, 14 * degrees);
    } else {
      rateAim = this.turnRate() * Math.cos(middle(this.roll)) * Math.cos(middle(this.pitch));
    }
    const error = rateAim - r;
    this.trim.tail =
      this.mode === FcsMode.ground
        ? this.trim.tail * LETTING_GO - (loaded ? 0 : 0.16 * error * COMPUTER_PERIOD)
        : this.trim.tail - 0.16 * error * COMPUTER_PERIOD;
    this.trim.tail = clamp(this.trim.tail, -0.2, 0.2);
    const forward = (4 + 0.67 * this.collective) * degrees;
    this.command[2] = clamp(travelFor(2, this.collective * degrees), 0, 100);
    this.command[3] = clamp(travelFor(3, forward + this.trim.tail - 0.12 * error), 0, 100);
  }
}

/** Degrees of collective for a metre a second of climb error; radians of pitch for one of speed error. */
const CLIMB_GAIN = 0.45;
/** Blade pitch below which the skids carry nearly all the weight, degrees. */
const LIGHT_ON_SKIDS = 3.5;
/** What integrators keep from run to run while the skids carry weight. */
const LETTING_GO = 0.995;
/** Degrees of collective a second on the way into autorotation. */
const ENTRY_RATE = 0.8;
const SPEED_GAIN = 0.035;
/** Radians of roll for a metre a second of drift. */
const DRIFT_GAIN = 0.045;
