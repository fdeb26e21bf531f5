/** README.md is held to the product: commands, findings, files, tables, the example mission. */
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { cautions } from '../../protocol/cautions.ts';
import { findingCodes } from '../../protocol/finding.ts';
import type { LimitKind, Setting } from '../../protocol/limit-kind.ts';
import { limitKinds } from '../../protocol/limit-kinds.ts';
import type { Command } from '../../station/command/command.ts';
import { signature } from '../../station/derive/function.ts';
import { functions } from '../../station/derive/functions.ts';
import { rowTables } from '../../replay/recording/schema.ts';
import { commonKeys } from '../../station/mission/limit-schema.ts';
import { loadMission } from '../../station/mission/load.ts';
import { fileNames } from '../../station/mission/schema.ts';
import { missionFolder } from '../support/mission-folder.ts';

const root = new URL('../../', import.meta.url);
const text = readFileSync(new URL('README.md', root), 'utf8');

/** Cells of the rows of the table whose head begins with this word. */
function table(head: string): string[][] {
  const lines = text.split('\n');
  const from = lines.findIndex((line) => line.startsWith(`| ${head} |`));
  const rows = lines.slice(from + 2);
  const cells = (line: string) =>
    line
      .split('|')
      .slice(1, -1)
      .map((cell) => cell.trim());
  return rows
    .slice(
      0,
      rows.findIndex((line) => !line.startsWith('|')),
    )
    .map(cells);
}

const yamlExamples = () => [...text.matchAll(/```yaml\n# (\S+\.yaml)\n([^]*?)```/g)];

const unquoted = (cell: string | undefined) => cell?.replaceAll('`', '');

describe('README.md', () => {
  it('lists every finding code with its meaning, and no other', () => {
    expect(Object.fromEntries(table('code').map(([code, means]) => [unquoted(code), means]))).toEqual(findingCodes);
  });

  it('lists every command there is with its summary, and no other', async () => {
    const folder = new URL('station/command/', root);
    const files = readdirSync(folder).filter((name) => name.endsWith('.ts') && !name.endsWith('.test.ts'));
    const isCommand = (name: string) => /^export const command\b/m.test(readFileSync(new URL(name, folder), 'utf8'));
    const loaded = await Promise.all(
      files.filter(isCommand).map((name) => import(new URL(name, folder).href) as Promise<{ command: Command }>),
    );
    const summaries = Object.fromEntries(loaded.map(({ command }) => [command.name, command.summary]));
    expect(Object.fromEntries(table('command').map(([name, what]) => [unquoted(name), what]))).toEqual(summaries);
  });

  it('lists every function of the formula language, and no other', () => {
    const rows = table('function').map(([call, summary]) => [unquoted(call), summary]);
    expect(rows).toEqual([...functions.values()].map((one) => [signature(one), one.summary]));
  });

  it('says of every function that remembers what it does at the start and over a gap', () => {
    const remembering = [...functions.values()].filter(({ work }) => work.kind === 'memory');
    const rows = table('remembers').map(([name, what]) => [unquoted(name), what]);
    expect(rows).toEqual(remembering.map(({ name, detail }) => [name, detail]));
  });

  it('lists every key of a limit, and no other', () => {
    const keys = Object.entries(commonKeys).map(([key, { description }]) => [key, description]);
    expect(table('key of any limit').map(([key, what]) => [unquoted(key), what])).toEqual(keys);
  });

  it('lists every kind of limit with its number, what it measures and its settings, and no other', () => {
    const kinds = Object.entries<LimitKind>(limitKinds).sort(([, a], [, b]) => a.number - b.number);
    const rows = table('kind').map(([name, number, what, , settings]) => [
      unquoted(name),
      Number(number),
      what,
      settings,
    ]);
    const may = (setting: Setting) => setting.optional || ('default' in setting && setting.default !== undefined);
    expect(rows).toEqual(
      kinds.map(([name, { number, summary, settings }]) => [
        name,
        number,
        summary,
        Object.entries(settings)
          .map(([key, setting]) => (may(setting) ? `(${key})` : key))
          .join(', '),
      ]),
    );
  });

  it('lists every file of a mission folder, and no other', () => {
    expect(table('file').map(([name]) => unquoted(name))).toEqual(fileNames);
  });

  it('lists every table of a recording with what it holds', () => {
    const listed = Object.fromEntries(table('table').map(([name, what]) => [unquoted(name), what]));
    for (const [name, { what }] of Object.entries(rowTables)) expect(listed[name]).toBe(what);
  });

  it('shows an example mission with nothing wrong', () => {
    const examples = yamlExamples().filter(([, name]) => name !== 'stream.yaml');
    expect(examples.map(([, name]) => name)).toEqual(fileNames.filter((name) => name !== 'stream.yaml'));
    const files = Object.fromEntries(examples.map(([, name, yaml]) => [name, yaml]));
    expect(loadMission(missionFolder(files)).findings).toEqual([]);
  });

  it('shows an example of a stream of its own with nothing wrong', () => {
    const block = (head: string) =>
      text.match(new RegExp(`\`\`\`\\w+\\n${head}\\b[^]*?\`\`\``))?.[0].replace(/^.*|```$/g, '');
    const [, , stream] = yamlExamples().find(([, name]) => name === 'stream.yaml') ?? [];
    const files = {
      ...{ 'flight.proto': block('// flight.proto'), 'stream.yaml': stream, 'limits.yaml': 'limits: []' },
      ...{ 'parameters.yaml': block('# parameters.yaml beside it'), 'derived.yaml': '', 'pages.yaml': '' },
    };
    const { value, findings } = loadMission(missionFolder(files));
    expect(findings).toEqual([]);
    expect(value?.mission.mapping?.parameters).toHaveLength(6);
  });

  it('links only to what is there', () => {
    const links = [...text.matchAll(/\]\(([^)#]+)\)/g)].map(([, link]) => link as string);
    expect(links.filter((link) => !existsSync(new URL(link, root)))).toEqual([]);
  });

  it('states every caution', () => {
    for (const words of [
      'not certified',
      'commands nothing',
      'sends nothing to the aircraft',
      'Voice is primary',
      'voice call',
      'flight manual',
      "range's rules",
      "authority's",
      'never shown as good',
    ])
      expect(text.split('## Cautions')[1]?.replace(/\s+/g, ' ')).toContain(words);
  });

  it('states what sheets and reports say of themselves, word for word', () => {
    const section = text.split('## Cautions')[1]?.replace(/\s+/g, ' ');
    for (const caution of cautions) expect(section).toContain(caution);
  });
});
