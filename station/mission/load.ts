/** A mission folder becomes the mission baseline, or all that is wrong with it at once. */
import { closeSync, constants, openSync, fstatSync, readdirSync, readFileSync, realpathSync } from 'node:fs';
import { join, sep } from 'node:path';
import type { Checked, Finding } from '../../protocol/finding.ts';
import { nearestName } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { CountFormat, Parameter, RateGroup } from '../../protocol/parameter.ts';
import type { StreamMapping } from '../../protocol/stream-mapping.ts';
import { compilePipeline, streamFormats } from '../stages.ts';
import { baselineId } from './baseline.ts';
import { familyUnits, readCards } from './cards.ts';
import { card as cardSchema } from './card-schema.ts';
import { readChecks } from './checks.ts';
import { wholeConditions } from './conditions.ts';
import { checkDrivers, readDerived, spreadBroken } from './derived.ts';
import { limit as limitSchema } from './limit-schema.ts';
import { readChecklists } from './checklists.ts';
import { readLimits } from './limits.ts';
import { ofWholeFamilies, readAnomalies, readFamilies } from './families.ts';
import { anomaly as anomalySchema, family as familySchema } from './family-schema.ts';
import { orphanControls, readHazards, writtenIds } from './hazards.ts';
import { hazard as hazardSchema } from './hazards-schema.ts';
import { readMaintenance } from './maintenance.ts';
import { maintenanceRow as maintenanceSchema } from './maintenance-schema.ts';
import { type Known, Names } from './names.ts';
import { packCheck } from './pack-check.ts';
import { readPages } from './pages.ts';
import { asksForPhase, declarePhases, readPhases } from './phases.ts';
import { checkJudges, type ParameterNames, readGroups, readParameters } from './parameters.ts';
import { readReadiness } from './readiness.ts';
import * as schema from './schema.ts';
import { checkShape, item, items, meant } from './shape.ts';
import { carrier, checkInputs, type ReadFile, readStream } from './stream.ts';
import { readBoundaries, readTables } from './tables.ts';
import { readSequences } from './sequences.ts';
import { checklist as checklistSchema, sequence as sequenceSchema } from './sequences-schema.ts';
import { checkTraced } from './traced.ts';
import { caps, shownText, Source } from './source.ts';
import { readMissionFile } from './mission-file.ts';

export interface LoadedMission {
  mission: Mission;
  /** the files as written, for the record */
  files: { name: string; text: string }[];
}

export function loadMission(folder: string): Checked<LoadedMission> {
  const { sources, findings } = readFolder(folder);
  for (const [name, source] of sources) checkShape(source, schema.files[name].schema);
  const hazardsAreWritten = sources.get('hazards.yaml')?.troubles === 0;
  const mission = build(sources, (name) => readInside(folder, name));
  for (const source of sources.values()) findings.push(...source.findings);
  findings.push(...compilePipeline({ baselineId: '', ...mission }));
  findings.push(...packCheck(mission));
  if (hazardsAreWritten) findings.push(...orphanControls(mission.limits, mission.hazards ?? []));
  if (findings.length > 0) return { value: undefined, findings: inOrder(folder, findings) };
  const files = [...sources.values()].map(({ name, text }) => ({ name, text }));
  files.push(...(mission.mapping?.protos ?? []));
  return { value: { mission: { baselineId: baselineId(mission), ...mission }, files }, findings: [] };
}

/**
 * The mission as far as it is whole; what is not has findings in its source. What stands on something broken is left out,
 * so that the stages, which judge the rest, do not tell the same mistake again.
 */
function build(sources: ReadonlyMap<schema.FileName, Source>, read: ReadFile): Omit<Mission, 'baselineId'> {
  const nothing = new Source('', '');
  const of = (name: schema.FileName) => sources.get(name) ?? nothing;
  const names: ParameterNames = {
    groups: new Names<number>('rate group'),
    parameters: new Names<Known>('parameter'),
    broken: new Set(),
    lookedUp: new Map(),
    generated: new Map(),
    hasStream: sources.has('stream.yaml'),
  };
  const general = of('mission.yaml');
  const head = readMissionFile(general, item(general.data, [], schema.missionFile));
  const parametersFile = of('parameters.yaml');
  const groups = readGroups(parametersFile, items(parametersFile, 'groups', schema.rateGroup), names);
  const parameterItems = items(parametersFile, 'parameters', schema.parameter);
  const allParameters = readParameters(parametersFile, parameterItems, names);
  const mapping = readStream(of('stream.yaml'), read, allParameters, names);
  checkInputs(general, head.receivers, mapping, sources.has('stream.yaml'));
  const derivedFile = of('derived.yaml');
  const derivedItems = items(derivedFile, 'derived', schema.derived);
  const allDerived = readDerived(derivedFile, derivedItems, names);
  const phasesFile = of('phases.yaml');
  declarePhases(phasesFile, names);
  checkDrivers(derivedFile, derivedItems, names);
  checkJudges(parametersFile, parameterItems, names);
  const tablesFile = of('tables.yaml');
  const tables = readTables(tablesFile, items(tablesFile, 'tables', schema.table), names);
  const boundaries = readBoundaries(tablesFile, items(tablesFile, 'boundaries', schema.boundary), names);
  const lookedUp = { ...(tables.length > 0 && { tables }), ...(boundaries.length > 0 && { boundaries }) };
  const limitItems = items(of('limits.yaml'), 'limits', limitSchema);
  checkTraced(parametersFile, parameterItems, derivedItems, limitItems, names);
  spreadBroken(allDerived, names.broken, allParameters);
  const phases = readPhases(phasesFile, names);
  // formulas may compare with the phase
  if (phases === 'broken') spreadBroken(allDerived, names.broken, allParameters);
  const whole = allParameters.filter(({ id }) => !names.broken.has(id));
  const parameters = names.hasStream ? withFormats(whole, groups, mapping) : whole;
  const derived = allDerived.filter(({ id }) => !names.broken.has(id));
  const sequencesFile = of('sequences.yaml');
  const { sequences, checklists, known } = readProcedures(sequencesFile, names);
  const limits = readLimits(of('limits.yaml'), limitItems, names, known);
  const limitIds = new Set(limitItems.flatMap(({ value }) => value.id ?? []));
  const cardsFile = of('cards.yaml');
  const around = { names, limits, limitIds, families: familyUnits(cardsFile) };
  const allCards = readCards(cardsFile, items(cardsFile, 'cards', cardSchema), around);
  const familyItems = items(cardsFile, 'families', familySchema);
  const families = readFamilies(cardsFile, familyItems, { names, limits, limitIds, cards: allCards });
  const cards = ofWholeFamilies(allCards, families);
  const anomalies = readAnomalies(items(cardsFile, 'anomalies', anomalySchema));
  const machine = phases === undefined || phases === 'broken' ? undefined : phases.machine;
  if (phases !== undefined && phases !== 'broken') derived.push(phases.derived);
  const readinessFile = of('readiness.yaml');
  const aroundReadiness = { names, people: head.people, limits, limitIds };
  const readiness = sources.has('readiness.yaml')
    ? { ...readReadiness(readinessFile, aroundReadiness), ...readChecks(readinessFile, names) }
    : undefined;
  const hazards = sources.has('hazards.yaml')
    ? readHazards(of('hazards.yaml'), items(of('hazards.yaml'), 'hazards', hazardSchema), {
        ...{ limits, limitIds, cards, cardIds: writtenIds(cardsFile, 'cards') },
        ...{ checklistIds: writtenIds(of('sequences.yaml'), 'checklists'), people: head.people },
      })
    : undefined;
  const table = of('maintenance.yaml');
  const maintenance = readMaintenance(table, items(table, 'maintenance', maintenanceSchema), { names, phases });
  const pages = readPages(of('pages.yaml'), items(of('pages.yaml'), 'pages', schema.page), names);
  return {
    ...head,
    ...(mapping && { mapping }),
    groups,
    parameters,
    derived: [...derived, ...wholeConditions(names)],
    ...lookedUp,
    ...(machine && { phases: machine }),
    limits: phases === 'broken' ? limits.filter((limit) => !asksForPhase(limit)) : limits,
    ...(sequences.length > 0 && { sequences }),
    ...(checklists.length > 0 && { checklists }),
    ...(cards.length > 0 && { cards }),
    ...(families.length > 0 && { families }),
    ...(anomalies.length > 0 && { anomalies }),
    ...(readiness && { readiness }),
    ...(hazards && { hazards }),
    ...(maintenance.length > 0 && { maintenance }),
    pages,
  };
}

/** sequences.yaml; and what limits may name of it. */
function readProcedures(source: Source, names: ParameterNames) {
  const list = items(source, 'sequences', sequenceSchema);
  const sequences = readSequences(source, list, names);
  const checklists = readChecklists(source, items(source, 'checklists', checklistSchema), names);
  const ids = new Set(list.flatMap(({ value }) => value.id ?? []));
  return { sequences, checklists, known: { whole: sequences, ids } };
}

/** The formats that the fields of a stream of another make tell; something harmless where a field is not what it should be. */
function withFormats(parameters: Parameter[], groups: RateGroup[], mapping: StreamMapping | undefined): Parameter[] {
  const formats = mapping ? streamFormats({ groups, parameters, mapping }) : new Map<string, CountFormat>();
  const words = new Set(parameters.filter((one) => carrier(one) !== one.id).map(carrier));
  return parameters.map((parameter) => {
    const { id, format } = parameter;
    if (format !== undefined || carrier(parameter) !== id) return parameter;
    const isWord = parameter.bits !== undefined || words.has(id);
    return { ...parameter, format: formats.get(id) ?? (isWord ? 'u32' : 'f64') };
  });
}

interface Folder {
  sources: Map<schema.FileName, Source>;
  findings: Finding[];
}

function readFolder(folder: string): Folder {
  const findings: Finding[] = [];
  const sources = new Map<schema.FileName, Source>();
  const missing = (name: string, found: string, expected: string, hint?: string) =>
    findings.push({ code: 'file-missing', file: name, line: 0, column: 0, found, expected, ...(hint && { hint }) });
  let present: string[];
  try {
    present = readdirSync(folder);
  } catch (error) {
    missing('', `no folder that can be read (${(error as NodeJS.ErrnoException).code})`, 'a mission folder');
    return { sources, findings };
  }
  for (const name of schema.fileNames) {
    if (!present.includes(name)) {
      if (schema.files[name].needed) missing(name, 'no such file', `${name} in a mission folder`);
      continue;
    }
    const read = readText(join(folder, name));
    if ('trouble' in read) missing(name, read.trouble, read.expected);
    else sources.set(name, new Source(name, read.text));
  }
  // a misspelt file name would silently leave out what the file says
  for (const name of present.sort()) {
    if (!/\.ya?ml$/i.test(name) || (schema.fileNames as string[]).includes(name)) continue;
    const hint = meant(nearestName(name, schema.fileNames));
    const expected = `one of ${schema.fileNames.join(', ')}`;
    findings.push({
      code: 'unknown-name',
      file: name,
      line: 0,
      column: 0,
      found: shownText(name),
      expected,
      ...(hint && { hint }),
    });
  }
  return { sources, findings };
}

/** A file of the folder by its name in it; a link that leads out of the folder is no file of it. */
function readInside(folder: string, name: string): { text: string } | { trouble: string; expected: string } {
  try {
    const inside = realpathSync(folder);
    if (!realpathSync(join(folder, name)).startsWith(inside + sep))
      return { trouble: 'a link out of the folder', expected: 'a file of the mission folder' };
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    return {
      trouble: code === 'ENOENT' ? 'no such file' : `no file that can be opened (${code})`,
      expected: 'a file of the mission folder',
    };
  }
  return readText(join(folder, name));
}

/** Reads a plain file of ordinary size; a pipe or a device would keep us waiting. */
function readText(path: string): { text: string } | { trouble: string; expected: string } {
  let file: number;
  try {
    file = openSync(path, constants.O_RDONLY | constants.O_NONBLOCK);
  } catch (error) {
    return {
      trouble: `a file that cannot be opened (${(error as NodeJS.ErrnoException).code})`,
      expected: 'a readable file',
    };
  }
  try {
    const about = fstatSync(file);
    if (!about.isFile()) return { trouble: 'something that is not a file', expected: 'a text file' };
    if (about.size > caps.bytes) return { trouble: `${about.size} bytes`, expected: `at most ${caps.bytes} bytes` };
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(readFileSync(file)) };
  } catch {
    return { trouble: 'bytes that are not UTF-8', expected: 'text in UTF-8' };
  } finally {
    closeSync(file);
  }
}

/** By file, line and column, each file with the folder before it. */
function inOrder(folder: string, findings: Finding[]): Finding[] {
  const rank = (file: string) => {
    const place = (schema.fileNames as string[]).indexOf(file);
    return place < 0 ? schema.fileNames.length : place;
  };
  return findings
    .sort((a, b) => rank(a.file) - rank(b.file) || a.line - b.line || a.column - b.column)
    .map((finding) => ({ ...finding, file: finding.file === '' ? folder : join(folder, finding.file) }));
}
