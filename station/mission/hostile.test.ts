/** Files that nobody writes by accident: each ends soon, in findings, whatever it holds. */
import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { goodFiles, type MissionFiles, missionFolder } from '../../test/support/mission-folder.ts';
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

  const parametersOf = (count: number, more = '') =>
    `groups:\n  - {id: main, rate: 100}\nparameters:\n${lines(
      count,
      (i) => `  - {id: P${i}, name: Thing ${i}, unit: "%", group: main, format: i16${more}}`,
    )}\n`;
  const alone = { 'derived.yaml': '', 'limits.yaml': 'limits: []\n', 'pages.yaml': '' };
  const derivedOf = (count: number, formula: (i: number) => string, driver = (_: number) => 'NR') =>
    `derived:\n${lines(
      count,
      (i) => `  - {id: D${i}, name: d, unit: "%", driven by: ${driver(i)}, formula: ${JSON.stringify(formula(i))}}`,
    )}\n`;
  /** `code: found` of the first finding, how many there are, or the mission; and it must come soon. */
  const timed = (files: MissionFiles, within = SOON) => {
    const folder = missionFolder(files);
    const start = performance.now();
    const { value, findings } = loadMission(folder);
    const took = performance.now() - start;
    expect(took).toBeLessThan(within);
    const [first] = findings;
    return { mission: value?.mission, count: findings.length, first: first && `${first.code}: ${first.found}`, took };
  };

  it('as many parameters as a file may hold are loaded in seconds; a hundred thousand are told to be too many', () => {
    const most = timed({ ...alone, 'parameters.yaml': parametersOf(caps.list) }, 30_000);
    expect(most.mission?.parameters.length).toBe(caps.list);
    console.info(`${caps.list} parameters loaded in ${Math.round(most.took)} ms`);
    const short = lines(100_000, () => '  - {}');
    expect(timed({ ...alone, 'parameters.yaml': `groups: []\nparameters:\n${short}\n` })).toMatchObject({
      count: 1,
      first: 'yaml-syntax: 100000 entries',
    });
    expect(timed({ ...alone, 'parameters.yaml': parametersOf(100_000) }).first).toMatch(/^file-missing: \d+ bytes$/);
  }, 60_000);

  it('thousands of formulas that need each other, in a row or in a circle, overflow nothing', () => {
    const many = 5000;
    const down = (i: number) => (i === many - 1 ? 'NR' : `D${i + 1} + 1[%]`);
    expect(timed({ 'derived.yaml': derivedOf(many, down) }, 30_000).mission?.derived.length).toBe(many);
    const drivers = (i: number) => (i === many - 1 ? 'NR' : `D${i + 1}`);
    expect(timed({ 'derived.yaml': derivedOf(many, () => 'NR', drivers) }, 30_000).mission?.derived.length).toBe(many);
    const circle = timed({ 'derived.yaml': derivedOf(many, (i) => `D${(i + 1) % many}`) }, 30_000);
    expect(circle).toMatchObject({
      count: 1,
      first: expect.stringMatching(/^formula-cycle: D0 needs D1 .* more\) needs/),
    });
    const round = timed(
      {
        'derived.yaml': derivedOf(
          many,
          () => 'NR',
          (i) => `D${(i + 1) % many}`,
        ),
      },
      30_000,
    );
    expect(round).toMatchObject({ count: caps.findings, first: 'formula-cycle: D0 driving itself' });
  }, 120_000);

  it.each([
    ['open parentheses', '('.repeat(1990)],
    ['minus signs', `${'-'.repeat(1990)}NR`],
    ['words "not"', `${'not '.repeat(490)}NR`],
    ['choices without an end', `${'if NR>0[%] then '.repeat(60)}NR`],
    ['choices in conditions', `${'if '.repeat(600)}NR`],
    ['open calls', 'abs('.repeat(490)],
    ['powers', `${'2^'.repeat(900)}2*NR`],
    ['a sum', `${'NR+'.repeat(650)}NR`],
  ])('a formula of many %s is a finding, soon', (_, formula) => {
    expect(timed({ 'derived.yaml': derivedOf(1, () => formula) })).toMatchObject({
      count: 1,
      first: expect.stringMatching(/^formula-syntax: /),
    });
  });

  it('many parentheses are read as far as the stack reaches, and are a finding beyond', () => {
    const nested = (count: number) => derivedOf(1, () => `${'('.repeat(count)}NR${')'.repeat(count)}`);
    expect(timed({ 'derived.yaml': nested(50) }).count).toBe(0);
    const { count, mission } = timed({ 'derived.yaml': nested(990) });
    expect(count).toBe(mission ? 0 : 1);
  });

  it('a formula longer than allowed is a finding, and one of just that length is read', () => {
    const long = (length: number) => `NR${' '.repeat(length - 2)}`;
    expect(timed({ 'derived.yaml': derivedOf(1, () => long(2000)) }).mission?.derived.length).toBe(1);
    expect(timed({ 'derived.yaml': derivedOf(1, () => long(2001)) })).toMatchObject({ count: 1 });
    expect(timed({ 'derived.yaml': derivedOf(1, () => long(1_000_000)) })).toMatchObject({ count: 1 });
  });

  it('thousands of misspelt names give no more findings and hints than anybody reads', () => {
    const nobody = {
      'derived.yaml': derivedOf(
        5000,
        (i) => `X${i}`,
        (i) => `Y${i}`,
      ),
    };
    expect(timed(nobody, 30_000).count).toBe(caps.findings);
    expect(timed({ 'derived.yaml': derivedOf(5000, (i) => `X${i}`) }, 30_000).count).toBe(caps.findings);
  }, 60_000);

  it.each(['__proto__', 'constructor', 'toString', 'hasOwnProperty', 'valueOf', 'prototype'])(
    'the name %s is nothing known, wherever it stands',
    (name) => {
      const edits: [keyof typeof goodFiles, string, string][] = [
        ['parameters.yaml', 'id: NR\n', `id: ${name}\n`],
        ['parameters.yaml', 'id: main,', `id: ${name},`],
        ['parameters.yaml', 'group: main, format: f32', `group: ${name}, format: f32`],
        ['parameters.yaml', 'word: DISCRETES', `word: ${name}`],
        ['parameters.yaml', 'decimals: 1', `plausible: {while: ${name}}`],
        ['parameters.yaml', 'decimals: 1', `${name}: 1`],
        ['parameters.yaml', 'unit: kt', `unit: ${name}`],
        ['derived.yaml', 'formula: IAS', `formula: ${name}`],
        ['derived.yaml', 'formula: IAS', `formula: ${name}(IAS)`],
        ['derived.yaml', 'formula: IAS', `formula: IAS + 1[${name}]`],
        ['derived.yaml', 'driven by: IAS', `driven by: ${name}`],
        ['limits.yaml', 'parameter: NR', `parameter: ${name}`],
        ['limits.yaml', 'while: SKID', `while: ${name}`],
        ['limits.yaml', 'id: nr-low', `id: ${name}`],
        ['limits.yaml', 'watcher: handling qualities', `watcher: ${name}`],
        ['pages.yaml', 'parameters: [NR, IAS]', `parameters: [NR, ${name}]`],
        ['pages.yaml', 'kind: states', `kind: ${name}`],
        ['mission.yaml', 'id: td', `id: ${name}`],
        ['mission.yaml', 'position: test director', `position: ${name}`],
      ];
      for (const [file, right, instead] of edits) {
        expect(goodFiles[file]).toContain(right);
        const { findings } = loadMission(missionFolder({ [file]: goodFiles[file].replace(right, instead) }));
        // a group or parameter that others name leaves those without one; nothing is ever taken for known
        expect(findings.length, `${file}: ${instead}`).toBeGreaterThan(0);
        for (const finding of findings) expect(finding.line, JSON.stringify(finding)).toBeGreaterThan(0);
      }
      expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
    },
  );

  it.each(['.nan', '.inf', '-.inf', '1e999', '-1e999'])('%s is no number anywhere in a mission', (number) => {
    const edits: [keyof typeof goodFiles, string, string][] = [
      ['limits.yaml', 'caution: 97', `caution: ${number}`],
      ['limits.yaml', '95 %', `"${number} %"`],
      ['limits.yaml', 'hysteresis: 0.5', `hysteresis: ${number}`],
      ['limits.yaml', 'persistence: 0.5 s', `persistence: "${number} s"`],
      ['parameters.yaml', 'range: [0, 130]', `range: [${number}, 130]`],
      ['parameters.yaml', 'polynomial: [0, 0.01]', `polynomial: [0, ${number}]`],
      ['parameters.yaml', '[1000, 50]', `[1000, ${number}]`],
      ['parameters.yaml', 'rate: 100', `rate: ${number}`],
      ['parameters.yaml', 'decimals: 1', `decimals: ${number}`],
      ['parameters.yaml', 'decimals: 1', `plausible: {fastest: ${number}}`],
      ['pages.yaml', 'width: 0.7', `width: ${number}`],
    ];
    for (const [file, right, instead] of edits) {
      expect(goodFiles[file]).toContain(right);
      const { value, findings } = loadMission(missionFolder({ [file]: goodFiles[file].replace(right, instead) }));
      expect(value, `${file}: ${instead}`).toBeUndefined();
      expect(findings.map(({ line }) => line > 0)).toEqual([true]);
    }
  });

  it('a rate too small or too large to have a period is a finding, and what stands on its group is not blamed', () => {
    for (const rate of ['1e-320', '0.0001', '1e9', '-1', '0'])
      expect(
        timed({ 'parameters.yaml': goodFiles['parameters.yaml'].replace('rate: 100', `rate: ${rate}`) }),
      ).toMatchObject({ count: 1, first: expect.stringMatching(/^(bad-value|wrong-shape): /) });
  });

  it('links are followed to files only: not in circles, not to devices, not to nowhere', () => {
    const folder = missionFolder();
    const path = join(folder, 'derived.yaml');
    const trouble = () => loadMission(folder).findings.map(({ code, found }) => `${code}: ${found}`);
    const link = (to: string) => {
      rmSync(path);
      symlinkSync(to, path);
    };
    link(path);
    expect(trouble()).toEqual(['file-missing: a file that cannot be opened (ELOOP)']);
    link('/dev/zero');
    expect(trouble()).toEqual(['file-missing: something that is not a file']);
    link('/nowhere/at/all');
    expect(trouble()).toEqual(['file-missing: a file that cannot be opened (ENOENT)']);
    link(folder);
    expect(trouble()).toEqual(['file-missing: something that is not a file']);
    writeFileSync(join(folder, 'elsewhere.txt'), goodFiles['derived.yaml']);
    link(join(folder, 'elsewhere.txt'));
    expect(trouble()).toEqual([]);
  });

  it('a file where a folder should be, and no folder at all, are findings', () => {
    const file = join(missionFolder(), 'mission.yaml');
    for (const place of [file, '/nowhere/at/all', `${file}\0`]) {
      const { value, findings } = loadMission(place);
      expect(value).toBeUndefined();
      expect(findings.map(({ code }) => code)).toEqual(['file-missing']);
    }
  });

  it('any bytes in the place of a file give findings, never an exception', () => {
    const names = Object.keys(goodFiles) as (keyof typeof goodFiles)[];
    const bytes = fc.oneof(
      fc.uint8Array({ minLength: 1, maxLength: 2000 }),
      fc.string({ unit: 'binary', minLength: 1 }),
    );
    fc.assert(
      fc.property(fc.constantFrom(...names), bytes, (name, rubbish) => {
        const folder = missionFolder();
        writeFileSync(join(folder, name), rubbish);
        const { value, findings } = loadMission(folder);
        expect(value === undefined).toBe(findings.length > 0);
      }),
      { seed: 20261126, numRuns: 150 },
    );
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
