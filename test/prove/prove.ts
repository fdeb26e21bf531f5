/**
 * What `npm run prove` runs: proofs too long for `npm test`. Each prints its seeds and totals; the command ends with 1 when
 * one of them fails.
 */
import { parseArgs } from 'node:util';
import { proveChecks } from './checks.ts';
import type { Effort } from './effort.ts';
import { proveLimits } from './limits.ts';
import { proveMutation } from './mutation.ts';
import { provePoints } from './points.ts';
import { proveTones } from './tones.ts';

const proofs: Record<string, { what: string; amount: number; run: (effort: Effort) => Promise<boolean> }> = {
  limits: { what: 'limits and alarms against the slow referees, AMOUNT samples', amount: 1e7, run: proveLimits },
  tones: { what: 'clean vibration through the off-harmonic limit, AMOUNT samples', amount: 3.6e7, run: proveTones },
  points: { what: 'points good or to repeat against the slow judge, AMOUNT flights', amount: 2e4, run: provePoints },
  checks: {
    what: 'morning check of the rehearsal aircraft: every fault, AMOUNT healthy mornings',
    amount: 50,
    run: proveChecks,
  },
  mutation: { what: 'mutations of the limit and alarm modules that tests catch', amount: 0, run: proveMutation },
};

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { seed: { type: 'string' }, amount: { type: 'string' }, help: { type: 'boolean' } },
});
const unknown = positionals.filter((name) => !Object.hasOwn(proofs, name));
if (values.help || unknown.length > 0) {
  for (const name of unknown) console.error(`there is no proof ${name}`);
  console.error('npm run prove [PART ...] [-- --seed N --amount N]');
  for (const [name, { what, amount }] of Object.entries(proofs))
    console.error(`  ${name}: ${what} (${amount || 'all'})`);
  process.exit(values.help ? 0 : 2);
}

// a seed that nobody chose: printed, so that a failure can be had again
const seed = Number(values.seed ?? Date.now() % 1e9);
let failed = 0;
for (const name of positionals.length > 0 ? positionals : Object.keys(proofs)) {
  const { run, amount } = proofs[name] as (typeof proofs)[string];
  console.log(`proof ${name}, seed ${seed}`);
  const held = await run({ seed, amount: Number(values.amount ?? amount) });
  console.log(`proof ${name}: ${held ? 'holds' : 'FAILED'}`);
  if (!held) failed++;
}
process.exit(failed > 0 ? 1 : 0);
