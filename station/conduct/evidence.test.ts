import { expect, it } from 'vitest';
import type { ConductAction } from '../../protocol/conduct.ts';
import { groundTime } from '../../protocol/time.ts';
import { act, compiled, GROUND, idAt, NOW, nothingKnown } from '../../test/support/conduct.ts';

const hold = (text: string): ConductAction => ({
  act: 'hold evidence',
  subject: '',
  number: 0,
  choice: '',
  text,
  value: 0,
  aircraft: 0,
});

it('is held in one act, with the reason, by whoever may, and once', () => {
  const conduct = compiled();
  expect(act(conduct, 'engine', hold('hard landing'))).toMatch(/^engine may not hold evidence/);
  expect(act(conduct, 'instrumentation', hold('  '))).toBe('an evidence hold needs the reason why');
  expect(conduct.view(groundTime(GROUND), NOW, nothingKnown).evidence).toBeNull();
  expect(act(conduct, 'test director', hold(' hard landing '))).toBe('');
  const held = {
    reason: 'hard landing',
    person: idAt('test director'),
    position: 'test director',
    aircraft: NOW,
    ground: GROUND,
  };
  expect(conduct.view(groundTime(GROUND), NOW, nothingKnown).evidence).toEqual(held);
  expect(act(conduct, 'test conductor', hold('again'))).toMatch(/held already, by test-director .*: hard landing$/);
});

it('stays held over saving and restoring, and a mission without anything saved is not held', () => {
  const conduct = compiled();
  act(conduct, 'test conductor', hold('vibration'));
  const other = compiled();
  other.restore(structuredClone(conduct.save()));
  expect(other.view(groundTime(GROUND), NOW, nothingKnown).evidence?.reason).toBe('vibration');
  other.restore(structuredClone(compiled().save()));
  expect(other.view(groundTime(GROUND), NOW, nothingKnown).evidence).toBeNull();
});
