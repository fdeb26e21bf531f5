/** The files of one flight, read and put together. */
import type { Finding } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { type ImportCounts, type ImportedGroup, plainPages, staleAfterOf } from './builder.ts';
import { type CsvFile, readCsv } from './csv.ts';

export interface AssembledFlight {
  /** undefined when a file cannot be used, or none has a sample */
  flight: { mission: Omit<Mission, 'baselineId'>; groups: ImportedGroup[] } | undefined;
  findings: Finding[];
  counts: ImportCounts;
  /** counts of each file, in order */
  files: { name: string; counts: ImportCounts }[];
}

/**
 * Reads comma-separated files into the groups of `mission`. Groups named in `staleUnknown` get their `staleAfter` from
 * their own times; a mission without pages gets plain ones.
 */
export async function readCsvFlight(
  mission: Omit<Mission, 'baselineId'>,
  files: readonly CsvFile[],
  staleUnknown: readonly string[],
): Promise<AssembledFlight> {
  const findings: Finding[] = [];
  const counts: ImportCounts = { kept: 0, refused: 0, reordered: 0, empty: 0 };
  const perFile: AssembledFlight['files'] = [];
  const groups: ImportedGroup[] = [];
  for (const file of files) {
    const read = await readCsv(file);
    findings.push(...read.findings);
    for (const key of Object.keys(counts) as (keyof ImportCounts)[]) counts[key] += read.counts[key];
    perFile.push({ name: file.name, counts: read.counts });
    if (read.group) groups.push(read.group);
  }
  const whole = groups.length === files.length;
  if (whole && counts.kept === 0 && findings.length === 0) {
    const name = files.map((file) => file.name).join(', ');
    findings.push({
      code: 'import-line',
      file: name,
      line: 0,
      column: 0,
      found: 'no rows',
      expected: 'at least one row',
    });
  }
  if (!whole || counts.kept === 0) return { flight: undefined, findings, counts, files: perFile };
  const timed = mission.groups.map((group) => {
    const imported = groups.find(({ id }) => id === group.id);
    return imported && staleUnknown.includes(group.id) ? { ...group, staleAfter: staleAfterOf(imported.time) } : group;
  });
  const pages = mission.pages.length > 0 ? mission.pages : plainPages(mission);
  return { flight: { mission: { ...mission, groups: timed, pages }, groups }, findings, counts, files: perFile };
}
