import { chmodSync, existsSync, readdirSync, readFileSync, statSync, utimesSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { type Account, AccountError, changeAccounts, idFault, nameFault, readAccounts } from './account-file.ts';
import { hashPassword, isPassword, nobodysPassword, type PasswordHash, passwordFault } from './password.ts';

let password: PasswordHash;
let file: string;
beforeAll(async () => {
  password = await hashPassword('a long enough word');
});
beforeEach(() => {
  file = join(temporaryFolder(), 'deep', 'accounts.json');
});
const account = (id: string): Account => ({
  id,
  name: 'Dana Quill',
  password,
  created: '2026-11-25T10:00:00.000Z',
  disabled: false,
});

describe('a password', () => {
  it('is known again, in either spelling of its accents, and no other is', async () => {
    expect(await isPassword('a long enough word', password)).toBe(true);
    expect(await isPassword('a long enough wor', password)).toBe(false);
    const accented = await hashPassword('caf\u00e9 on the field');
    expect(await isPassword('cafe\u0301 on the field', accented)).toBe(true);
    expect(await isPassword('a long enough word', nobodysPassword)).toBe(false);
  });
  it('is kept with a salt of its own and its cost', async () => {
    const again = await hashPassword('a long enough word');
    expect(again.hash).not.toBe(password.hash);
    expect(again.salt).not.toBe(password.salt);
    expect(again.cost).toBeGreaterThanOrEqual(2 ** 15);
  });
  it('does not keep anything else waiting', async () => {
    let turns = 0;
    const timer = setInterval(() => turns++, 1);
    await Promise.all([hashPassword('a long enough word'), hashPassword('a long enough word')]);
    clearInterval(timer);
    expect(turns).toBeGreaterThan(5);
  });
  it.each([
    ['too short', 'eleven char'],
    ['too short, however many bytes', '\u{1F681}'.repeat(11)],
    ['too long', 'x'.repeat(201)],
    ['with a control character', 'a long enough\u0007word'],
  ])('that is %s is refused, and not repeated', (_, text) => {
    expect(passwordFault(text)).not.toBe('');
    expect(passwordFault(text)).not.toContain(text);
  });
  it('of twelve characters will do', () => {
    expect(passwordFault('twelve chars')).toBe('');
  });
});

describe('the file', () => {
  it('is not there, and holds nobody', () => {
    expect(readAccounts(file)).toEqual([]);
  });
  it('keeps what was written, for its owner alone', () => {
    changeAccounts(file, (all) => [...all, account('dana')]);
    changeAccounts(file, (all) => [...all, account('ivo')]);
    expect(readAccounts(file)).toEqual([account('dana'), account('ivo')]);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(statSync(dirname(file)).mode & 0o777).toBe(0o700);
    expect(readdirSync(dirname(file))).toEqual(['accounts.json']);
    expect(readFileSync(file, 'utf8')).not.toContain('a long enough word');
  });
  it('stays as it was when a change fails', () => {
    changeAccounts(file, () => [account('dana')]);
    expect(() =>
      changeAccounts(file, () => {
        throw new Error('no');
      }),
    ).toThrow('no');
    expect(readAccounts(file)).toEqual([account('dana')]);
    expect(existsSync(`${file}.new`)).toBe(false);
  });
  it('is changed by one at a time; what a crash left behind is in nobody\u2019s way', () => {
    changeAccounts(file, () => [account('dana')]);
    writeFileSync(`${file}.new`, 'half');
    expect(() => changeAccounts(file, () => [])).toThrow('being changed by somebody else');
    expect(readFileSync(`${file}.new`, 'utf8')).toBe('half');
    utimesSync(`${file}.new`, 1, 1);
    changeAccounts(file, (all) => [...all, account('ivo')]);
    expect(readAccounts(file)).toHaveLength(2);
  });
  it('that others may read is refused, with what mends it', () => {
    changeAccounts(file, () => [account('dana')]);
    chmodSync(file, 0o640);
    expect(() => readAccounts(file)).toThrow('chmod 600');
    expect(() => changeAccounts(file, () => [])).toThrow('chmod 600');
  });
  const good = () => ({ version: 1, accounts: [account('dana')] }) as { version: number; accounts: unknown[] };
  const weak = (more: object) => ({
    version: 1,
    accounts: [{ ...account('dana'), password: { ...password, ...more } }],
  });
  it.each<[string, () => unknown]>([
    ['rubbish', () => '\u0000\u0001'],
    ['an empty text', () => ''],
    ['a list', () => []],
    ['another version', () => ({ ...good(), version: 2 })],
    ['an id that leads elsewhere', () => ({ version: 1, accounts: [account('../../etc/passwd')] })],
    ['one id twice', () => ({ version: 1, accounts: [account('dana'), account('dana')] })],
    ['a cost that would stop the machine', () => weak({ cost: 2 ** 30 })],
    ['a cost that protects nobody', () => weak({ cost: 2 })],
    ['a cost that is no power of two', () => weak({ cost: 40_000 })],
    ['another scheme', () => weak({ scheme: 'plain' })],
    ['a salt that is none', () => weak({ salt: 'x' })],
    ['a position', () => ({ version: 1, accounts: [{ ...account('dana'), position: 'test director' }] })],
  ])('of %s is refused in words, and no hash is repeated', (_, content) => {
    changeAccounts(file, () => [account('dana')]);
    const written = content();
    writeFileSync(file, typeof written === 'string' ? written : JSON.stringify(written));
    let said = '';
    try {
      readAccounts(file);
    } catch (error) {
      expect(error).toBeInstanceOf(AccountError);
      said = (error as Error).message;
    }
    expect(said).toContain(file);
    expect(said).not.toContain(password.hash);
    expect(said).not.toContain(password.salt);
  });
});

it.each(['', '../x', 'a/b', 'a b', '1a', 'a\u0000', 'x'.repeat(61), 'd\u00e4na', '__proto__', '.'])(
  '%j is no id of an account',
  (id) => {
    expect(idFault(id)).not.toBe('');
  },
);
it('knows ids and names that will do', () => {
  expect(['ines', 'I', 'a-b_c9'].map(idFault)).toEqual(['', '', '']);
  expect(['Ines Arkwright', 'Zo\u00eb'].map(nameFault)).toEqual(['', '']);
  for (const name of ['', ' ', 'a\u001b[2J', 'x'.repeat(81)]) expect(nameFault(name)).not.toBe('');
});
