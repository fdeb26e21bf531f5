/**
 * A rehearsal flight as a list of datagrams: the invented aircraft flies a scenario, its telemetry is packed, and every
 * receiver's link carries the frames its own way. Pure: whoever sends the datagrams keeps the time.
 */
import type { Mission } from '../../protocol/mission.ts';
import { cleanLink, type Departure, Link, type LinkSettings } from './link.ts';
import type { Scenario } from './scenario.ts';
import { FRAME_US, Telemetry } from './telemetry.ts';

export interface FlightSettings {
  mission: Mission;
  scenario: Scenario;
  /** all chance of the flight comes from it; the scenario's own when left out */
  seed?: number;
  /** aircraft time of the first frame, microseconds since the Unix epoch */
  startUs: number;
  /** changes to every link of the scenario ("--loss", "--delay") */
  link?: Partial<Omit<LinkSettings, 'receiver'>>;
  /** only these receivers; the scenario's when left out. A name the scenario lacks gets a clean link. */
  receivers?: readonly string[];
}

export interface Flight {
  /** seconds of aircraft time the flight lasts, as the scenario says */
  readonly durationUs: number;
  /** The next datagram in order of `sendAtUs`; undefined when all have been given. */
  next(): Departure | undefined;
}

export function openFlight(settings: FlightSettings): Flight {
  const { mission, scenario, startUs } = settings;
  const seed = settings.seed ?? scenario.seed;
  const telemetry = new Telemetry({ mission, scenario, seed, startUs });
  const links = chosenLinks(settings).map((link) => new Link(link, seed));
  const frames = Math.round(scenario.durationUs / FRAME_US);
  /** sorted, latest first, so that taking the next is a pop */
  const waiting: Departure[] = [];
  let made = 0;
  return {
    durationUs: frames * FRAME_US,
    next() {
      // a frame cannot leave before it is complete, so what is due before the next one is complete is final
      while (
        made < frames &&
        (waiting.length === 0 || waiting[waiting.length - 1]!.sendAtUs >= (made + 1) * FRAME_US)
      ) {
        const frame = telemetry.frame();
        made++;
        for (const link of links)
          for (const departure of link.carry(frame, made * FRAME_US)) insert(waiting, departure);
      }
      return waiting.pop();
    },
  };
}

function chosenLinks({ scenario, receivers, link }: FlightSettings): LinkSettings[] {
  const named = receivers ?? scenario.links.map((l) => l.receiver);
  return named.map((receiver) => {
    const own = scenario.links.find((l) => l.receiver === receiver);
    return { ...cleanLink, ...own, ...link, receiver };
  });
}

/** Keeps `waiting` in falling order of `sendAtUs`; among equals the one inserted first is popped first. */
function insert(waiting: Departure[], departure: Departure): void {
  let i = waiting.length;
  while (i > 0 && waiting[i - 1]!.sendAtUs <= departure.sendAtUs) i--;
  waiting.splice(i, 0, departure);
}
