/** What a kind reads beside the watched parameter, in the unit of that one. */
import type { Limit } from '../../protocol/limit.ts';
import type { MeasureContext } from './measured.ts';
import { type Scale, scaleOf } from './scaled.ts';

/** What takes these parameters, named at the key `at` of the limit, to the watched one's unit; undefined with findings. */
export function scalesToWatched(
  limit: Limit,
  context: MeasureContext,
  ids: readonly string[],
  at: string,
): Scale[] | undefined {
  const { parameters, derived } = context.mission;
  const watched = [...parameters, ...derived].find(({ id }) => id === limit.parameter);
  const scales = ids.map((id) => scaleOf(context, id, watched?.unit ?? '', at));
  return scales.every((scale) => scale !== undefined) ? (scales as Scale[]) : undefined;
}
