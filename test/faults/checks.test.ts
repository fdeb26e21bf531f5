/** A mission whose morning check and control sweep have a fault of each kind: the command lists these, each where it stands. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { groundchase } from '../support/groundchase.ts';

const folder = fileURLToPath(new URL('./checks', import.meta.url));

/** What is wrong, where in readiness.yaml, as which code, what stands at the place, and what the hint says. */
const seeded: [fault: string, place: string, code: Finding['code'], text: string, hint?: string][] = [
  ['too short a gather', '2:11', 'bad-value', '0.1 s'],
  ['a misspelt key', '3:3', 'wrong-shape', 'settel: 1 s', 'did you mean settle?'],
  ['a share above the whole', '4:19', 'bad-value', '140 %'],
  ['a time without its unit', '5:16', 'wrong-shape', '5'],
  ['no days at all', '7:21', 'bad-value', '0'],
  ['a tolerance of nothing', '9:42', 'bad-value', '0 N, noise:'],
  ['a channel given twice', '10:20', 'duplicate-name', 'LINK, zero t'],
  ['a shunt without tolerance', '11:7', 'wrong-shape', '{ parameter:'],
  ['a least noise above the most', '11:57', 'limit-order', '[12 N m, 2 N'],
  ['a tolerance in another unit', '12:42', 'unit-clash', '20 N, noise:'],
  ['a tolerance without shunt', '12:89', 'wrong-shape', '5 N m, count'],
  ['counts of a shunt that is none', '12:122', 'wrong-shape', '0 } }'],
  ['counts of no step', '12:122', 'bad-value', '0 } }'],
  ['a tolerance wider than half of the step', '13:95', 'bad-value', '6 %, counts:'],
  ['counts that are no number', '13:116', 'wrong-shape', 'low } }'],
  ['a channel that is none', '14:20', 'unknown-name', 'POSB, zero t', 'did you mean POS_B?'],
  ['a discrete as channel', '15:20', 'bad-value', 'SKID, zero t'],
  ['a least travel of nothing', '17:11', 'bad-value', '0 %'],
  ['tracking as a speed', '18:13', 'unit-clash', '4 kt'],
  ['a delay longer than is looked for', '19:10', 'bad-value', '2 s'],
  ['a command that is none', '21:36', 'unknown-name', 'CDM, rig: [1', 'did you mean CMD?'],
  ['rig ends the wrong way round', '21:46', 'limit-order', '[100 %, 0 %]'],
  ['a position given twice', '22:20', 'duplicate-name', 'POS_A, comma'],
  ['a channel in another unit', '22:78', 'unit-clash', 'POS_C, POS_D'],
  ['a channel sampled at other times', '22:85', 'bad-value', 'POS_D, POS_A'],
  ['a position compared with itself', '22:92', 'duplicate-name', 'POS_A] }'],
  ['one rig end', '23:32', 'bad-value', '[0 %] }'],
];

it('groundchase check lists what is wrong with the checks before a flight, each with its line and column', async () => {
  const { code, stdout } = await groundchase('check', folder, '--json');
  expect(code).toBe(1);
  const { findings } = JSON.parse(stdout) as { findings: Finding[] };
  const brief = findings.map(
    ({ file, line, column, code: finding }) => `${file.slice(folder.length + 1)}:${line}:${column} ${finding}`,
  );
  expect(brief).toEqual(seeded.map(([, place, finding]) => `readiness.yaml:${place} ${finding}`));
  for (const [i, [fault, place, , text, hint]] of seeded.entries()) {
    const [line, column] = place.split(':') as [string, string];
    const written = readFileSync(`${folder}/readiness.yaml`, 'utf8').split('\n')[Number(line) - 1] as string;
    expect(written.slice(Number(column) - 1).startsWith(text), `${fault}: ${written}`).toBe(true);
    if (hint !== undefined) expect(findings[i]?.hint).toBe(hint);
    expect(findings[i]?.expected).not.toBe('');
  }
});
