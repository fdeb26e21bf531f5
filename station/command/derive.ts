/** `groundchase derive`: what the station makes of the formula of a derived parameter. */
import { nearestName } from '../../protocol/finding.ts';
import { explainDerived, formulaFunctions } from '../stages.ts';
import { type Command, exitCode, jsonOption, print, printJson, Trouble, WrongUse } from './command.ts';
import { rehearsalMission, usableMission } from './running.ts';

export const command: Command = {
  name: 'derive',
  summary: 'explain how a derived parameter is computed, or list the functions of formulas',
  usage: '',
  details: `Prints the formula as it was understood: its inputs and their rates, the tree with the unit of every part, every
conversion of units, and the code that runs. Or lists the functions a formula may call, with units, range and source.

Examples: groundchase derive --explain DENSITY_ALT
          groundchase derive --functions`,
  options: [
    { name: 'explain', kind: 'text', value: 'NAME', summary: 'the derived parameter' },
    { name: 'functions', kind: 'flag', summary: 'list the functions of the formula language' },
    { name: 'mission', kind: 'text', value: 'DIR', default: rehearsalMission, summary: 'its mission folder' },
    jsonOption,
  ],
  async run(args) {
    const id = args.text('explain');
    if (args.flag('functions')) {
      if (id !== '') throw new WrongUse('--explain and --functions are asked for one at a time');
      if (args.flag('json')) printJson({ functions: formulaFunctions() });
      else print(formulaFunctions().map(functionLines).join('\n'));
      return exitCode.success;
    }
    if (id === '') throw new WrongUse('give --explain NAME or --functions');
    const loaded = usableMission(args.text('mission'));
    if (loaded === undefined) return exitCode.finding;
    const { mission } = loaded;
    const derived = mission.derived.find((one) => one.id === id);
    if (derived === undefined)
      throw new Trouble(
        unknown(
          id,
          mission.derived.filter(({ condition }) => !condition),
        ),
      );
    const text = explainDerived(mission, id);
    if (args.flag('json')) printJson({ derived, explanation: text.split('\n') });
    else print(text);
    return exitCode.success;
  },
};

function functionLines({ call, unit, gives, detail, source }: ReturnType<typeof formulaFunctions>[number]): string {
  const lines = [gives, detail, `source: ${source}`].filter((line) => line !== '').map((line) => `  ${line}`);
  return [`${call} -> ${unit}`, ...lines].join('\n');
}

function unknown(id: string, list: readonly { id: string }[]): string {
  const ids = list.map((one) => one.id);
  const near = nearestName(id, ids);
  const hint = near === undefined ? `there are: ${ids.join(', ')}` : `did you mean ${near}?`;
  return `no derived parameter is called ${id}; ${hint}`;
}
