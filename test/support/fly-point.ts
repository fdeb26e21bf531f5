/** Flights of points as a room flies them, gates logged by a scripted person. */
import { deserialize, serialize } from 'node:v8';
import type { PointRun } from '../../protocol/conduct.ts';
import { SECOND } from '../../protocol/time.ts';
import type { PointFlight } from './point-flights.ts';
import { at, cardMission, Room, secondsOf } from './point-run.ts';

/** The flight as the room flies it; `cut`: the longest batch, microseconds. `restoreAt`: seconds of a snapshot. */
export function flyPoint(
  flight: PointFlight,
  cut = SECOND,
  restoreAt = Number.NaN,
): { run: PointRun; offers: string[] } {
  const { point, signals, onCondition, recover, call, late } = flight;
  const room = new Room(cardMission([point]), signals).until(1);
  const offers: string[] = [];
  const go = (second: number) => {
    if (restoreAt > secondsOf(room.moment().aircraft) && restoreAt < second) {
      room.until(restoreAt, cut);
      room.restore(deserialize(serialize(room.points.save())));
    }
    room.until(second, cut);
    const { offer, offered } = room.run;
    offers.push(`${offer} ${offered}`);
  };
  const done = (reason: string): void => {
    if (reason !== '') throw new Error(`the scripted person was refused: ${reason}`);
  };
  done(room.act('begin point', { subject: point.id }));
  const said: [number, () => void][] = [
    [recover, () => done(room.act('enter gate', { number: 1, choice: 'recover', aircraft: at(recover) }))],
  ];
  if (!Number.isNaN(onCondition))
    said.push([
      onCondition,
      () => done(room.act('enter gate', { number: 1, choice: 'on condition', aircraft: at(onCondition) })),
    ]);
  if (!Number.isNaN(call)) said.push([call, () => room.call(call)]);
  // logged in the order they were said, each some time later, and when the samples of that moment are there
  for (const [when, log] of said.sort(([a], [b]) => a - b)) {
    go(Math.max(when + 0.02, Math.min(when + late, when === onCondition ? recover : Infinity)));
    log();
  }
  go(recover + 6);
  return { run: room.run, offers };
}

/** From on condition to recover, as it was said; undefined when it never was. */
export const recordOf = ({ onCondition, recover }: PointFlight) =>
  Number.isNaN(onCondition) ? undefined : { from: at(onCondition), to: at(recover) };

/** Stop calls in the record. */
export const callsOf = ({ call, onCondition, recover }: PointFlight): number[] =>
  !Number.isNaN(call) && call >= onCondition && call < recover ? [at(call)] : [];
