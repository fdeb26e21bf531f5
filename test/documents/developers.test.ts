/** What the documents show of the code is held to the code. */
import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  availabilityEvents,
  availabilityStates,
  conditionEvents,
  conditionStates,
  lifeCycle,
} from '../../station/alarm/life-cycle.ts';
import { pointSequence } from '../../station/conduct/point-gates.ts';
import { stopCallSequence } from '../../station/conduct/stop-call.ts';
import { pointGates } from '../../protocol/conduct.ts';
import { actionNames, positions, roleTable } from '../../protocol/role.ts';
import { stopSteps } from '../../protocol/stop-call.ts';

const root = new URL('../../', import.meta.url);
const text = readFileSync(new URL('DEVELOPERS.md', root), 'utf8');

const table = (head: string[], rows: string[][]) =>
  [head, head.map(() => '---'), ...rows].map((cells) => `| ${cells.join(' | ')} |`).join('\n');

/** The table that stands after its mark. */
function shown(name: string): string {
  const after = text.split(`<!-- table: ${name} -->\n\n`)[1] ?? '';
  return after.split('\n\n', 1)[0] as string;
}

describe('DEVELOPERS.md', () => {
  it('shows the life of an alarm condition as it is', () => {
    const rows = conditionStates.map((state) => [
      state,
      ...conditionEvents.map((event) => {
        const { to, effects } = lifeCycle.condition[state][event];
        const written = effects.filter((effect) => effect !== 'announce');
        return [to, ...written.map((effect) => `*${effect}*`)].join(', ');
      }),
    ]);
    expect(shown('alarm condition')).toBe(table(['state', ...conditionEvents], rows));
  });

  it('shows how an alarm is put aside and comes back as it is', () => {
    const rows = availabilityStates.map((state) => [
      state,
      ...availabilityEvents.map((event) => {
        const { to } = lifeCycle.availability[state][event];
        return to === state ? '' : to;
      }),
    ]);
    expect(shown('alarm availability')).toBe(table(['state', ...availabilityEvents], rows));
  });

  it('shows who may do what as it is', () => {
    const rows = actionNames.map((action) => [action, ...positions.map((position) => roleTable[action][position])]);
    expect(shown('roles')).toBe(table(['action', ...positions], rows));
  });

  it('shows the steps of a stop call as they are', () => {
    const rows = stopSteps.map((at) => [
      at,
      stopSteps.filter((next) => stopCallSequence[at][next] !== 'refused').join(', ') || 'nothing',
    ]);
    expect(shown('stop call')).toBe(table(['stands at', 'may follow'], rows));
  });

  it('shows the gates of a test point as they are', () => {
    const rows = pointGates.map((gate) => [gate, pointSequence[gate].join(', ') || 'nothing']);
    expect(shown('test point')).toBe(table(['stands at', 'may follow'], rows));
  });

  it('names only files that are there', () => {
    const pattern = /`((?:(?:station|protocol|replay|display|test|\.ci)\/|\.[a-z-]+\.(?:cjs|json))[\w./-]*)`/g;
    const names = [...text.matchAll(pattern)].map(([, name]) => name as string);
    const made = ['protocol/generated/', 'station/derive/generated/', 'display/dist/'];
    const missing = names.filter((name) => !made.includes(name) && !existsSync(new URL(name, root)));
    expect(missing).toEqual([]);
    expect(names.length).toBeGreaterThan(40);
  });
});
