import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { type Finding, findingCodes } from '../../protocol/finding.ts';
import { goodFiles, type MissionFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const load = (changed: MissionFiles = {}) => {
  const { value, findings } = loadMission(missionFolder(changed));
  if (value === undefined) throw new Error(findings.map((finding) => JSON.stringify(finding)).join('\n'));
  return value;
};

/** `file:line code`, without the folder. */
const brief = ({ file, line, code }: Finding) => `${file.split('/').at(-1)}:${line} ${code}`;

const findingsOf = (changed: MissionFiles) => loadMission(missionFolder(changed)).findings as Finding[];

describe('a mission folder with nothing wrong', () => {
  it('becomes the mission, in the units of its parameters', () => {
    const { mission, files } = load();
    expect(mission.groups).toEqual([
      { id: 'main', rate: 100, staleAfter: 500_000 },
      { id: 'slow', rate: 2, staleAfter: 4_000_000 },
    ]);
    expect(mission.parameters[0]).toMatchObject({
      id: 'NR',
      calibration: { kind: 'polynomial', coefficients: [0, 0.01] },
      calibrationSource: 'sheet 1',
      calibrationDate: '2026-10-01',
      physicalRange: [0, 130],
    });
    expect(mission.parameters[2]?.calibration).toEqual({ kind: 'table', counts: [0, 1000], values: [-50, 50] });
    expect(mission.limits[0]).toMatchObject({
      below: { caution: 97, warning: 95 },
      persistence: 500_000,
      hysteresis: 0.5,
      timeToConsequence: 5,
      place: { file: 'limits.yaml', line: 2, column: 5 },
    });
    // 1 kt = 1852/3600 m/s by definition (NIST SP 811, appendix B.8)
    expect(mission.limits[1]?.above?.caution).toBeCloseTo((55 * 3600) / 1852, 9);
    expect(mission.pages[0]?.rows[0]?.elements[0]).toMatchObject({ kind: 'strip chart', span: 30, width: 0.7 });
    expect(mission.derived[0]?.place).toEqual({ file: 'derived.yaml', line: 6, column: 14 });
    expect(files.map(({ name }) => name)).toEqual(Object.keys(goodFiles));
    expect(files[0]?.text).toBe(goodFiles['mission.yaml']);
  });

  const withParameters = (...lines: string[]) => ({
    'parameters.yaml': `${goodFiles['parameters.yaml']}${lines.map((line) => `  - {${line}}\n`).join('')}`,
  });
  const common = 'name: x, unit: kt, group: main';

  it('takes counts out of words, smooth tables and what makes a value plausible as they are written', () => {
    const { mission } = load(
      withParameters(
        `id: OWN, ${common}, format: u16, calibration: {bits: {width: 12, coding: two's complement}, polynomial: [0, 2]}`,
        `id: WORD, name: x, unit: "1", group: main, format: u16`,
        `id: BITS, ${common}, calibration: {bits: {word: WORD, mask: 0x0FF0, coding: offset binary}, polynomial: [0, 2]}`,
        `id: HOLES, name: x, unit: "1", group: main, calibration: {bits: {word: WORD, mask: 0xA0}}`,
        `id: SMOOTH, ${common}, format: i16, calibration: {table: [[0, 0], [9, 1]], between points: monotone cubic}`,
        `id: JUDGED, ${common}, format: f32, description: Watch it, plausible: {while: SKID, fastest: 10 m/s}`,
      ),
    );
    const of = (id: string) => mission.parameters.find((one) => one.id === id);
    const twice = { kind: 'polynomial', coefficients: [0, 2] };
    expect(of('OWN')).toMatchObject({ bits: { shift: 0, width: 12, coding: "two's complement" }, calibration: twice });
    expect(of('BITS')).toMatchObject({
      bits: { word: 'WORD', shift: 4, width: 8, coding: 'offset binary' },
      calibration: twice,
    });
    expect(of('HOLES')?.calibration).toEqual({ kind: 'bits', word: 'WORD', shift: 5, width: 3, mask: 5 });
    expect(of('SMOOTH')?.calibration).toEqual({
      kind: 'table',
      counts: [0, 9],
      values: [0, 1],
      curve: 'monotone cubic',
    });
    expect(of('JUDGED')).toMatchObject({ description: 'Watch it', plausible: { while: 'SKID' } });
    // 1 kt = 1852/3600 m/s by definition
    expect(of('JUDGED')?.plausible?.fastest).toBeCloseTo(36_000 / 1852, 9);
  });

  it('finds what is wrong with bits, curves and judges, each where it stands', () => {
    const told = (...lines: string[]) =>
      findingsOf(withParameters(...lines)).map(({ code, found, column }) => {
        const line = lines.length === 1 ? `  - {${lines[0]}}` : '';
        return `${code}: ${found} at ${line.slice(column - 1).split(/[:,} ]/)[0]}`;
      });
    const bits = (text: string, more = '') => `id: X, ${common}, format: u8, calibration: {bits: {${text}}${more}}`;
    expect(told(bits('mask: 3, width: 2'))).toEqual(['wrong-shape: width at width']);
    expect(told(bits('shift: 1'))).toEqual(['wrong-shape: no width at {shift']);
    expect(told(bits('shift: 4, width: 5'))).toEqual(['calibration-unusable: X: bits 4 to 8 at {bits']);
    expect(told(bits("mask: 5, coding: two's complement"))[0]).toMatch(/^calibration-unusable: X: a mask with holes/);
    expect(told(bits('width: 2, states: {0: a}', ', polynomial: [0, 1]'))).toEqual(['wrong-shape: states at states']);
    const f32 = `${common}, format: f32`;
    expect(told(`id: X, ${f32}, calibration: {polynomial: [0, 1], between points: monotone cubic}`)).toEqual([
      'wrong-shape: between points at between',
    ]);
    expect(told(`id: X, ${f32}, plausible: {fastest: 0}`)).toEqual(['bad-value: 0 at 0']);
    expect(told(`id: X, ${f32}, plausible: {while: X}`)).toEqual(['bad-value: "X" at X']);
    expect(told(`id: X, ${f32}, plausible: {while: SKIDD}`)).toEqual(['unknown-name: "SKIDD" at SKIDD']);
  });

  it('is what the rehearsal flies with', () => {
    const { value, findings } = loadMission(fileURLToPath(new URL('../../replay/rehearsal/mission', import.meta.url)));
    expect(findings).toEqual([]);
    expect(value?.mission.parameters.length).toBeGreaterThan(100);
  });

  it('keeps its baseline id when a page moves or a comment comes, and changes it with a limit or a calibration', () => {
    const id = (changed?: MissionFiles) => load(changed).mission.baselineId;
    const before = id();
    expect(before).toMatch(/^[0-9a-f]{64}$/);
    expect(id()).toBe(before);
    expect(id({ 'pages.yaml': '' })).toBe(before);
    expect(id({ 'limits.yaml': `# a comment\n\n${goodFiles['limits.yaml']}` })).toBe(before);
    expect(id({ 'limits.yaml': goodFiles['limits.yaml'].replace('97', '96') })).not.toBe(before);
    expect(id({ 'parameters.yaml': goodFiles['parameters.yaml'].replace('0.01', '0.02') })).not.toBe(before);
  });

  it('converts a difference of temperatures as a difference, and a temperature as a temperature', () => {
    const limits = `limits:
  - {id: cold, parameter: OAT, below: {caution: 14 degF}, hysteresis: 9 degF, first action: tell, watcher: engine, source: sheet 3}
`;
    const [limit] = load({ 'limits.yaml': limits }).mission.limits;
    expect(limit?.below?.caution).toBeCloseTo(-10, 9);
    expect(limit?.hysteresis).toBeCloseTo(5, 9);
  });
});

/** Thirty things wrong in one folder; every line with a fault ends in a comment that names its code. */
const faulty = {
  'mission.yaml': `name: 12 # wrong-shape
stream: FAULTY
aircraft: {name: Small, software id: S-1} # wrong-shape
receivers:
  - name: North
  - name: North # duplicate-name
people:
  - {id: td, name: Ines Arkwright, position: test directer} # wrong-shape
words:
  class 1: [KNOCK IT OFF]
  class 2: [Knock it off] # duplicate-name
`,
  'parameters.yaml': `groups:
  - {id: main, rate: 0} # bad-value
  - {id: slow, rate: 2}
  - {id: events, rate: none} # wrong-shape
parameters:
  - {id: NR, name: Rotor speed, unit: "%", group: slow, format: i16, range: [0, 130]}
  - {id: TQ, name: Torque, unit: percent, group: slow, format: i16} # unknown-unit
  - {id: slow, name: Slowness, unit: "%", group: slow, format: i16} # duplicate-name
  - {id: IAS, name: Airspeed, unit: kt, group: slwo, format: i16} # unknown-name
  - {id: OAT, name: Outside air, unit: degC, group: slow, format: i17} # wrong-shape
  - {id: ALT, nmae: Altitude, unit: ft, group: slow, format: i16} # wrong-shape wrong-shape
  - {id: WORD, name: Word, unit: "1", group: slow, format: u8}
  - {id: BIT, name: Bit, unit: "1", group: slow, calibration: {bits: {word: WRD, shift: 0, width: 1}}} # unknown-name
  - {id: constructor, name: Builder, unit: "1", group: slow, format: u8} # bad-value
  - {id: TAB, name: Table, unit: "1", group: slow, format: i16, calibration: {table: [[5, 1], [3, 2]]}} # calibration-unusable
  - {id: N1, name: Gas generator, unit: "%", group: slow, format: i16, range: [100, 0]} # bad-value
`,
  'derived.yaml': `derived:
  - {id: A, name: A, unit: "%", driven by: B, formula: NR} # formula-cycle
  - {id: B, name: B, unit: "%", driven by: A, formula: NR} # formula-cycle
  - {id: C, name: C, unit: "%", driven by: NR}  # wrong-shape
  - {id: D, name: D, unit: "%", driven by: NR, formula: "NR +"} # formula-syntax
  - {id: E, name: E, unit: "%", driven by: NR, formula: "NR + 10[kt]"} # unit-clash
  - {id: F, name: F, unit: "%", driven by: NR, formula: "2 * NRR"} # unknown-name
  - {id: G, name: G, unit: "%", driven by: NR, formula: "median()"} # formula-arguments
  - {id: H, name: H, unit: "%", driven by: NR, formula: C + A} # stands on two that are told already
`,
  'limits.yaml': `limits:
  - {id: l1, parameter: NQ, above: {caution: 1}, first action: a, watcher: engine, source: s} # unknown-name
  - {id: l2, parameter: NR, above: {caution: 10 kt}, first action: a, watcher: engine, source: s} # unit-clash
  - {id: l2, parameter: NR, above: {caution: 10}, first action: a, watcher: engine, source: s} # duplicate-name
  - {id: l3, parameter: NR, above: {caution: 140}, first action: a, watcher: engine, source: s} # bad-value
  - {id: l4, parameter: NR, first action: a, watcher: engine, source: s} # wrong-shape
  - {id: l5, parameter: NR, above: {caution: .nan}, first action: a, watcher: engine, source: s} # wrong-shape
  - {id: l6, parameter: NR, above: {caution: 9}, persistence: 5, first action: a, watcher: engine, source: s} # wrong-shape
  - {id: l9, parameter: NR, above: {caution: 9, warning: 8}, time to consequence: 5 s, first action: a, watcher: engine, source: s} # limit-order
  - {id: l7, parameter: NR, above: {red: 9}, first action: a, watcher: engine, source: s} # wrong-shape
`,
  'pages.yaml': `pages:
  - id: one
    title: One
    rows:
      - {height: 1, elements: [{kind: attitude, parameters: [NR]}]} # bad-value
      - {height: 0.5, elements: [{kind: states, parameters: [NR]}]} # bad-value
`,
};

describe('a mission folder with faults', () => {
  const expected = Object.entries(faulty).flatMap(([file, text]) =>
    text.split('\n').flatMap((line, i) => {
      const codes = (line.split('# ')[1] ?? '').split(' ').filter((word) => word in findingCodes);
      return codes.map((code) => `${file}:${i + 1} ${code}`);
    }),
  );

  it('gets every finding at once, each at its line', () => {
    const heights = 'pages.yaml:5 bad-value';
    expect(findingsOf(faulty).map(brief).sort()).toEqual([...expected, heights].sort());
    expect(expected.length).toBeGreaterThanOrEqual(30);
  });

  it('points at the value in the line, with what was found, expected, and the nearest name', () => {
    const findings = findingsOf(faulty);
    const at = (file: string, line: number) =>
      findings.find((finding) => brief(finding).startsWith(`${file}:${line} `)) as Finding;
    expect(at('parameters.yaml', 9)).toMatchObject({
      code: 'unknown-name',
      column: 48,
      found: '"slwo"',
      hint: 'did you mean slow?',
    });
    expect(at('mission.yaml', 1)).toMatchObject({
      column: 7,
      found: '12',
      expected: 'text',
      hint: 'write it in quotes: "12"',
    });
    expect(at('mission.yaml', 8).hint).toBe('did you mean test director?');
    expect(at('parameters.yaml', 8).hint).toContain('parameters.yaml, line 3');
    expect(at('parameters.yaml', 11)).toMatchObject({ column: 5 });
    expect(at('limits.yaml', 3).found).toBe('"10 kt" (speed)');
    expect(at('limits.yaml', 5).column).toBe(46);
  });

  it('counts the column on into a formula', () => {
    const clash = findingsOf(faulty).find(({ file, line }) => file.endsWith('derived.yaml') && line === 6);
    const text = (faulty['derived.yaml'].split('\n')[5] as string).slice((clash?.column ?? 0) - 1);
    expect(text.startsWith('+ 10[kt]') || text.startsWith('10[kt]') || text.startsWith('NR + 10[kt]')).toBe(true);
  });

  it('tells one mistake once: what stands on a broken parameter is not blamed as well', () => {
    const broken = { 'parameters.yaml': goodFiles['parameters.yaml'].replace('unit: kt', 'unit: knots') };
    expect(findingsOf(broken).map(brief)).toEqual(['parameters.yaml:13 unknown-unit']);
  });

  it('wants the files it needs, and no file of a name it does not read', () => {
    const files = { 'limits.yaml': '', 'limit.yaml': goodFiles['limits.yaml'], 'notes.txt': 'x' };
    const findings = findingsOf(files);
    expect(findings.map(brief)).toEqual(['limits.yaml:0 file-missing', 'limit.yaml:0 unknown-name']);
    expect(findings[1]?.hint).toBe('did you mean limits.yaml?');
    expect(loadMission('/nowhere/at/all').findings[0]).toMatchObject({ code: 'file-missing', file: '/nowhere/at/all' });
  });

  it('shows nothing of a file that a terminal would obey', () => {
    const name = 'name: "\\e[2J\\u202Eevil"\n';
    const [finding] = findingsOf({ 'mission.yaml': goodFiles['mission.yaml'].replace(/^name.*\n/, name) });
    expect(finding).toMatchObject({ code: 'bad-value', line: 1, found: '"?[2J?evil"' });
  });

  it('gives the place of a formula inside quotes and blocks', () => {
    const place = (formula: string) => {
      const text = goodFiles['derived.yaml'].replace('formula: IAS', formula);
      return load({ 'derived.yaml': text }).mission.derived[0]?.place;
    };
    expect(place('formula: "IAS"')).toMatchObject({ line: 6, column: 15 });
    expect(place('formula: |\n      IAS')).toMatchObject({ line: 7, column: 7 });
  });

  it('reads the mission of the file as it is, and a file is only read', () => {
    const folder = missionFolder();
    loadMission(folder);
    for (const [name, text] of Object.entries(goodFiles)) expect(readFileSync(join(folder, name), 'utf8')).toBe(text);
  });
});
