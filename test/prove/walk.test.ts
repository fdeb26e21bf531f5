import { describe, expect, it } from 'vitest';
import { walkRoom } from '../reference/room-walk.ts';

describe('the long proof of limits and alarms', () => {
  it('holds for a few flights, which is enough to notice most mistakes at once', () => {
    let lines = 0;
    for (let seed = 9001; seed < 9021; seed++) lines += walkRoom(seed).lines.length;
    expect(lines).toBeGreaterThan(100);
  });
});
