import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const good = `parameter: PHASE
driven by: main
hold: 2 s
phases:
  - id: ground
    name: On the ground
    then:
      - {to: hover, when: 'SKID == "up" and NR > 90[%]', for: 0.5 s}
      - {to: shut, when: "NR < 5[%]"}
  - id: hover
    name: Hover
    critical: true
    then: [{to: ground, when: SKID}]
  - {id: shut, name: Shut down}
`;

const load = (phases: string, more: Record<string, string> = {}) =>
  loadMission(missionFolder({ 'phases.yaml': phases, ...more }));

/** What is found, as `line:column code found`, and the text that stands there. */
function told(phases: string, more?: Record<string, string>): string[] {
  return (load(phases, more).findings as Finding[]).map(({ file, line, column, code, found, hint }) => {
    const text = phases.split('\n')[line - 1]?.slice(column - 1, column + 7) ?? '';
    const where = file.endsWith('phases.yaml') ? '' : `${file.split('/').at(-1)} `;
    return `${where}${line}:${column} ${code} ${found} | ${text}${hint ? ` | ${hint}` : ''}`;
  });
}

const changed = (from: string, to: string) => told(good.replace(from, to));

describe('phases.yaml', () => {
  it('cut or changed anywhere is a mission or findings, never an exception', () => {
    fc.assert(
      fc.property(fc.nat(good.length), fc.nat(good.length), fc.string({ maxLength: 3 }), (at, length, text) => {
        const { value, findings } = load(good.slice(0, at) + text + good.slice(at + (length % 9)));
        expect(value === undefined).toBe(findings.length > 0);
      }),
      { seed: 20261125, numRuns: 150 },
    );
  });

  it('becomes a machine, the parameter that holds its state, and one hidden parameter for each formula', () => {
    const { value, findings } = load(good);
    expect(findings).toEqual([]);
    const { phases, derived } = value?.mission ?? {};
    expect(phases).toEqual({
      parameter: 'PHASE',
      hold: 2_000_000,
      phases: [
        {
          id: 'ground',
          name: 'On the ground',
          transitions: [
            { to: 'hover', when: 'PHASE.ground.1', for: 500_000 },
            { to: 'shut', when: 'PHASE.ground.2', for: 0 },
          ],
        },
        { id: 'hover', name: 'Hover', critical: true, transitions: [{ to: 'ground', when: 'SKID', for: 0 }] },
        { id: 'shut', name: 'Shut down', transitions: [] },
      ],
    });
    expect(derived?.find(({ id }) => id === 'PHASE')).toMatchObject({
      name: 'Phase of flight',
      unit: '1',
      drivenBy: 'main',
      states: { 0: 'On the ground', 1: 'Hover', 2: 'Shut down' },
    });
    expect(derived?.filter(({ condition }) => condition).map(({ id, formula }) => [id, formula])).toEqual([
      ['PHASE.ground.1', 'SKID == "up" and NR > 90[%]'],
      ['PHASE.ground.2', 'NR < 5[%]'],
    ]);
  });

  it('is short: what drives it and how long it is believed go without saying', () => {
    const { value } = load(
      'parameter: PHASE\nphases: [{id: on, name: On, then: [{to: off, when: "OAT > 5[degC]"}]}, {id: off, name: Off}]',
    );
    expect(value?.mission.phases?.hold).toBe(5_000_000);
    expect(value?.mission.derived.find(({ id }) => id === 'PHASE')?.drivenBy).toBe('slow');
  });

  it('may be compared with in formulas, watched and shown', () => {
    const { value, findings } = load(good, {
      'derived.yaml': `${goodFiles['derived.yaml']}  - {id: HOVERS, name: Hovers, unit: "1", driven by: PHASE, formula: PHASE == "Hover"}\n`,
      'limits.yaml': goodFiles['limits.yaml'].replace('while: SKID', 'while: HOVERS'),
      'pages.yaml': goodFiles['pages.yaml'].replace('parameters: [SKID]', 'parameters: [PHASE]'),
    });
    expect(findings).toEqual([]);
    expect(value?.mission.derived.map(({ id }) => id)).toContain('HOVERS');
  });

  it('has a finding for every mistake, where it stands', () => {
    expect(changed('to: shut', 'to: shot')).toEqual(['9:14 unknown-name "shot" | shot, wh | did you mean shut?']);
    expect(changed('to: shut', 'to: ground')).toEqual(['9:14 bad-value "ground" | ground, ']);
    expect(changed('      - {to: shut, when: "NR < 5[%]"}\n', '')).toEqual([
      '13:10 phase-unreachable "shut" | shut, na',
    ]);
    expect(changed('id: hover', 'id: shut')).toEqual([
      '8:14 unknown-name "hover" | hover, w',
      '14:10 duplicate-name "shut" | shut, na | the first one is in phases.yaml, line 10',
    ]);
    expect(changed('name: Hover', 'name: Shut down')).toEqual([
      '14:22 duplicate-name "Shut down" | Shut dow | the first one is in phases.yaml, line 11',
    ]);
    expect(changed('for: 0.5 s', 'for: -1 s')).toEqual(['8:63 bad-value "-1 s" | -1 s}']);
    expect(changed('for: 0.5 s', 'for: 3 kt')).toEqual(['8:63 unit-clash "3 kt" (speed) | 3 kt}']);
    expect(changed('hold: 2 s', 'hold: 2 h')).toEqual(['3:7 bad-value "2 h" | 2 h']);
    expect(changed('driven by: main', 'driven by: mian')).toEqual([
      '2:12 unknown-name "mian" | mian | did you mean main?',
    ]);
    expect(changed('parameter: PHASE', 'parameter: NR')).toEqual([
      '1:12 duplicate-name "NR" | NR | the first one is in parameters.yaml, line 5',
    ]);
    expect(changed('critical: true', 'critical: very')).toEqual(['12:15 wrong-shape "very" | very']);
    expect(changed('  - {id: shut', '  - {id: shut, then: []}\n  - {id: shut')).toEqual([
      '14:5 wrong-shape no name | {id: shu',
      '15:10 duplicate-name "shut" | shut, na | the first one is in phases.yaml, line 14',
    ]);
    expect(told('parameter: PHASE\nphases: []\n')).toEqual(['2:9 bad-value a list of 0 | []']);
    expect(told('{}')).toEqual(['1:1 wrong-shape no parameter | {}', '1:1 wrong-shape no phases | {}']);
  });

  it('has the findings of its formulas at their place in the file', () => {
    expect(changed('NR < 5[%]', 'NR < 5[kt]')).toEqual(['9:30 unit-clash % < kt | < 5[kt]"']);
    expect(changed('NR < 5[%]', 'NRR < 5[%]')).toEqual(['9:27 unknown-name NRR | NRR < 5[ | did you mean NR?']);
    expect(changed('NR < 5[%]', 'NR + 5[%]')).toEqual(['9:27 bad-value a number | NR + 5[%']);
    expect(changed('NR < 5[%]', 'NR <')).toMatchObject([expect.stringContaining('9:31 formula-syntax')]);
    expect(changed('when: SKID}', 'when: SKD}')).toEqual(['13:31 unknown-name "SKD" | SKD}] | did you mean SKID?']);
    expect(changed('when: SKID}', 'when: NR}')).toEqual(['13:31 unit-clash "NR", in % | NR}]']);
    expect(changed('when: SKID}', 'when: "PHASE == 1"}')).toEqual([
      expect.stringContaining('formula-cycle PHASE needs PHASE.hover.1 needs PHASE'),
    ]);
  });

  it('tells a mistake once: what stands on the phase is not judged further', () => {
    const more = {
      'derived.yaml': `${goodFiles['derived.yaml']}  - {id: HOVERS, name: Hovers, unit: "1", driven by: main, formula: PHASE == "Hover"}\n`,
      'limits.yaml': goodFiles['limits.yaml'].replace('while: SKID', 'while: HOVERS'),
    };
    expect(told(good.replace('to: shut', 'to: shot'), more)).toHaveLength(1);
    const circle = {
      'derived.yaml': `${goodFiles['derived.yaml']}  - {id: ROUND, name: Round, unit: "1", driven by: PHASE, formula: "1"}\n`,
    };
    expect(told(good.replace('driven by: main', 'driven by: ROUND'), circle)).toEqual([
      '2:12 formula-cycle PHASE driving itself | ROUND',
    ]);
  });
});
