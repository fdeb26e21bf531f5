/** Points of random flights against the slow judge: whether good, and for how many reasons; a bad one passed fails at once. */
import { slowJudge } from '../reference/slow-point.ts';
import { callsOf, flyPoint, recordOf } from '../support/fly-point.ts';
import { channelsOf, pointFlights } from '../support/point-flights.ts';
import type { Effort } from './effort.ts';

/** Flights made at once. */
const AT_ONCE = 100;

export async function provePoints({ seed, amount }: Effort): Promise<boolean> {
  let [flown, good, agreed, passed, reasons] = [0, 0, 0, 0, 0];
  const sets = Math.ceil(amount / AT_ONCE);
  for (let set = 0; set < sets && passed === 0; set++) {
    for (const flight of pointFlights(AT_ONCE, seed + set)) {
      const label = slowJudge(flight.point, channelsOf(flight.signals), recordOf(flight), callsOf(flight));
      const { advice } = flyPoint(flight).run;
      const isGood = advice?.judgement === 'good';
      flown++;
      if (label.good) good++;
      if (isGood === label.good) agreed++;
      if (isGood && !label.good) {
        passed++;
        console.log(`passed as good, seed ${seed + set}: ${flight.what}; the slow judge: ${label.why.join('; ')}`);
      }
      if (advice?.reasons.length === label.why.length) reasons++;
    }
  }
  console.log(
    `seeds ${seed} to ${seed + sets - 1}, ${flown} points, ${good} good: ${agreed} agree, ${reasons} in the number of reasons too, ${passed} bad passed`,
  );
  return passed === 0 && agreed >= 0.98 * flown;
}
