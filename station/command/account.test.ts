import { existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it } from 'vitest';
import { groundchase, groundchaseWith } from '../../test/support/groundchase.ts';
import { missionFolder } from '../../test/support/mission-folder.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { readAccounts } from '../access/account-file.ts';
import { isPassword } from '../access/password.ts';

let file: string;
beforeEach(() => {
  file = join(temporaryFolder(), 'accounts.json');
});
const account = (...words: string[]) => groundchase('account', ...words, '--accounts', file);
const accountWith = (password: string, ...words: string[]) =>
  groundchaseWith(`${password}\n`, 'account', ...words, '--password-stdin', '--accounts', file);

it('adds, changes, disables, enables and lists, and never says a password', async () => {
  const said = [await accountWith('the first password', 'add', 'ines', '--name', 'Ines Arkwright')];
  const [first] = readAccounts(file);
  expect(first).toMatchObject({ id: 'ines', name: 'Ines Arkwright', disabled: false });
  expect(await isPassword('the first password', first!.password)).toBe(true);
  expect(statSync(file).mode & 0o777).toBe(0o600);

  said.push(await accountWith('the second password', 'password', 'ines'));
  expect(await isPassword('the second password', readAccounts(file)[0]!.password)).toBe(true);

  said.push(await account('disable', 'ines'));
  expect(readAccounts(file)[0]!.disabled).toBe(true);
  said.push(await account('list'));
  expect(said.at(-1)!.stdout).toMatch(/^ines {2}\d{4}-\d\d-\d\d {2}disabled {2}Ines Arkwright\n$/);
  said.push(await account('enable', 'ines'));
  said.push(await account('list', '--json'));
  const { accounts } = JSON.parse(said.at(-1)!.stdout) as { accounts: object[] };
  expect(accounts).toEqual([
    { id: 'ines', name: 'Ines Arkwright', created: expect.any(String) as string, disabled: false },
  ]);

  for (const { code, stdout, stderr } of said) {
    expect(code).toBe(0);
    expect(stdout + stderr).not.toMatch(/first password|second password/);
    expect(stdout + stderr).not.toContain(readAccounts(file)[0]!.password.hash);
  }
  expect(readFileSync(file, 'utf8')).not.toMatch(/first password|second password/);
}, 60_000);

describe('is refused, and nothing is written:', () => {
  it.each<[string, string, string[], number, string]>([
    ['a short password', 'short', ['add', 'ines', '--name', 'Ines'], 1, 'at least 12 characters'],
    ['an id that leads elsewhere', 'a long enough word', ['add', '../ines', '--name', 'Ines'], 2, 'an id has letters'],
    ['a person without a name', 'a long enough word', ['add', 'ines'], 2, '--name NAME is needed'],
    ['a person who is not there', 'a long enough word', ['password', 'ines'], 1, 'no account ines'],
    ['another action', 'a long enough word', ['remove', 'ines'], 2, 'ACTION is add, password, disable, enable, list'],
  ])(
    '%s',
    async (_, password, words, code, told) => {
      const ended = await accountWith(password, ...words);
      expect(ended.code).toBe(code);
      expect(ended.stderr).toContain(told);
      expect(ended.stderr).not.toContain(password);
      expect(existsSync(file)).toBe(false);
    },
    30_000,
  );
  it('a password where there is neither a terminal nor --password-stdin', async () => {
    const ended = await account('add', 'ines', '--name', 'Ines');
    expect(ended.code).toBe(1);
    expect(ended.stderr).toContain('--password-stdin');
    expect(existsSync(file)).toBe(false);
  }, 30_000);
});

it('a live station refuses accounts inside the mission folder, and accounts it cannot read', async () => {
  const mission = missionFolder();
  const live = (accounts: string) =>
    groundchase('live', '--listen', 'udp://127.0.0.1:0', '--mission', mission, '--port', '0', '--accounts', accounts);
  const inside = await live(join(mission, 'accounts.json'));
  expect(inside.code).toBe(1);
  expect(inside.stderr).toContain('outside the mission folder');
  const unreadable = await live(join(mission, '..'));
  expect(unreadable.code).toBe(1);
  expect(unreadable.stderr).toContain('not a file');
}, 60_000);
