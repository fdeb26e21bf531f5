/** A mission whose sequences and checklists are wrong in every way: the command lists these faults, and no other. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { groundchase } from '../support/groundchase.ts';

const folder = fileURLToPath(new URL('./sequences', import.meta.url));

/** What is wrong, where, as which code, and what stands at the place. */
const seeded: [fault: string, place: string, code: Finding['code'], text: string][] = [
  ['a limit that names a sequence there is none of', 'limits.yaml:2:43', 'unknown-name', 'spol,'],
  ['a beginning in a unit of another dimension', 'sequences.yaml:4:16', 'unit-clash', '> 5[kt]'],
  ['two steps of one name', 'sequences.yaml:7:17', 'duplicate-name', 'half way'],
  ['seconds above nothing', 'sequences.yaml:9:9', 'wrong-shape', '{ title: above'],
  ['a measure of a parameter that is none', 'sequences.yaml:10:35', 'unknown-name', 'NS,'],
  ['a window too long', 'sequences.yaml:11:59', 'bad-value', '2 min'],
  ['two sequences of one name', 'sequences.yaml:12:9', 'duplicate-name', 'spool'],
  ['an end that is a speed', 'sequences.yaml:15:11', 'unit-clash', 'NR'],
  ['a time without its unit', 'sequences.yaml:16:53', 'wrong-shape', '20 }'],
  ['silence of no length', 'sequences.yaml:18:5', 'wrong-shape', '{ id: lost-link'],
  ['a cause that is none', 'sequences.yaml:19:49', 'wrong-shape', 'voice gone'],
  ['a checklist of nothing', 'sequences.yaml:19:68', 'bad-value', '[]'],
  ['a condition that breaks off', 'sequences.yaml:20:66', 'formula-syntax', '", steps'],
];

describe('groundchase check on sequences and checklists with seeded faults', () => {
  it('lists exactly those, each with its line and column, and what stands there', async () => {
    const { code, stdout } = await groundchase('check', folder, '--json');
    expect(code).toBe(1);
    const { findings } = JSON.parse(stdout) as { findings: Finding[] };
    const brief = findings.map(
      ({ file, line, column, code: finding }) => `${file.slice(folder.length + 1)}:${line}:${column} ${finding}`,
    );
    expect(brief).toEqual(seeded.map(([, place, finding]) => `${place} ${finding}`));
    for (const [fault, place, , text] of seeded) {
      const [file, line, column] = place.split(':') as [string, string, string];
      const written = readFileSync(`${folder}/${file}`, 'utf8').split('\n')[Number(line) - 1] as string;
      expect(written.slice(Number(column) - 1).startsWith(text), `${fault}: ${written}`).toBe(true);
    }
  });
});
