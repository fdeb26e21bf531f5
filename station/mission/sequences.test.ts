import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { loadMission } from './load.ts';

const good = `sequences:
  - id: spool
    title: Rotor spool-up
    gate: {text: at a standstill, when: "NR < 5[%]"}
    begins: NR > 5[%]
    ends: SKID
    steps:
      - {name: half way, when: "NR > 50[%]", within: 20 s}
      - {name: governed, when: "NR > 97[%]", within: 15 s}
    measures:
      - {title: fast, parameter: IAS, kind: time above, over: 55 m/s, up to: 120}
      - {title: rise, parameter: NR, kind: rate, window: 500 ms}
      - {title: peak, parameter: NR, kind: max}
checklists:
  - {id: lost-voice, title: Voice lost, shown: voice lost, steps: [Call again]}
  - {id: lost-link, title: Link lost, shown: link lost, after: 2 s, steps: [Tell the pilot]}
  - {id: lost-both, title: Contact lost, shown: contact lost, after: 5 s, steps: [Write it down]}
  - {id: slow, title: Rotor slow, shown: condition, when: "NR < 90[%]", steps: [Say it, Do it]}
`;

const load = (text: string) => loadMission(missionFolder({ 'sequences.yaml': text }));

/** What is found, as `line code found`, and the text that stands there. */
const told = (text: string): string[] =>
  (load(text).findings as Finding[]).map(({ file, line, column, code, found, hint }) => {
    const written = text.split('\n')[line - 1]?.slice(column - 1, column + 7) ?? '';
    const where = file.endsWith('sequences.yaml') ? '' : `${file.split('/').at(-1)} `;
    return `${where}${line} ${code} ${found.replaceAll('"', '')} | ${written}${hint ? ` | ${hint}` : ''}`;
  });

const changed = (from: string, to: string): string[] => {
  expect(good).toContain(from);
  return told(good.replace(from, to));
};

describe('sequences.yaml', () => {
  it('becomes sequences and checklists, with one hidden parameter for each formula', () => {
    const { value, findings } = load(good);
    expect(findings).toEqual([]);
    const { sequences, checklists, derived } = value?.mission ?? {};
    const [{ place, ...spool } = {}] = sequences ?? [];
    expect(place).toMatchObject({ file: 'sequences.yaml', line: 2 });
    expect(spool).toEqual({
      id: 'spool',
      title: 'Rotor spool-up',
      begins: 'sequence.spool.begins',
      ends: 'SKID',
      gate: { text: 'at a standstill', when: 'sequence.spool.gate' },
      steps: [
        { name: 'half way', when: 'sequence.spool.1', within: 20_000_000 },
        { name: 'governed', when: 'sequence.spool.2', within: 15_000_000 },
      ],
      measures: [
        // 55 m/s in the parameter's knots
        { title: 'fast', parameter: 'IAS', kind: 'time above', value: expect.closeTo(106.911, 2), upTo: 120 },
        { title: 'rise', parameter: 'NR', kind: 'rate', window: 500_000 },
        { title: 'peak', parameter: 'NR', kind: 'max' },
      ],
    });
    expect(checklists?.map(({ place: _, ...list }) => list)).toEqual([
      { id: 'lost-voice', title: 'Voice lost', shown: 'voice lost', steps: ['Call again'] },
      { id: 'lost-link', title: 'Link lost', shown: 'link lost', after: 2, steps: ['Tell the pilot'] },
      { id: 'lost-both', title: 'Contact lost', shown: 'contact lost', after: 5, steps: ['Write it down'] },
      { id: 'slow', title: 'Rotor slow', shown: 'condition', when: 'checklist.slow.when', steps: ['Say it', 'Do it'] },
    ]);
    const made = derived?.filter(({ condition }) => condition).map(({ id, drivenBy }) => `${id} by ${drivenBy}`);
    expect(made).toEqual([
      'sequence.spool.begins by main',
      'sequence.spool.gate by main',
      'sequence.spool.1 by main',
      'sequence.spool.2 by main',
      'checklist.slow.when by main',
    ]);
  });

  it('may be missing, or hold one of the two alone', () => {
    expect(loadMission(missionFolder()).value?.mission.sequences).toBeUndefined();
    expect(told(good.slice(good.indexOf('checklists:')))).toEqual([]);
    expect(told(good.slice(0, good.indexOf('checklists:')))).toEqual([]);
  });

  it('belongs to the baseline: another time of a step is another id', () => {
    const id = (text: string) => load(text).value?.mission.baselineId;
    expect(id(good)).not.toBe(id(good.replace('within: 15 s', 'within: 16 s')));
  });

  it('finds names that are none, and formulas that make no sense, where they stand', () => {
    expect(changed('ends: SKID', 'ends: SKIDS')).toEqual(['6 unknown-name SKIDS | SKIDS | did you mean SKID?']);
    expect(changed('ends: SKID', 'ends: IAS')).toEqual(['6 unit-clash IAS, in kt | IAS']);
    expect(changed('"NR > 50[%]"', '"NR > 50[kt]"')[0]).toMatch(/^8 unit-clash/);
    expect(changed('"NR < 90[%]"', '"NS < 90[%]"')[0]).toMatch(/^18 unknown-name NS/);
    expect(changed('parameter: IAS', 'parameter: IAZ')[0]).toMatch(/^11 unknown-name IAZ \| IAZ.*did you mean IAS\?$/);
  });

  it('finds a second sequence, step or checklist of the same name', () => {
    expect(changed('name: governed', 'name: half way')).toEqual([
      '9 duplicate-name half way | half way | the first one is in sequences.yaml, line 8',
    ]);
    expect(changed('id: lost-both', 'id: lost-link')[0]).toMatch(/^17 duplicate-name lost-link/);
    expect(
      told(`${good.replace('checklists:', `${good.slice(11, good.indexOf('checklists:'))}checklists:`)}`)[0],
    ).toMatch(/duplicate-name spool/);
  });

  it('finds what a measure of its kind lacks, or cannot have', () => {
    expect(changed('over: 55 m/s, up to: 120', 'up to: 120')).toEqual(['11 wrong-shape no over | {title: ']);
    expect(changed('up to: 120', 'up to: 50 m/s')[0]).toMatch(/^11 bad-value 50 m\/s/);
    expect(changed('over: 55 m/s', 'over: 55 degC')[0]).toMatch(/^11 unit-clash/);
    expect(changed(', window: 500 ms', '')).toEqual(['12 wrong-shape no window | {title: ']);
    expect(changed('window: 500 ms', 'window: 0')[0]).toMatch(/^12 bad-value 0/);
    expect(changed('kind: max', 'kind: max, window: 1 s')).toEqual(['13 wrong-shape window | window: ']);
    expect(changed('kind: max', 'kind: max, over: 1')).toEqual(['13 wrong-shape over | over: 1}']);
    expect(changed('kind: max', 'kind: mean')[0]).toMatch(/^13 wrong-shape mean/);
  });

  it('finds what does not go with the cause of a checklist', () => {
    expect(changed(', after: 2 s', '')).toEqual(['16 wrong-shape no after | {id: los']);
    expect(changed('shown: voice lost', 'shown: voice lost, after: 2 s')).toEqual(['15 wrong-shape after | after: 2']);
    expect(changed('shown: voice lost', 'shown: condition')).toEqual(['15 wrong-shape no when | {id: los']);
    expect(changed('after: 2 s', 'after: 2 s, when: SKID')).toEqual(['16 wrong-shape when | when: SK']);
    // shorter than the room would call a value stale
    expect(changed('after: 2 s', 'after: 0.1 s')[0]).toMatch(/^16 bad-value 0.1 s/);
    expect(changed('steps: [Call again]', 'steps: []')[0]).toMatch(/^15 bad-value/);
  });

  it('cut or changed anywhere is a mission or findings, never an exception', () => {
    fc.assert(
      fc.property(fc.nat(good.length), fc.nat(good.length), fc.string({ maxLength: 3 }), (at, length, text) => {
        const { value, findings } = load(good.slice(0, at) + text + good.slice(at + (length % 9)));
        expect(value === undefined).toBe(findings.length > 0);
      }),
      { seed: 20261125, numRuns: 60 },
    );
  });
});

describe('a limit of kind sequence', () => {
  const limits = (keys: string) => `limits:
  - {id: late, kind: ${keys}, parameter: NR, level: caution, first action: Say it, watcher: engine, source: issue 1}
`;
  const withLimits = (keys: string, sequences = good) =>
    loadMission(missionFolder({ 'sequences.yaml': sequences, 'limits.yaml': limits(keys) }));
  const found = (keys: string, sequences?: string) =>
    (withLimits(keys, sequences).findings as Finding[]).map(
      ({ file, line, code, found: what, hint }) => `${file.split('/').at(-1)} ${line} ${code} ${what} ${hint ?? ''}`,
    );

  it('may name one of sequences.yaml, and then has its beginning, end and steps', () => {
    const { value, findings } = withLimits('sequence, sequence: spool');
    expect(findings).toEqual([]);
    const [limit] = value?.mission.limits ?? [];
    const [{ begins, ends, steps } = {}] = value?.mission.sequences ?? [];
    expect(limit?.settings).toEqual({ begins, ends, steps });
  });

  it('is found when it names none, names one and repeats it, or is of another kind', () => {
    expect(found('sequence, sequence: spol')).toEqual(['limits.yaml 2 unknown-name "spol" did you mean spool?']);
    expect(found('sequence, sequence: spool, begins: SKID')).toEqual(['limits.yaml 2 wrong-shape begins ']);
    expect(found('logic, when: SKID, sequence: spool')).toContain('limits.yaml 2 wrong-shape sequence ');
  });

  it('is not told a second time of what is wrong with its sequence', () => {
    const broken = good.replace('within: 15 s', 'within: 15 kt');
    expect(found('sequence, sequence: spool', broken)).toHaveLength(1);
  });
});
