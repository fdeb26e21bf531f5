/**
 * What a radio link and a ground receiver do to frames: lose, delay, double, swap and damage them, and say how good they
 * think they were. One link a receiver, each with chance of its own, so that receivers differ as real ones do.
 */
import { encodeEnvelope } from '../../protocol/wire.ts';
import { Chance } from './chance.ts';

export interface LinkSettings {
  /** name of the receiver as mission.yaml spells it */
  receiver: string;
  /** share of frames lost, 0 to 1 */
  loss: number;
  /** microseconds from the end of a frame to its datagram leaving the receiver */
  delayUs: number;
  /** standard deviation of that delay, microseconds; it is never shorter than half of `delayUs` */
  jitterUs: number;
  /** share of frames sent twice */
  duplicates: number;
  /** share of frames held back until a later one has gone */
  reordered: number;
  /** chance that one bit is wrong */
  bitErrors: number;
  /** false: the quality word stays high whatever happens, as a receiver that has lost its own framing would say */
  honestQuality: boolean;
  /** spans without reception, microseconds since the start of the flight */
  outages: { fromUs: number; toUs: number }[];
}

/** A clean link, for settings that leave something out. */
export const cleanLink: LinkSettings = {
  receiver: '',
  loss: 0,
  delayUs: 30_000,
  jitterUs: 0,
  duplicates: 0,
  reordered: 0,
  bitErrors: 0,
  honestQuality: true,
  outages: [],
};

/** One datagram: when it leaves, in microseconds since the start of the flight, and what it holds. */
export interface Departure {
  sendAtUs: number;
  bytes: Uint8Array;
  receiver: string;
}

export class Link {
  private readonly settings: LinkSettings;
  private readonly chance: Chance;
  /** running share of frames with trouble, for the quality word */
  private trouble = 0;

  constructor(settings: LinkSettings, seed: number) {
    this.settings = settings;
    this.chance = new Chance(seed, `link ${settings.receiver}`);
  }

  /** Departures of one frame that was complete at `atUs`, none when it is lost, in any order. */
  carry(frame: Uint8Array, atUs: number): Departure[] {
    const { receiver, loss, duplicates, reordered, outages } = this.settings;
    // the same number of draws for every frame, lost or not, so that one setting does not reshuffle the others
    const lost = this.chance.uniform() < loss;
    const doubled = this.chance.uniform() < duplicates;
    const late = this.chance.uniform() < reordered;
    const delay = this.delay() + (late ? 3 * FRAME_GAP_US : 0);
    const again = this.delay();
    const dark = outages.some((outage) => atUs >= outage.fromUs && atUs < outage.toUs);
    const wrongBits = this.errors(frame.length * 8);
    this.trouble += 0.05 * ((lost || dark || wrongBits.length > 0 ? 1 : 0) - this.trouble);
    if (lost || dark) return [];
    const bytes = encodeEnvelope(receiver, this.quality(), damaged(frame, wrongBits));
    const departures = [{ sendAtUs: Math.round(atUs + delay), bytes, receiver }];
    if (doubled) departures.push({ sendAtUs: Math.round(atUs + delay + again), bytes, receiver });
    return departures;
  }

  private delay(): number {
    const { delayUs, jitterUs } = this.settings;
    return Math.max(delayUs / 2, delayUs + jitterUs * this.chance.normal());
  }

  /** Bit numbers that are wrong; distances between them are geometric, so a clean link draws once a frame. */
  private errors(bits: number): number[] {
    const p = this.settings.bitErrors;
    const wrong: number[] = [];
    if (p <= 0) return wrong;
    const gap = (): number => Math.floor(Math.log(1 - this.chance.uniform()) / Math.log(1 - p));
    for (let bit = gap(); bit < bits; bit += 1 + gap()) wrong.push(bit);
    return wrong;
  }

  /** 0 to 65535; 0 is kept for "none given" by receivers without a name. */
  private quality(): number {
    if (!this.settings.honestQuality) return 64_000;
    return Math.max(1, Math.round(64_000 * (1 - this.trouble)));
  }
}

/** Frames leave the aircraft this far apart. */
const FRAME_GAP_US = 20_000;

function damaged(frame: Uint8Array, wrongBits: readonly number[]): Uint8Array {
  if (wrongBits.length === 0) return frame;
  const copy = frame.slice();
  for (const bit of wrongBits) copy[bit >> 3] = (copy[bit >> 3] as number) ^ (1 << (bit & 7));
  return copy;
}
