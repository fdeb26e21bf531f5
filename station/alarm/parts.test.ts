import { expect, it } from 'vitest';
import { fourAlarms } from '../../test/support/alarm-room.ts';
import { positions } from '../../protocol/role.ts';
import { declaredAlarms } from './declared.ts';
import { FloodClock } from './flood.ts';
import { AlarmParts, occasionAt } from './parts.ts';

it('an acknowledgement given twice at one position is one line', () => {
  const lines: string[] = [];
  const flood = new FloodClock(positions.length);
  const parts = new AlarmParts(declaredAlarms(fourAlarms()), flood, (i, line) => lines.push(`${i} ${line.event}`));
  parts.toCondition(0, 'outside, higher level', { ...occasionAt(1, 2, ''), level: 3 });
  for (const position of [4, 4, 5, 4]) parts.acknowledge(0, position, occasionAt(3, 4, ''));
  expect(lines).toEqual(['0 raised', '0 acknowledged', '0 acknowledged']);
  expect(parts.stateOf(0, '').acknowledgedBy).toEqual([positions[4], positions[5]]);
});
