/**
 * The slow twin of which prompts a room has: from what the room shows, the runs as people see them, and since when each limit
 * has not been able to tell, looked up one thing after the other. Written to be read.
 */
import type { PointRun } from '../../protocol/conduct.ts';
import type { RoomView } from '../../protocol/fold.ts';
import { levelName } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';

export interface SlowMoment {
  mission: Mission;
  room: Pick<RoomView, 'alarms' | 'calls'>;
  runs: readonly PointRun[];
  /** ground time now, of the newest good frame, and since when each limit cannot tell, by its id */
  ground: number;
  heard: number;
  since: ReadonlyMap<string, number>;
}

/** Alarm, point and class of each prompt, in no particular order. */
export function slowPrompts({ mission, room, runs, ground, heard, since }: SlowMoment): string[] {
  const said: string[] = [];
  const run = runs.at(-1);
  const point = (mission.cards ?? []).flatMap((card) => card.points).find(({ id }) => id === run?.point);
  const isFlown = run !== undefined && run.gate !== 'admin' && run.gate !== 'closed';
  const stops = isFlown ? (point?.stops ?? []) : [];
  const begun = run?.gates[0]?.ground ?? 0;
  const callsSince = (time: number) =>
    room.calls.filter((call) => (call.madeGround || call.steps[0]?.ground || 0) >= time);

  for (const { definition, state } of room.alarms) {
    const answers = (time: number) =>
      callsSince(time).filter(
        ({ alarm, stopClass }) =>
          ['', definition.id].includes(alarm) && (definition.stopClass === 2 || stopClass === 1),
      ).length;
    const level = levelName(state.level);
    const isOwn = stops.includes(definition.id);
    const isOver = state.cleared > 0 && state.cleared < (run?.gates[0]?.aircraft ?? 0);
    const atStop = level === 'stop' && answers(state.ground) === 0;
    const ofPoint =
      isOwn && (level === 'warning' || level === 'stop') && !isOver && answers(Math.max(state.ground, begun)) === 0;
    if (atStop || ofPoint) said.push(`${definition.id} of ${isOwn ? run?.point : 'none'}, ${definition.stopClass}`);
  }

  // setup is not flown on the data of the ground yet
  if (!isFlown || run.gate === 'setup' || point === undefined) return said;
  if (stops.length + point.required.length === 0) return said;
  const isSilent = ground - heard >= 2_000_000;
  if (isSilent) {
    if (callsSince(heard).every(({ alarm }) => alarm !== '' && alarm !== 'data.stream'))
      said.push('data.stream of none, 2');
    return said;
  }
  for (const limit of stops) {
    const lost = since.get(limit);
    if (lost === undefined || ground - lost < 2_000_000 || said.some((one) => one.startsWith(`${limit} of`))) continue;
    const stopping = callsSince(Math.max(lost, begun)).some(({ alarm }) =>
      ['', 'data.stream', ...stops].includes(alarm),
    );
    if (!stopping) said.push(`${limit} of ${run.point}, 2`);
  }
  return said;
}
