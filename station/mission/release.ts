/** A pack as it is released: the values of its limits by name, to be told apart from another pack limit by limit. */
import { stringify } from 'yaml';
import type { Mission } from '../../protocol/mission.ts';
import { limitValues } from '../../protocol/release.ts';

/** The row of `releases` in readiness.yaml that registers this mission for its aircraft's ids. */
export const releaseRow = ({ aircraft, baselineId, limits }: Mission) => ({
  'software id': aircraft.softwareId,
  'configuration id': aircraft.configurationId,
  'baseline id': baselineId,
  limits: limitValues(limits),
});

/** The same as YAML, under its key. */
export const releaseText = (mission: Mission): string =>
  stringify({ releases: [releaseRow(mission)] }, { lineWidth: 0 }).trimEnd();
