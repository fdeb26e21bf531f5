/** `groundchase bench`: runs the benchmarks of test/bench as a child process, so that nothing here disturbs them. */
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Command, jsonOption, Trouble } from './command.ts';

export const command: Command = {
  name: 'bench',
  summary: 'measure the product against bare baselines in the same run',
  usage: '[PART]',
  details: `Parts: decode, derive, check, pipeline, report; without PART all of them. Each row is the median of several rounds; the product and its
baseline run in turn, so the ratio holds when the machine drifts.`,
  options: [
    { name: 'rounds', kind: 'number', whole: true, min: 1, max: 99, default: 7, summary: 'rounds of each row' },
    jsonOption,
  ],
  async run(args) {
    const script = fileURLToPath(new URL('../../test/bench/bench.ts', import.meta.url));
    if (!existsSync(script)) throw new Trouble(`the benchmarks are not here: ${script}`);
    const words = [args.operand || 'all', String(args.number('rounds')), args.flag('json') ? 'json' : 'table'];
    const child = spawn(process.execPath, ['--expose-gc', '--import', 'tsx', script, ...words], { stdio: 'inherit' });
    return await new Promise<number>((resolve, reject) => {
      child.on('error', reject);
      child.on('exit', (code) => resolve(code ?? 1));
    });
  },
};
