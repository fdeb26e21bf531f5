/** Whether the pack in force is the one that belongs to the aircraft: by the ids it sends, and by the releases registered. */
import type { Missing, ReadinessView } from '../../protocol/conduct.ts';
import type { StreamView } from '../../protocol/fold.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Release } from '../../protocol/readiness.ts';
import { releaseDifferences } from '../../protocol/release.ts';

type Ids = Pick<Release, 'softwareId' | 'configurationId'>;

export class BaselineMatch {
  private readonly mission: Mission;
  /** differences from the release registered for this pack's own ids */
  private readonly own: readonly string[];
  /** those from the release of other ids, told once for each */
  private readonly told = new Map<string, string[]>();

  constructor(mission: Mission) {
    this.mission = mission;
    const release = this.releaseFor(mission.aircraft);
    this.own = release && release.baselineId !== mission.baselineId ? this.between(release) : [];
  }

  private releaseFor({ softwareId, configurationId }: Ids): Release | undefined {
    const releases = this.mission.readiness?.releases ?? [];
    return releases.find((one) => one.softwareId === softwareId && one.configurationId === configurationId);
  }

  private between(release: Release): string[] {
    const { baselineId, limits } = this.mission;
    const short = `the release for ${idsText(release)}`;
    const ids = `baseline ${brief(baselineId)} is in force; ${short} is ${brief(release.baselineId)}`;
    return [ids, ...releaseDifferences(limits, release, short)];
  }

  private fromAircraft(sent: Ids): string[] {
    const key = JSON.stringify([sent.softwareId, sent.configurationId]);
    const before = this.told.get(key);
    if (before) return before;
    const { aircraft, mapping } = this.mission;
    const differences: string[] = [];
    const compare = (what: string, theirs: string, ours: string): void => {
      if (theirs !== ours)
        differences.push(`${what}: the aircraft sends ${theirs || 'none'}, this pack is for ${ours}`);
    };
    // a stream of another make need not tell its ids: then nothing is compared
    if (!mapping || mapping.softwareId) compare('software id', sent.softwareId, aircraft.softwareId);
    if (!mapping || mapping.configurationId) {
      compare('configuration id', sent.configurationId, aircraft.configurationId);
    }
    const release = this.releaseFor(sent);
    differences.push(...(release ? this.between(release) : [`no release is registered for ${idsText(sent)}`]));
    // ids come from outside: an aircraft that sends ever new ones must not fill the store
    if (this.told.size >= MOST_TOLD) this.told.clear();
    this.told.set(key, differences);
    return differences;
  }

  view(stream: StreamView): ReadinessView['ids'] {
    const { softwareId, configurationId, frames, idsMatch } = stream;
    const isHeard = frames > 0;
    const differences = isHeard && !idsMatch ? this.fromAircraft({ softwareId, configurationId }) : this.own;
    return { match: isHeard && idsMatch, softwareId, configurationId, differences: [...differences] };
  }

  missing({ differences, match }: ReadinessView['ids'], stream: StreamView): Missing[] {
    if (differences.length === 0) return [];
    const [first, ...others] = differences;
    const more =
      others.length > 0 ? `, and ${others.length} more ${others.length === 1 ? 'difference' : 'differences'}` : '';
    const what =
      stream.frames > 0 && !match ? "the aircraft's ids are not those of this pack" : 'not the released pack';
    return [{ position: '', text: `${what}: ${first}${more}` }];
  }
}

/** Ids whose differences are kept. */
const MOST_TOLD = 16;

const idsText = ({ softwareId, configurationId }: Ids): string =>
  `${softwareId || 'none'} / ${configurationId || 'none'}`;

/** As much of a baseline id as the displays show. */
const brief = (id: string): string => id.slice(0, 8);
