/**
 * Hours of clean vibration through the off-harmonic limit: noise, and orders that wander as the rotor does; then the same
 * with a tone that stands still. At most one false alarm in ten hours of either.
 */
import type { Limit } from '../../protocol/limit.ts';
import type { RateGroup } from '../../protocol/parameter.ts';
import { SECOND } from '../../protocol/time.ts';
import { kindsAtWork } from '../../station/check/kinds.ts';
import type { CompileMeasure, Measuring } from '../../station/check/measured.ts';
import { type LimitFlight, limitOf, missionOf, START } from '../support/limit-flight.ts';

const RATE = 1000;
const FULL = 392 / 60;
/** Growth, % a second, that is an alarm, and one alarm lasts until nothing grew for this many seconds. */
const ALARM = 5;
const OVER = 5;
/** samples of a run */
const CUT = 1000;

const TEN_HOURS = 36_000 * RATE;

/** `amount` in samples. */
export async function proveTones({ seed, amount }: { seed: number; amount: number }): Promise<boolean> {
  const allowed = Math.max(1, amount / TEN_HOURS);
  let holds = true;
  for (const tone of [0, 0.15]) {
    const alarms = falseAlarms(seed, amount, tone);
    const what = tone === 0 ? 'noise and orders' : `the same with a steady tone of ${tone} g`;
    console.log(`  ${amount / RATE / 3600} h of ${what}: ${alarms} false alarms`);
    if (alarms > allowed) holds = false;
  }
  return holds;
}

function compiled(): Measuring {
  const limit = limitOf('grows', 'off-harmonic', 'SEAT', {
    above: { caution: ALARM },
    settings: { tach: 'NR', floor: 0.1 },
  });
  const flight: LimitFlight = {
    seconds: 1,
    groups: { fast: RATE },
    signals: {
      SEAT: { group: 'fast', unit: 'g', at: () => 0 },
      NR: { group: 'fast', unit: 'Hz', at: () => 0 },
    },
    limits: [limit],
  };
  const mission = missionOf(flight);
  const { measure } = kindsAtWork['off-harmonic'] as { measure: CompileMeasure<'off-harmonic'> };
  const measuring = measure(limit as Limit as Parameters<typeof measure>[0], {
    mission,
    group: mission.groups[0] as RateGroup,
    finding: (_, found) => {
      throw new Error(found);
    },
  });
  return measuring as Measuring;
}

/** False alarms in this many samples, with a steady tone of this amplitude. */
export function falseAlarms(seed: number, samples: number, tone: number): number {
  const { measure } = compiled();
  let state = seed >>> 0 || 1;
  const uniform = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const normal = () => {
    let sum = -6;
    for (let k = 0; k < 12; k++) sum += uniform();
    return sum;
  };
  const time = new Float64Array(CUT);
  const validity = new Uint8Array(CUT);
  const seat = { values: new Float64Array(CUT), validity };
  const tach = { values: new Float64Array(CUT), validity };
  const out = {
    values: new Float64Array(CUT),
    validity: new Uint8Array(CUT),
    reference: new Float64Array(CUT),
    which: new Uint8Array(CUT),
  };
  let turns = 0;
  let alarms = 0;
  let quiet = Infinity;
  for (let at = 0; at < samples; at += CUT) {
    for (let i = 0; i < CUT; i++) {
      const t = (at + i) / RATE;
      // 98.5 to 101 %, in half a minute and less
      const speed = FULL * (0.9975 + 0.0085 * Math.sin(0.21 * t) + 0.004 * Math.sin(0.83 * t));
      turns += speed / RATE;
      const angle = 2 * Math.PI * (turns % 1);
      const wander = 1 + 0.2 * Math.sin(0.31 * t);
      time[i] = START + (at + i) * (SECOND / RATE);
      tach.values[i] = speed;
      seat.values[i] =
        1 +
        0.02 * normal() +
        0.05 * wander * Math.cos(angle) +
        0.2 * wander * Math.cos(2 * angle) +
        0.05 * Math.cos(4 * angle) +
        tone * Math.cos(2 * Math.PI * 4.3 * t);
    }
    out.validity.fill(0);
    measure.run({ time, length: CUT, gate: undefined }, [seat, tach], out);
    for (let i = 0; i < CUT; i++) {
      const isOutside = out.validity[i] === 0 && (out.values[i] as number) > ALARM;
      if (isOutside && quiet > OVER * RATE) alarms++;
      quiet = isOutside ? 0 : quiet + 1;
    }
  }
  return alarms;
}
