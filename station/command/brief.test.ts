import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { groundchase } from '../../test/support/groundchase.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';

const rehearsal = fileURLToPath(new URL('../../replay/rehearsal/mission', import.meta.url));

describe('groundchase brief', () => {
  it('writes both sheets with one id, and says it', async () => {
    const out = join(temporaryFolder(), 'paper');
    const { code, stdout } = await groundchase('brief', rehearsal, '--out', out, '--json');
    expect(code).toBe(0);
    const told = JSON.parse(stdout) as { sheet: string; baseline: string; files: string[] };
    expect(told.files).toEqual([join(out, 'brief-sheet.html'), join(out, 'stop-sheet.html')]);
    expect(told.sheet.replace('-', '').toLowerCase()).toBe(told.baseline.slice(0, 8));
    for (const file of told.files) expect(readFileSync(file, 'utf8')).toContain(`Sheet <b>${told.sheet}</b>`);
  });

  it('writes nothing of a mission that has findings, and needs to know where to', async () => {
    const out = join(temporaryFolder(), 'paper');
    const broken = missionFolder({ 'limits.yaml': 'limits: 5' });
    const { code, stdout } = await groundchase('brief', broken, '--out', out);
    expect(code).toBe(1);
    expect(stdout).toContain('wrong-shape');
    expect(existsSync(out)).toBe(false);
    expect((await groundchase('brief', rehearsal)).code).toBe(2);
  });
});
