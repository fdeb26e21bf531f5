/** A mission that is well written and breaks 17 rules of the pack check: the command lists these, each where it stands. */
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { expectFaults, type Seeded } from '../support/faulty-folder.ts';
import { groundchase } from '../support/groundchase.ts';

const seeded: Seeded[] = [
  ['a parameter under a warning whose bad values nothing tells', 'parameters.yaml:7:5', 'validity-missing', '{ id: Q,'],
  ['a first action that is a dash', 'limits.yaml:6:19', 'first-action-missing', '"-"'],
  ['a value that seemed right', 'limits.yaml:14:13', 'source-missing', 'Seemed right'],
  ['a source that is to be defined', 'limits.yaml:20:13', 'source-missing', 'TBD'],
  ['a warning without time to consequence', 'limits.yaml:23:5', 'consequence-missing', 'id: no-time'],
  ['a warning faster than voice', 'limits.yaml:34:26', 'consequence-too-soon', '1.5 s'],
  ['a warning that waits until it is too late', 'limits.yaml:42:26', 'consequence-too-soon', '5 s'],
  ['a stop that nobody released', 'limits.yaml:63:5', 'release-missing', 'id: not-released'],
  ['a stop that its author released', 'limits.yaml:79:15', 'release-missing', 'MAREN  QUILLFEATHER'],
  ['a stop that is suppressed on the ground', 'limits.yaml:86:18', 'stop-suppressed', '[ground]'],
  ['a stop that nobody watches', 'limits.yaml:94:14', 'stop-unwatched', 'engine'],
  ['a misspelt phase', 'limits.yaml:104:18', 'unknown-name', '[grond]'],
  ['a misspelt cause', 'limits.yaml:113:16', 'unknown-name', '[no-tine]'],
  ['two alarms that explain each other', 'limits.yaml:120:16', 'cause-cycle', '[hen]'],
  ['a fifth limit to watch', 'limits.yaml:142:14', 'watch-overload', 'rotor and loads'],
  ['a limit in force in a phase that is none', 'limits.yaml:156:13', 'unknown-name', '[air, cruise]'],
  ['a card that stops after the aircraft does', 'limits.yaml:164:12', 'outside-aircraft-limit', '{ stop: 2.5 }'],
];

describe('groundchase check on a mission that is well written and badly thought out', () => {
  it('lists exactly the 17 rules broken, each with its line and column, and what stands there', async () => {
    expect(seeded).toHaveLength(17);
    await expectFaults('pack', seeded);
  });

  it('has nothing to say of the mission of the rehearsal', async () => {
    const { code, stdout } = await groundchase(
      'check',
      fileURLToPath(new URL('../../replay/rehearsal/mission', import.meta.url)),
    );
    expect(stdout).toContain('limits:');
    expect(code).toBe(0);
  });
});
