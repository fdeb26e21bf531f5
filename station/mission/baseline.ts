/** The id of a mission baseline: what it contains decides it, not how the files are laid out. */
import { createHash } from 'node:crypto';
import type { Mission } from '../../protocol/mission.ts';

/**
 * SHA-256, in hexadecimal, of the mission as JSON with sorted keys. Left out: the id itself, the pages (moving a chart
 * changes nothing that is watched), the places in the files (nor does a comment), and the packs that were released, since
 * each is registered by its id.
 */
export function baselineId(mission: Omit<Mission, 'baselineId'>): string {
  const { pages: _, readiness, ...rest } = mission;
  const { releases: __, ...plan } = readiness ?? { releases: [] };
  // a file of releases alone is as good as none
  const said = Object.values(plan).some((part) => !Array.isArray(part) || part.length > 0);
  return createHash('sha256')
    .update(canonical({ ...rest, ...(said && { readiness: plan }) }))
    .digest('hex');
}

function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (typeof value !== 'object' || value === null) return JSON.stringify(value);
  const keys = Object.keys(value).filter((key) => key !== 'place' && key !== 'places' && key !== 'baselineId');
  const entries = keys.sort().map((key) => [key, (value as Record<string, unknown>)[key]] as const);
  const present = entries.filter(([, inner]) => inner !== undefined);
  return `{${present.map(([key, inner]) => `${JSON.stringify(key)}:${canonical(inner)}`).join(',')}}`;
}
