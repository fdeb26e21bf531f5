/** `groundchase brief`: the day's sheets for the printer. */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { findingText } from '../../protocol/finding.ts';
import { sheetId } from '../../protocol/sheet-id.ts';
import { briefSheet } from '../../replay/report/brief-sheet.ts';
import { stopSheet } from '../../replay/report/stop-sheet.ts';
import { loadMission } from '../mission/load.ts';
import { type Arguments, type Command, exitCode, jsonOption, print, printJson, say } from './command.ts';

export const command: Command = {
  name: 'brief',
  summary: 'write the brief sheet and the stop sheet of a mission folder, for the printer',
  usage: 'DIR',
  details:
    'Each is one file of HTML for A4 that needs neither network nor station. Both bear the sheet id that every screen shows while this baseline is in force.',
  options: [
    jsonOption,
    { name: 'out', kind: 'text', value: 'DIR', required: true, summary: 'folder they are written into' },
  ],
  async run(args: Arguments) {
    const { value, findings } = loadMission(args.operand);
    if (value === undefined) {
      if (args.flag('json')) printJson({ folder: args.operand, findings });
      else for (const finding of findings) print(findingText(finding));
      say(`${findings.length} ${findings.length === 1 ? 'finding' : 'findings'}: nothing is written`);
      return exitCode.finding;
    }
    const { mission } = value;
    const folder = args.text('out');
    mkdirSync(folder, { recursive: true });
    const written = { 'brief-sheet.html': briefSheet(mission), 'stop-sheet.html': stopSheet(mission) };
    const files = Object.entries(written).map(([name, { html }]) => {
      const path = join(folder, name);
      writeFileSync(path, html);
      return path;
    });
    const sheet = sheetId(mission.baselineId);
    if (args.flag('json')) printJson({ folder: args.operand, baseline: mission.baselineId, sheet, files });
    else {
      print(`sheet: ${sheet}`);
      print(`baseline: ${mission.baselineId}`);
      for (const file of files) print(`written: ${file}`);
    }
    return exitCode.success;
  },
};
