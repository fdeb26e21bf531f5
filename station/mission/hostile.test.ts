/** Files that nobody writes by accident: each ends soon, in findings, whatever it holds. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';
import { caps, Source } from './source.ts';

const codes = (text: string) => new Source('x.yaml', text).findings.map(({ code, line }) => `${code}:${line}`);
/** Longest time for a file of a few hundred kilobytes, milliseconds: generous, but far from a hang. */
const SOON = 5000;

describe('hostile mission files', () => {
  const many = 60_000;
  const lines = (count: number, of: (i: number) => string) => Array.from({ length: count }, (_, i) => of(i)).join('\n');
  const texts: Record<string, string> = {
    'open brackets': '['.repeat(many),
    'nested brackets': '['.repeat(1000) + ']'.repeat(1000),
    'dashes in a line': '- '.repeat(many),
    'keys in a line': 'a: '.repeat(many),
    'question marks': '? '.repeat(many),
    'colons in a line': ': '.repeat(many),
    'nested indentation': lines(1000, (i) => `${' '.repeat(i)}a:`),
    'too many keys': lines(many / 10, (i) => `k${i}: x`),
    'too long a list': '- 1\n'.repeat(many),
    'an unclosed quote': `a: "${'x\n '.repeat(many)}`,
    'closing braces': '}'.repeat(many / 10),
    'many documents': '---\n'.repeat(many / 10),
    'a list as key': '? [a, b]\n: c\n',
    'an alias of itself': 'a: &a [*a]\n',
    'a wrong directive': '%YAML\n'.repeat(1000),
    'an unknown tag': 'a: !!js/function "f"\n',
    'tabs for indentation': 'a:\n\t- x\n',
    'a key twice': 'a: 1\na: 2\n',
    __proto__: '__proto__: {polluted: 1}\n',
    constructor: 'a: {constructor: {prototype: {polluted: 1}}}\n',
  };

  it.each(Object.keys(texts))('%s: findings, soon', (name) => {
    const start = performance.now();
    const found = codes(texts[name] as string);
    expect(found.length).toBeGreaterThan(0);
    expect(found.length).toBeLessThanOrEqual(caps.findings);
    expect(performance.now() - start).toBeLessThan(SOON);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  });

  it('an alias bomb is refused before it grows', () => {
    const levels = lines(
      12,
      (i) =>
        `k${i}: &k${i} [${Array(9)
          .fill(i === 0 ? 'x' : `*k${i - 1}`)
          .join(', ')}]`,
    );
    expect(codes(levels)).toEqual(['yaml-syntax:1']);
  });

  it('a few aliases are a convenience', () => {
    const source = new Source('x.yaml', 'a: &a {x: 1}\nb: *a\n');
    expect(source.findings).toEqual([]);
    expect(source.data).toEqual({ a: { x: 1 }, b: { x: 1 } });
  });

  it('ten megabytes, a folder, a pipe or bytes that are no text in the place of a file are findings', () => {
    const folder = missionFolder();
    const path = join(folder, 'derived.yaml');
    const trouble = () => {
      const { findings } = loadMission(folder);
      return findings.map(({ code, found }) => `${code}: ${found}`);
    };
    writeFileSync(path, Buffer.alloc(10 << 20, 'derived: []\n'));
    expect(trouble()).toEqual([`file-missing: ${10 << 20} bytes`]);
    writeFileSync(path, Buffer.from([0x64, 0xff, 0xfe, 0x0a]));
    expect(trouble()).toEqual(['file-missing: bytes that are not UTF-8']);
    rmSync(path);
    mkdirSync(path);
    expect(trouble()).toEqual(['file-missing: something that is not a file']);
    rmSync(path, { recursive: true });
    execFileSync('mkfifo', [path]);
    expect(trouble()).toEqual(['file-missing: something that is not a file']);
  });

  it('a file full of wrong items gives no more findings than anybody reads', () => {
    const parameters = `${goodFiles['parameters.yaml']}${'  - {id: 1}\n'.repeat(5000)}`;
    const { findings } = loadMission(missionFolder({ 'parameters.yaml': parameters }));
    expect(findings.length).toBe(caps.findings);
  });

  it('any cut or changed byte of a good file gives a mission or findings, never an exception', () => {
    const names = Object.keys(goodFiles) as (keyof typeof goodFiles)[];
    const edit = fc.record({
      name: fc.constantFrom(...names),
      at: fc.double({ min: 0, max: 1, noNaN: true }),
      cut: fc.nat(12),
      put: fc.oneof(
        fc.string({ maxLength: 4 }),
        fc.constantFrom(
          '__proto__',
          '.inf',
          '-.inf',
          '.nan',
          '1e999',
          '&a',
          '*a',
          '[',
          '{',
          '"',
          '\n',
          '\t',
          '~',
          '<<',
          '0x7f',
          '🚁',
        ),
      ),
    });
    fc.assert(
      fc.property(edit, ({ name, at, cut, put }) => {
        const text = goodFiles[name];
        const from = Math.floor(at * text.length);
        const changed = text.slice(0, from) + put + text.slice(from + cut);
        const { value, findings } = loadMission(missionFolder({ [name]: changed || ' ' }));
        expect(value === undefined).toBe(findings.length > 0);
        for (const finding of findings) expect(finding.line).toBeGreaterThanOrEqual(0);
        // whatever is accepted is plain: it survives the flight log's JSON
        if (value) expect(JSON.parse(JSON.stringify(value.mission))).toEqual(value.mission);
      }),
      { seed: 20261125, numRuns: 250 },
    );
  });
});
