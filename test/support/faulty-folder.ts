/** A mission folder with faults put into it on purpose: `groundchase check` must list these and nothing else. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { groundchase } from './groundchase.ts';

/** What is wrong, where (`file:line:column`), as which code, what stands at the place, and what the hint says. */
export type Seeded = readonly [fault: string, place: string, code: Finding['code'], text: string, hint?: string];

/** `name`: of a folder in test/faults. The faults are told in this order, with their hints, and each place bears its text. */
export async function expectFaults(name: string, seeded: readonly Seeded[]): Promise<void> {
  const folder = fileURLToPath(new URL(`../faults/${name}`, import.meta.url));
  const { code, stdout } = await groundchase('check', folder, '--json');
  expect(code).toBe(1);
  const { findings } = JSON.parse(stdout) as { findings: Finding[] };
  const brief = findings.map(
    ({ file, line, column, code: finding }) => `${file.slice(folder.length + 1)}:${line}:${column} ${finding}`,
  );
  expect(brief).toEqual(seeded.map(([, place, finding]) => `${place} ${finding}`));
  for (const [i, [fault, place, , text, hint]] of seeded.entries()) {
    const [file, line, column] = place.split(':') as [string, string, string];
    const written = readFileSync(`${folder}/${file}`, 'utf8').split('\n')[Number(line) - 1] as string;
    expect(written.slice(Number(column) - 1).startsWith(text), `${fault}: ${written}`).toBe(true);
    expect(findings[i]?.expected).not.toBe('');
    if (hint !== undefined) expect(findings[i]?.hint, fault).toBe(hint);
  }
}
