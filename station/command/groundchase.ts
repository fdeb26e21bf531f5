/** The command line: names the commands and hands over. Each is loaded only when it is called, so that start is fast. */
import { readFileSync } from 'node:fs';
import { nearestName } from '../../protocol/finding.ts';
import { StartError } from '../start-error.ts';
import { type Command, exitCode, helpText, print, readArguments, say, Trouble, WrongUse } from './command.ts';

/** In the order a team meets them. */
const commands: Record<string, () => Promise<{ command: Command }>> = {
  rehearse: () => import('./rehearse.ts'),
  live: () => import('./live.ts'),
  send: () => import('./send.ts'),
  listen: () => import('./listen.ts'),
  account: () => import('./account.ts'),
  replay: () => import('./replay.ts'),
  info: () => import('./info.ts'),
  report: () => import('./report.ts'),
  hold: () => import('./hold.ts'),
  remove: () => import('./remove.ts'),
  import: () => import('./import.ts'),
  check: () => import('./check.ts'),
  brief: () => import('./brief.ts'),
  derive: () => import('./derive.ts'),
  bench: () => import('./bench.ts'),
};

/** Runs one call and gives its exit code. */
export async function main(words: readonly string[]): Promise<number> {
  const [name, ...rest] = words;
  if (name === undefined || name === '--help' || name === '-h' || name === 'help') {
    const text = await listText();
    if (name === undefined) say(text);
    else print(text);
    return name === undefined ? exitCode.wrongUse : exitCode.success;
  }
  if (name === '--version') {
    print(versionText());
    return exitCode.success;
  }
  const load = Object.hasOwn(commands, name) ? commands[name] : undefined;
  if (load === undefined) {
    const near = nearestName(name, Object.keys(commands));
    say(`groundchase: unknown command ${name}${near === undefined ? '' : `; did you mean ${near}?`}`);
    say('groundchase --help lists all commands');
    return exitCode.wrongUse;
  }
  const { command } = await load();
  const end = rest.indexOf('--');
  const options = end < 0 ? rest : rest.slice(0, end);
  if (options.includes('--help') || options.includes('-h')) {
    print(helpText(command));
    return exitCode.success;
  }
  try {
    return await command.run(readArguments(command, rest));
  } catch (error) {
    return failed(command.name, error);
  }
}

/** Tells what went wrong, with the stack only where the fault is the program's own. */
function failed(name: string, error: unknown): number {
  if (error instanceof WrongUse) {
    say(`groundchase ${name}: ${error.message}`);
    say(`groundchase ${name} --help shows how it is used`);
    return exitCode.wrongUse;
  }
  const isKnown = error instanceof Trouble || error instanceof StartError;
  const fromOutside = isKnown || (error instanceof Error && 'syscall' in error);
  if (fromOutside) say(`groundchase ${name}: ${(error as Error).message}`);
  else say(`groundchase ${name}: a fault of the program\n${error instanceof Error ? error.stack : String(error)}`);
  return exitCode.finding;
}

async function listText(): Promise<string> {
  const loaded = await Promise.all(Object.values(commands).map((load) => load()));
  const width = Math.max(...loaded.map(({ command }) => command.name.length));
  return [
    'groundchase COMMAND [operands] [options]\n',
    'Telemetry-room tool for a flight test: decision support for a trained team. It is not certified and commands nothing.\n',
    'Commands:',
    ...loaded.map(({ command }) => `  ${command.name.padEnd(width)}  ${command.summary}`),
    '\ngroundchase COMMAND --help shows operands and options, with units and defaults.',
    'Exit code: 0 success, 1 a finding or trouble, 2 wrong use.',
  ].join('\n');
}

function versionText(): string {
  const text = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
  return (JSON.parse(text) as { version: string }).version;
}

// a reader that closes early (`| head`) is no fault
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(exitCode.success);
  throw error;
});

process.exitCode = await main(process.argv.slice(2));
// the channel to whoever started this process would keep it alive
if (process.connected) process.disconnect();
