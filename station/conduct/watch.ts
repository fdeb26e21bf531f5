/** Watch assignment: which position actively watches which limit. */
import { reaches } from '../../protocol/alarm.ts';
import type { Missing, ReadinessView } from '../../protocol/conduct.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { MOST_WATCHED } from '../../protocol/readiness.ts';
import { type Position, positions } from '../../protocol/role.ts';

type Watcher = Position | '';

export class WatchList {
  /** positions that somebody holds, in the order of the role table */
  private readonly manned: readonly Position[];
  /** ids of the stop limits, in the mission's order */
  private readonly stops: readonly string[];
  /** who watches each limit; '' = nobody. In the mission's order */
  private readonly watchers: Map<string, Watcher>;

  constructor({ limits, readiness }: Mission, manned: readonly Position[]) {
    this.manned = manned;
    const watchable = limits.filter(isWritten);
    this.stops = watchable.filter((limit) => reaches(limit, 'stop')).map(({ id }) => id);
    const planned = readiness?.watch;
    const rows = new Map(planned?.flatMap((row) => row.limits.map((id) => [id, row.position] as const)));
    const first = (limit: Limit): string => (planned ? (rows.get(limit.id) ?? '') : byLimit(limit));
    this.watchers = new Map(watchable.map((limit) => [limit.id, this.seated(first(limit))]));
  }

  private seated(position: string): Watcher {
    return this.manned.find((one) => one === position) ?? '';
  }

  /** Who watches the limit now, '' = nobody; undefined for what is no limit. */
  watcherOf(limit: string): Watcher | undefined {
    return this.watchers.get(limit);
  }

  watchedBy(position: Position): string[] {
    return [...this.watchers].filter(([, watcher]) => watcher === position).map(([id]) => id);
  }

  /** Gives a limit to a position, '' = to nobody; or says why not. Who may do that is for the role table. */
  assign(limit: string, to: string): string {
    const now = this.watchers.get(limit);
    if (now === undefined) return `there is no limit ${limit}`;
    if (to !== '' && !positions.includes(to as Position)) return `${to} is not a position`;
    if (to === now) return to === '' ? `nobody watches ${limit} already` : `${to} watches ${limit} already`;
    if (to !== '' && this.seated(to) === '') return `nobody sits at ${to}`;
    const watched = to === '' ? [] : this.watchedBy(to as Position);
    if (watched.length >= MOST_WATCHED) {
      const list = watched.join(', ');
      return `${to} watches ${watched.length} limits already (${list}), and ${MOST_WATCHED} are the most for one position`;
    }
    this.watchers.set(limit, to as Watcher);
    return '';
  }

  /** Stop limits that nobody watches. */
  unwatched(): string[] {
    return this.stops.filter((id) => this.watchers.get(id) === '');
  }

  missing(): Missing[] {
    return this.unwatched().map((id) => ({ position: 'test director', text: `nobody watches the stop limit ${id}` }));
  }

  /** Every manned position, those that watch nothing too. */
  view(): ReadinessView['watch'] {
    return this.manned.map((position) => ({ position, limits: this.watchedBy(position) }));
  }

  save(): unknown {
    return [...this.watchers];
  }

  /** Under another pack or other people: who watched a limit goes on watching it, where both are still there. */
  restore(state: unknown): void {
    if (!Array.isArray(state)) throw new Error('saved readiness lacks its watch');
    for (const [id, position] of state as [string, Watcher][]) {
      if (this.watchers.has(id)) this.watchers.set(id, this.seated(position));
    }
  }
}

/** The loader's own limits, that say another one is blind, have a dot in their id: nobody watches those. */
const isWritten = ({ id }: Limit): boolean => !id.includes('.');

/** Where the day plans no watch: each limit its watcher, when it is one to be watched actively. */
const byLimit = (limit: Limit): string => ((limit.watchedActively ?? reaches(limit, 'warning')) ? limit.watcher : '');
