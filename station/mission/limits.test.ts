import { describe, expect, it } from 'vitest';
import type { Finding } from '../../protocol/finding.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { LimitKind } from '../../protocol/limit-kind.ts';
import { limitKinds, measureUnit } from '../../protocol/limit-kinds.ts';
import { goodFiles, missionFolder } from '../../test/support/mission-folder.ts';
import { commonKeys } from './limit-schema.ts';
import { loadMission } from './load.ts';

/** Lines of one limit beside those that every limit needs. */
const file = (...lines: string[]): string =>
  [
    'limits:',
    '  - id: watched',
    ...lines.map((line) => `    ${line}`),
    '    first action: say it',
    '    watcher: rotor and loads',
    '    time to consequence: 5 s',
    '    source: sheet 4',
    '',
  ].join('\n');

const withLimit = (...lines: string[]) => missionFolder({ 'limits.yaml': file(...lines) });

function loaded(...lines: string[]): Limit[] {
  const { value, findings } = loadMission(withLimit(...lines));
  if (!value) throw new Error(findings.map((finding) => JSON.stringify(finding)).join('\n'));
  return value.mission.limits;
}

const found = (...lines: string[]): string[] =>
  (loadMission(withLimit(...lines)).findings as Finding[]).map(
    ({ code, line, column, found: what, expected }) => `${line}:${column} ${code}: ${what}; ${expected}`,
  );

describe('the table of kinds', () => {
  it('has the kinds 1 to 26, once each', () => {
    const numbers = Object.values<LimitKind>(limitKinds).map(({ number }) => number);
    expect(numbers.sort((a, b) => a - b)).toEqual(Array.from({ length: 26 }, (_, i) => i + 1));
  });
  it('has no setting that bears the name of a key of every limit', () => {
    const names = Object.values<LimitKind>(limitKinds).flatMap(({ settings }) => Object.keys(settings));
    expect(names.filter((name) => Object.hasOwn(commonKeys, name))).toEqual([]);
  });
  it('says in which unit a kind measures', () => {
    expect(measureUnit({ kind: 'level' }, 'kt')).toBe('kt');
    expect(measureUnit({ kind: 'rate' }, '%')).toBe('%/s');
    expect(measureUnit({ kind: 'rate' }, 'ft/min')).toBe('ft/(min s)');
    expect(measureUnit({ kind: 'order', settings: { as: 'velocity' } }, 'g')).toBe('in/s');
    expect(measureUnit({ kind: 'order', settings: { as: 'watched' } }, 'g')).toBe('g');
    expect(measureUnit({ kind: 'sequence' }, '1')).toBe('');
  });
});

describe('a limit of a kind', () => {
  it('has its settings in the units of the table, and the defaults of those left out', () => {
    const [limit] = loaded(
      'kind: time at level',
      'parameter: IAS',
      'over: 50 m/s',
      'up to: 120',
      'above: {advisory: 270 s, caution: 5 min}',
    );
    expect(limit).toMatchObject({
      kind: 'time at level',
      settings: { 'up to': 120, count: 'each time', margin: 0 },
      above: { advisory: 270, caution: 300 },
    });
    // 1 kt = 1852/3600 m/s by definition (NIST SP 811, appendix B.8)
    expect(limit?.settings?.['over']).toBeCloseTo((50 * 3600) / 1852, 9);
  });
  it('has durations in microseconds and a measure per second', () => {
    const [limit] = loaded('kind: rate', 'parameter: NR', 'window: 0.4 s', 'below: {warning: -3 %/s}');
    expect(limit).toMatchObject({ settings: { window: 400_000 }, below: { warning: -3 } });
  });
  it('that is true or not has one level', () => {
    const [limit] = loaded(
      'kind: automation',
      'parameter: NR',
      'if: "NR < 90[%]"',
      'then: SKID',
      'within: 0.35 s',
      'level: warning',
    );
    expect(limit).toMatchObject({ above: { warning: 0.5 }, settings: { then: 'SKID', within: 350_000 } });
    expect(limit?.settings?.['if']).toMatch(/^watched\.if/);
  });
  it('becomes a second one, of the data family, when it says what to do when it cannot tell', () => {
    const [limit, blind] = loaded('parameter: NR', 'below: {warning: 95}', 'cannot tell: {level: caution, after: 1 s}');
    expect(limit?.id).toBe('watched');
    expect(blind).toMatchObject({
      id: 'watched.cannot-tell',
      kind: 'validity',
      family: 'data',
      above: { caution: 0.5 },
      persistence: 1_000_000,
      watcher: 'rotor and loads',
      settings: { parameters: ['NR'] },
    });
  });
  it.each<[string, string[], RegExp[]]>([
    [
      'a setting of another kind',
      ['parameter: NR', 'below: {warning: 95}', 'window: 1 s'],
      [/^5:5 wrong-shape: "window"; a setting of kind level: it has none/],
    ],
    [
      'a setting left out',
      ['kind: rate', 'parameter: NR', 'below: {warning: -3}'],
      [/^2:5 wrong-shape: no window; window, for kind rate/],
    ],
    [
      'a duration without unit',
      ['kind: rate', 'parameter: NR', 'window: 3', 'below: {warning: -3}'],
      [/^5:13 wrong-shape: 3; a time with its unit, like 0.5 s/],
    ],
    [
      'a value of another dimension',
      ['kind: rate', 'parameter: NR', 'window: 1 s', 'below: {warning: -3 kt}'],
      [/^6:22 unit-clash: "-3 kt"/],
    ],
    [
      'a parameter of another dimension',
      ['kind: plausibility', 'parameter: IAS', 'estimate: NR', 'above: {caution: 10}'],
      [/^5:15 unit-clash: NR in %; a parameter in kt/],
    ],
    [
      'a parameter that is not there',
      ['kind: plausibility', 'parameter: IAS', 'estimate: IASX', 'above: {caution: 10}'],
      [/^5:15 unknown-name: "IASX"/],
    ],
    [
      'a side the kind lacks',
      ['kind: plausibility', 'parameter: IAS', 'estimate: IAS_MPS', 'below: {caution: 10}'],
      [/^6:5 wrong-shape: "below"; above: a limit of kind plausibility has no values below/],
    ],
    [
      'levels for what is true or not',
      ['kind: automation', 'parameter: NR', 'if: SKID', 'then: SKID', 'within: 1 s', 'above: {warning: 1}'],
      [
        /^2:5 wrong-shape: no level; level, for kind automation/,
        /^8:5 wrong-shape: "above"; level: a limit of kind automation/,
      ],
    ],
    [
      'one level where there are values',
      ['parameter: NR', 'level: warning', 'below: {warning: 95}'],
      [/^4:5 wrong-shape: "level"; above or below/],
    ],
    [
      'levels by phase in another kind',
      ['parameter: NR', 'below: {warning: 95}', 'by phase: {hover: {below: {warning: 95}}}'],
      [/^5:5 wrong-shape: "by phase"; above and below: only kind by phase/],
    ],
    [
      'a condition that is no condition',
      ['kind: automation', 'parameter: NR', 'if: "NR + 1[%]"', 'then: SKID', 'within: 1 s', 'level: warning'],
      [/^5:10 bad-value: a number; true or false/],
    ],
    [
      'an unknown kind',
      ['kind: levels', 'parameter: NR', 'below: {warning: 95}'],
      [/^3:11 wrong-shape: "levels"; one of /],
    ],
  ])('with %s has a finding where that stands', (_, lines, expected) => {
    const findings = found(...lines);
    expect(findings).toEqual(expected.map((pattern) => expect.stringMatching(pattern)));
  });
});

it('leaves the good mission as it is', () => {
  expect(loadMission(missionFolder({})).findings).toEqual([]);
  expect(goodFiles['limits.yaml']).toContain('id: nr-low');
});
