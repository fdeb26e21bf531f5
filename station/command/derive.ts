/** `groundchase derive`: what the station makes of the formula of a derived parameter. */
import { nearestName } from '../../protocol/finding.ts';
import { explainDerived } from '../pipeline.ts';
import { type Command, exitCode, jsonOption, print, printJson, Trouble } from './command.ts';
import { rehearsalMission, usableMission } from './running.ts';

export const command: Command = {
  name: 'derive',
  summary: 'explain how a derived parameter is computed',
  usage: '',
  details: `Prints the formula as it was understood: its inputs and their rates, the tree with the unit of every part, every
conversion of units, and the code that runs.

Example: groundchase derive --explain DENSITY_ALT`,
  options: [
    { name: 'explain', kind: 'text', value: 'NAME', required: true, summary: 'the derived parameter' },
    { name: 'mission', kind: 'text', value: 'DIR', default: rehearsalMission, summary: 'its mission folder' },
    jsonOption,
  ],
  async run(args) {
    const loaded = usableMission(args.text('mission'));
    if (loaded === undefined) return exitCode.finding;
    const { mission } = loaded;
    const id = args.text('explain');
    const derived = mission.derived.find((one) => one.id === id);
    if (derived === undefined) throw new Trouble(unknown(id, mission.derived));
    const text = explainDerived(mission, id);
    if (args.flag('json')) printJson({ derived, explanation: text.split('\n') });
    else print(text);
    return exitCode.success;
  },
};

function unknown(id: string, list: readonly { id: string }[]): string {
  const ids = list.map((one) => one.id);
  const near = nearestName(id, ids);
  const hint = near === undefined ? `there are: ${ids.join(', ')}` : `did you mean ${near}?`;
  return `no derived parameter is called ${id}; ${hint}`;
}
