/** `groundchase import`: files of another origin become a recording like any other. */
import { existsSync, readFileSync, statSync } from 'node:fs';
import { hostname } from 'node:os';
import { basename, extname } from 'node:path';
import type { Finding } from '../../protocol/finding.ts';
import type { Mission } from '../../protocol/mission.ts';
import { groundTime, isoText } from '../../protocol/time.ts';
import { readCsvFlight } from '../../replay/import/assemble.ts';
import { type ImportCounts, type ImportedFlight, type ImportedGroup, plainPages } from '../../replay/import/builder.ts';
import { readIgc } from '../../replay/import/igc.ts';
import { writeImport } from '../../replay/import/write.ts';
import { RecordingError } from '../../replay/recording/open.ts';
import { baselineId } from '../mission/baseline.ts';
import { loadMapping } from '../mission/mapping.ts';
import { Pipeline } from '../pipeline.ts';
import { compilePipeline } from '../stages.ts';
import { newRecordingFile } from '../record/new-file.ts';
import {
  type Arguments,
  type Command,
  exitCode,
  jsonOption,
  print,
  printJson,
  say,
  sayFindings,
  Trouble,
  WrongUse,
} from './command.ts';
import { recordingsFolder } from './running.ts';

/** Aircraft time gathered into one batch. */
const GATHER = 1_000_000;

/** Largest file that is read in one piece: bytes. */
const IGC_BYTES = 256 << 20;

export const command: Command = {
  name: 'import',
  summary: 'make a recording of files recorded by something else',
  usage: 'FILE',
  details: `FILE is an IGC file (.igc), or a mapping (.yaml) that names comma-separated files and says what their columns are.
A line that cannot be read is kept out, named and counted (exit code 1); everything else is imported. Gaps stay gaps.
The recording is folded on the way: it has an alarm list, and replay can seek in it.`,
  options: [
    {
      name: 'mapping',
      kind: 'text',
      value: 'FILE',
      summary: 'for an IGC file: a mapping with derived parameters, limits and pages',
    },
    {
      name: 'recordings',
      kind: 'text',
      value: 'DIR',
      default: recordingsFolder,
      summary: 'folder of the recordings; made when missing',
    },
    { name: 'name', kind: 'text', value: 'NAME', summary: 'middle of the new file name; default: the name of FILE' },
    jsonOption,
  ],
  async run(args) {
    const file = args.operand;
    if (!existsSync(file)) throw new Trouble(`${file}: no such file`);
    const kind = extname(file).toLowerCase();
    if (kind === '.csv')
      throw new WrongUse(`${file}: comma-separated files are imported by the mapping that names them`);
    const isIgc = kind === '.igc';
    if (!isIgc && kind !== '.yaml' && kind !== '.yml')
      throw new WrongUse(`${file}: neither .igc nor a mapping (.yaml)`);
    if (!isIgc && args.given('mapping')) throw new WrongUse('--mapping is for an IGC file; FILE is a mapping already');
    const read = isIgc ? importIgc(file, args.text('mapping')) : await importMapped(file);
    const flight = read.flight && withBaseline(read.flight);
    const findings = [...read.findings, ...(flight ? compilePipeline(flight.mission) : [])];
    const usable = flight !== undefined && findings.length === read.findings.length;
    return usable ? write(args, flight, read) : refuse(args, read, findings);
  },
};

interface Read {
  flight: { mission: Omit<Mission, 'baselineId'>; groups: ImportedGroup[]; files: ImportedFlight['files'] } | undefined;
  findings: Finding[];
  counts: ImportCounts;
}

const nothing: ImportCounts = { kept: 0, refused: 0, reordered: 0, empty: 0 };

function importIgc(file: string, mapping: string): Read {
  if (statSync(file).size > IGC_BYTES) throw new Trouble(`${file}: larger than ${IGC_BYTES} bytes`);
  const { flight, findings, counts } = readIgc(decodeText(readFileSync(file)), file);
  if (flight) flight.mission.name = basename(file);
  if (!flight || mapping === '') return { flight: flight && { ...flight, files: [] }, findings, counts };
  const mapped = loadMapping(mapping, flight.mission);
  if (!mapped.value) return { flight: undefined, findings: [...findings, ...mapped.findings], counts: nothing };
  const { source, mission } = mapped.value;
  const pages = mission.pages.length > 0 ? mission.pages : plainPages(mission);
  return { flight: { mission: { ...mission, pages }, groups: flight.groups, files: [source] }, findings, counts };
}

async function importMapped(file: string): Promise<Read> {
  const mapped = loadMapping(file);
  if (!mapped.value) return { flight: undefined, findings: mapped.findings, counts: nothing };
  const { mission, files, staleUnknown, source } = mapped.value;
  const { flight, findings, counts } = await readCsvFlight(mission, files, staleUnknown);
  return { flight: flight && { ...flight, files: [source] }, findings, counts };
}

/** Names in old recorder files are often in ISO 8859-1. */
function decodeText(bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('latin1').decode(bytes);
  }
}

const withBaseline = ({ mission, groups, files }: NonNullable<Read['flight']>): ImportedFlight => ({
  mission: { baselineId: baselineId(mission), ...mission },
  groups,
  files,
});

function write(args: Arguments, flight: ImportedFlight, read: Read): number {
  const begin = Math.min(...flight.groups.flatMap(({ time }) => (time.length > 0 ? [time[0] as number] : [])));
  const name = args.text('name') || basename(args.operand, extname(args.operand));
  try {
    const file = newRecordingFile(args.text('recordings'), name, groundTime(begin));
    const fold = new Pipeline({ gather: GATHER });
    const { entries, alarms, from, to } = writeImport(file, flight, {
      station: hostname(),
      source: args.operand,
      fold,
    });
    const { kept, refused, reordered, empty } = read.counts;
    const facts = { file, from: isoText(from), to: isoText(to), entries, alarms, kept, refused, reordered, empty };
    if (args.flag('json')) printJson({ ...facts, findings: read.findings });
    else {
      print(file);
      say(`${isoText(from)} to ${isoText(to)}, ${entries} entries, ${alarms} alarm lines`);
      say(`${kept} lines imported, ${refused} refused, ${reordered} put in order, ${empty} without a value`);
    }
  } catch (error) {
    throw error instanceof RecordingError ? new Trouble(error.message) : error;
  }
  if (read.findings.length > 0 && !args.flag('json')) sayFindings(read.findings);
  return read.findings.length > 0 ? exitCode.finding : exitCode.success;
}

function refuse(args: Arguments, read: Read, findings: Finding[]): number {
  if (args.flag('json')) printJson({ file: null, ...read.counts, findings });
  else {
    sayFindings(findings);
    say('nothing was imported');
  }
  return exitCode.finding;
}
