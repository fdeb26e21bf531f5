/** `groundchase check`: everything that is wrong with a mission folder, at once. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { findingText } from '../../protocol/finding.ts';
import { type LoadedMission, loadMission } from '../mission/load.ts';
import { releaseRow, releaseText } from '../mission/release.ts';
import { fileNames, jsonSchema } from '../mission/schema.ts';
import { type Arguments, type Command, exitCode, jsonOption, print, printJson, say } from './command.ts';

export const command: Command = {
  name: 'check',
  summary: 'check a mission folder, and tell everything that is wrong with it',
  usage: 'DIR',
  details: 'Each finding is one line: file, line, column, code, what was found and what was expected.',
  options: [
    jsonOption,
    {
      name: 'release',
      kind: 'flag',
      summary: 'print the row of readiness.yaml that registers this mission as released for its aircraft',
    },
    {
      name: 'schemas',
      kind: 'text',
      value: 'OUT',
      summary: 'also write the JSON Schema of every mission file into this folder, for editors',
    },
  ],
  async run(args: Arguments) {
    if (args.text('schemas') !== '') writeSchemas(args.text('schemas'));
    const { value, findings } = loadMission(args.operand);
    const release = args.flag('release') && value ? { release: releaseRow(value.mission) } : {};
    if (args.flag('json')) printJson({ folder: args.operand, ...(value && summary(value)), ...release, findings });
    else if (value && args.flag('release')) print(releaseText(value.mission));
    else if (value) for (const [what, text] of Object.entries(summary(value))) print(`${what}: ${text}`);
    else {
      for (const finding of findings) print(findingText(finding));
      say(`${findings.length} ${findings.length === 1 ? 'finding' : 'findings'}`);
    }
    return value ? exitCode.success : exitCode.finding;
  },
};

function summary({ mission }: LoadedMission) {
  return {
    mission: mission.name,
    baseline: mission.baselineId,
    groups: mission.groups.length,
    parameters: mission.parameters.length,
    derived: mission.derived.filter(({ condition }) => !condition).length,
    limits: mission.limits.length,
    pages: mission.pages.length,
  };
}

function writeSchemas(folder: string) {
  mkdirSync(folder, { recursive: true });
  for (const name of fileNames) {
    const path = join(folder, name.replace('.yaml', '.schema.json'));
    writeFileSync(path, `${JSON.stringify(jsonSchema(name), null, 2)}\n`);
    say(`written: ${path}`);
  }
}
