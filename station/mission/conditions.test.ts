import { describe, expect, it } from 'vitest';
import { parseUnit } from '../../protocol/units.ts';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { condition, fastestGroup, groupOf, namesIn } from './conditions.ts';
import { loadMission } from './load.ts';
import { Names } from './names.ts';
import type { ParameterNames } from './parameters.ts';
import { caps, Source } from './source.ts';

const text = 'when: "  N1 > 5[NR] and MODE == \'IAS\'"\nthen: SKID\n';

function setUp() {
  const source = new Source('phases.yaml', text);
  const names: ParameterNames = {
    groups: new Names<number>('rate group'),
    parameters: new Names('parameter'),
    broken: new Set(['BAD']),
    lookedUp: new Map(),
    generated: new Map(),
  };
  for (const [id, rate] of [
    ['slow', 2],
    ['fast', 100],
    ['any', 0],
  ] as const)
    names.groups.declare(source, [], id, rate);
  const add = (id: string, unit: string, drivenBy: string) => {
    const known = parseUnit(unit);
    names.parameters.declare(source, [], id, { ...(known && { unit: known }), hasStates: false, drivenBy });
  };
  add('N1', '%', 'slow');
  add('MODE', '1', 'any');
  add('SKID', '1', 'fast');
  add('COMPUTED', '1', 'SKID');
  add('BAD', '1', 'slow');
  const read = (of: string, drivenBy = '', id = 'x.when') => condition(source, ['when'], of, drivenBy, id, names);
  return { source, names, read };
}

describe('a condition', () => {
  it('is the parameter itself where it is but a name', () => {
    const { source, names, read } = setUp();
    expect([read('SKID'), read(' MODE ')]).toEqual(['SKID', 'MODE']);
    expect(names.generated.size).toBe(0);
    expect(source.findings).toEqual([]);
  });

  it('becomes a derived parameter of its own where it is a formula, driven by the fastest group it names', () => {
    const { names, read } = setUp();
    expect(read('  N1 > 5[%]')).toBe('x.when');
    expect(read('N1 > 5[%] and COMPUTED', '', 'y.when')).toBe('y.when');
    expect(read('N1 > 5[%] and COMPUTED', 'MODE', 'z.when')).toBe('z.when');
    expect([...names.generated.values()].map(({ drivenBy }) => drivenBy)).toEqual(['slow', 'fast', 'MODE']);
    expect(names.generated.get('x.when')).toMatchObject({
      id: 'x.when',
      unit: '1',
      formula: '  N1 > 5[%]',
      condition: true,
      place: { file: 'phases.yaml', line: 1, column: 8 },
    });
  });

  it('is refused where there are more formulas than anybody reads', () => {
    const { source, names, read } = setUp();
    for (let i = 0; i < caps.list; i++) read('N1 > 5[%]', '', `c${i}`);
    expect(source.findings).toEqual([]);
    expect(names.broken.has(read('N1 > 5[%]', '', 'last'))).toBe(true);
    expect(source.findings).toMatchObject([{ code: 'bad-value', line: 1, column: 7 }]);
  });

  it('gets an id that nothing else has', () => {
    const { read } = setUp();
    expect([read('SKID == 1'), read('SKID == 0')]).toEqual(['x.when', "x.when'1"]);
  });

  it('is broken where what it names is, is not there, or is no condition', () => {
    const { source, names, read } = setUp();
    for (const [i, of] of ['BAD', 'BAD > 1', 'SKIDD', 'N1'].entries())
      expect(names.broken.has(read(of, '', `b${i}`)), of).toBe(true);
    expect(names.generated.size).toBe(0);
    expect(source.findings.map(({ code, line, hint }) => [code, line, hint])).toEqual([
      ['unknown-name', 1, 'did you mean SKID?'],
      ['unit-clash', 1, undefined],
    ]);
  });

  it('names neither what stands in units nor states', () => {
    expect(namesIn(`N1 > 5[kt] and MODE == "SKID" or bit(WORD_2, 3) == 'x'`)).toEqual([
      'N1',
      'and',
      'MODE',
      'or',
      'bit',
      'WORD_2',
    ]);
  });

  it('finds the rate group behind a name, and the fastest of several', () => {
    const { names } = setUp();
    expect(['COMPUTED', 'fast', 'N1', 'nothing'].map((id) => groupOf(id, names))).toEqual([
      'fast',
      'fast',
      'slow',
      undefined,
    ]);
    expect(fastestGroup(['MODE', 'N1'], names)).toBe('slow');
    expect(fastestGroup([], names)).toBe('fast');
  });

  it('on something broken is not blamed as well, in the steps of a sequence either', () => {
    const limit = `limits:
  - id: order
    kind: sequence
    parameter: NR
    begins: SKID
    steps: [{name: one, when: "IAS > 5[kt]", within: 1 s}, {name: two, when: "SKID and IAS > 9[kt]", within: 1 s}]
    level: caution
    first action: Go on
    watcher: test director
    source: sheet 1
`;
    const load = (unit: string) =>
      loadMission(
        missionFolder({
          'parameters.yaml': goodFiles['parameters.yaml'].replace(
            'unit: kt, group: main',
            `unit: ${unit}, group: main`,
          ),
          'limits.yaml': limit,
          'derived.yaml': '',
          'pages.yaml': '',
        }),
      );
    const { value } = load('kt');
    expect(value?.mission.limits[0]?.settings?.steps).toMatchObject([
      { name: 'one', when: 'order.steps.1', within: 1e6 },
      { name: 'two', when: 'order.steps.2', within: 1e6 },
    ]);
    expect(load('ktt').findings.map(({ code, line }) => `${code} ${line}`)).toEqual(['unknown-unit 13']);
  });
});
