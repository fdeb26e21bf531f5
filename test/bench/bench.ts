/** What `groundchase bench` runs: the parts asked for, as a table or as JSON. */
import { checkPart } from './check.ts';
import { decodePart } from './decode.ts';
import { derivePart } from './derive.ts';
import { machine, type Part } from './measure.ts';
import { pipelinePart } from './pipeline.ts';
import { reportPart } from './report.ts';

const parts: Record<string, (rounds: number) => Promise<Part>> = {
  decode: decodePart,
  derive: derivePart,
  check: checkPart,
  pipeline: pipelinePart,
  report: reportPart,
};

const [pattern = 'all', rounds = '7', form = 'table'] = process.argv.slice(2);
const chosen = Object.entries(parts).filter(([name]) => pattern === 'all' || name === pattern);
if (chosen.length === 0) {
  console.error(`no part ${pattern}; there are: ${Object.keys(parts).join(', ')}`);
  process.exit(2);
}
const shown = (value: number): string => (value < 1e5 ? value.toFixed(1) : `${(value / 1e6).toFixed(1)} M`);
const results: Part[] = [];
for (const [, run] of chosen) results.push(await run(Number(rounds)));

if (form === 'json') console.log(JSON.stringify({ machine: machine(), parts: results }));
else {
  const { cpu, cores, node } = machine();
  console.log(`${cpu}, ${cores} cores, node ${node}; median of ${rounds} rounds`);
  for (const { part, rows } of results) {
    console.log(`\n${part}`);
    for (const row of rows) {
      const spread = `${row.spread[0].toFixed(3)} to ${row.spread[1].toFixed(3)}`;
      const judged = row.target === undefined ? '' : `  target ${row.target} ${row.met ? 'met' : 'not met'}`;
      const figures = `${shown(row.value)} ${row.unit}, baseline ${shown(row.baseline)}`;
      console.log(`  ${row.name.padEnd(36)} ${figures}, ratio ${row.ratio.toFixed(3)} (${spread})${judged}`);
    }
  }
}
process.exit(results.some((part) => part.rows.some((row) => row.met === false)) ? 1 : 0);
