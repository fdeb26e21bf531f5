/** Faults for the made-up channels of the morning check, each with what must be said of it: from just beyond its tolerance to far beyond. */
import { SECOND } from '../../protocol/time.ts';
import { Validity } from '../../protocol/validity.ts';
import { type Fault, GATHER, RATE_TOLERANCE, sheetOf, shuntTolerance, zeroTolerance } from './checked-channels.ts';

const RATES = [200, 50, 20];
export const COUNT = 12;
/** How many standard errors beyond its tolerance a fault is that is "just beyond". */
const JUST = 5;

const samples = (k: number): number => (sheetOf(k, RATES).rate * GATHER) / SECOND;
const errorOfMean = (k: number): number => sheetOf(k, RATES).noise / Math.sqrt(samples(k));

export interface Seeded {
  kind: string;
  channel: number;
  faults: [number, Fault][];
  /** what must be found, on this channel */
  begins: RegExp;
  /** channels that may have faults */
  about: number[];
  counts?: boolean;
}

/** Seeded faults of one channel, each kind from just beyond its tolerance to far beyond. */
export function seededIn(k: number): Seeded[] {
  const { noise, shunt, zero, rate } = sheetOf(k, RATES);
  const one = (kind: string, begins: RegExp, fault: Fault, more: Partial<Seeded> = {}): Seeded => ({
    ...{ kind, channel: k, faults: [[k, fault]], begins, about: [k] },
    ...more,
  });
  const just = zeroTolerance(noise) + JUST * errorOfMean(k);
  const share = (shuntTolerance(shunt) + JUST * Math.SQRT2 * errorOfMean(k)) / Math.abs(shunt);
  const scatter = 1 + JUST / Math.sqrt(2 * samples(k));
  const other = (k + 3) % COUNT;
  // the group's samples are lost, so that every channel of it shows it
  const group = Array.from({ length: COUNT }, (_, i) => i).filter((i) => i % RATES.length === k % RATES.length);
  const lost = (samples(k) * RATE_TOLERANCE + 3) / samples(k);
  return [
    ...[just, -just, 3 * just, -40 * just].map((offset) => one('offset', /^offset: mean/, { offset })),
    ...[1 + share, 1 - share, 1 + 3 * share, 0.4, -1].flatMap((gain) => [
      one('gain', /^gain: /, { gain }),
      one('gain', /^gain(:| or calibration:)/, { gain }, { counts: false }),
    ]),
    one(
      'swap',
      new RegExp(`^swapped: the shunt of CH${k} steps CH${other} by`),
      { swappedWith: other },
      {
        faults: [
          [k, { swappedWith: other }],
          [other, { swappedWith: k }],
        ],
        about: [k, other],
      },
    ),
    one(
      'swap',
      new RegExp(`^swapped: steps by .* with the shunt of CH${other}`),
      { swappedWith: other },
      {
        faults: [
          [k, { swappedWith: other }],
          [other, { swappedWith: k }],
        ],
        about: [k, other],
      },
    ),
    one('no step', /^no step: /, { noShunt: true }),
    one('dead', /^dead: .* without any noise/, { frozen: { told: false } }),
    one('dead', /^dead: .* frozen/, { frozen: { told: true } }),
    ...[0.5 / scatter, 0.2, 0.05].map((quiet) => one('dead', /^dead: noise/, { noise: noise * quiet })),
    ...[1.7 * scatter, 4].map((loud) => one('noisy', /^noisy: /, { noise: noise * loud })),
    ...[lost, 2 * lost, 0.5].map((part) => one('rate', /^rate: /, { lost: part }, { about: group })),
    ...[1 + share, 1 - share, 1.5].map((slope) =>
      one('calibration', /^calibration: the shunt steps/, { calibration: { slope, zero: 0 } }),
    ),
    ...[just, -4 * just].map((off) =>
      one('calibration', /^calibration: mean/, { calibration: { slope: 1, zero: off } }),
    ),
    one('calibration', /^gain or calibration:/, { calibration: { slope: 1 - share, zero: 0 } }, { counts: false }),
    one('range', /^range: /, { bad: { every: Math.min(rate, 20), code: Validity.range } }),
    one('range', /^range: from/, { offset: 1100 * noise - zero }),
    one('validity', /^validity: .*implausible/, { bad: { every: 10, code: Validity.plausible } }),
  ];
}
