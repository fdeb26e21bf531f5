import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { frontDoor, groundchase, Running } from '../../test/support/groundchase.ts';
import { waitUntil } from '../../test/support/wait-until.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';

describe('the command line', () => {
  it('lists every command there is a file for', async () => {
    const { code, stdout, stderr } = await groundchase('--help');
    expect(stderr).toBe('');
    expect(code).toBe(0);
    const folder = new URL('./', import.meta.url);
    const files = readdirSync(folder).filter((name) => name.endsWith('.ts') && !name.endsWith('.test.ts'));
    const declared = files.filter((name) =>
      /^export const command\b/m.test(readFileSync(new URL(name, folder), 'utf8')),
    );
    const listed = [...stdout.matchAll(/^ {2}([a-z]+) +\S/gm)].map((match) => `${match[1]}.ts`);
    expect(listed.sort()).toEqual(declared.sort());
  });

  it('names the nearest command for one it does not know', async () => {
    const { code, stdout, stderr } = await groundchase('chekc', 'x');
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain('unknown command chekc; did you mean check?');
  });

  it('says what is wrong with the words, and where the help is', async () => {
    const { code, stdout, stderr } = await groundchase('check', '--jsn', 'x');
    expect([code, stdout]).toEqual([2, '']);
    expect(stderr).toContain('unknown option --jsn; did you mean --json?');
    expect(stderr).toContain('groundchase check --help');
  });
});

describe('the front door, .ci/groundchase.mjs', () => {
  const listening = async (...words: string[]) => {
    const running = new Running(['listen', 'udp://127.0.0.1:0', ...words], frontDoor);
    await waitUntil('it listens', () => running.stderr.includes('listening on'));
    return running;
  };

  it('gives the exit code of the command, and ends when it ends', async () => {
    expect((await new Running(['listen', 'nowhere'], frontDoor).ended).code).toBe(1);
    expect((await (await listening('--seconds', '0.2')).ended).code).toBe(0);
  });

  it('hands a signal on, once even if it comes twice', async () => {
    const running = await listening();
    running.child.kill('SIGINT');
    const { code, stdout } = await running.stop('SIGINT');
    expect(code).toBe(0);
    expect(stdout).toContain('nothing has arrived');
  });

  it('leaves nothing running when it is killed', async () => {
    const running = await listening();
    // the output of the command closes only when the command itself has ended
    const { signal, stdout } = await running.stop('SIGKILL');
    expect(signal).toBe('SIGKILL');
    expect(stdout).toContain('nothing has arrived');
  });
});

describe('groundchase check', () => {
  it('prints the baseline id of a good folder and exits 0', async () => {
    const { code, stdout } = await groundchase('check', missionFolder());
    expect(stdout).toMatch(/^baseline: [0-9a-f]{64}$/m);
    expect(code).toBe(0);
  });

  it('prints the findings of a faulty folder and exits 1; with --json as JSON alone', async () => {
    const folder = missionFolder({ 'limits.yaml': 'limits: 3\n' });
    const text = await groundchase('check', folder);
    expect(text.stdout).toBe(`${folder}/limits.yaml:1:9: wrong-shape: found 3, expected a list\n`);
    expect(text.code).toBe(1);
    const json = await groundchase('check', folder, '--json');
    expect(json.code).toBe(1);
    expect(JSON.parse(json.stdout).findings).toEqual([
      { code: 'wrong-shape', file: `${folder}/limits.yaml`, line: 1, column: 9, found: '3', expected: 'a list' },
    ]);
  });
});
