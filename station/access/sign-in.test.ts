import { rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { AccountBook } from './account-book.ts';
import { type Account, changeAccounts } from './account-file.ts';
import { hashPassword, type PasswordHash } from './password.ts';
import { isLoopbackHost, isOwnOrigin, type Mode, SESSION_LASTS, SignIn, type SignInOptions } from './sign-in.ts';

const people = [
  { id: 'dana', name: 'Dana Quill', position: 'test conductor' },
  { id: 'ivo', name: 'Ivo Marsh', position: 'engine' },
];
const signIn = (mode: Mode, of: typeof people, more: Partial<SignInOptions> = {}) =>
  new SignIn({ mode, people: of, suffix: '1', refusalDelayMs: 0, ...more });
const tokenOf = (path: string) => path.slice('/sign-in/'.length);
const cookieOf = (header: string) => header.split(';')[0];

it('each invented person of a rehearsal has a link of their own, and it signs in that person', () => {
  const access = signIn('rehearsal', people);
  expect(access.links.map((link) => link.person)).toEqual(['dana', 'ivo']);
  expect(new Set(access.links.map((link) => link.path)).size).toBe(2);
  for (const link of access.links) {
    const cookie = access.open(tokenOf(link.path))!;
    expect(access.who(`other=1; ${cookieOf(cookie)}`)).toEqual({
      person: link.person,
      name: link.name,
      position: link.position,
    });
  }
});

it('the cookie is out of reach of scripts and of other sites, and holds no token', () => {
  const access = signIn('rehearsal', people);
  const token = tokenOf(access.links[0]!.path);
  const cookie = access.open(token)!;
  expect(cookie).toContain('HttpOnly');
  expect(cookie).toContain('SameSite=Strict');
  expect(cookie).not.toContain(token);
});

it('a link may be used again, for a second screen', () => {
  const access = signIn('replay', people);
  const token = tokenOf(access.links[0]!.path);
  const [first, second] = [access.open(token)!, access.open(token)!];
  expect(first).not.toBe(second);
  expect(access.who(cookieOf(first))?.person).toBe('dana');
  expect(access.who(cookieOf(second))?.person).toBe('dana');
});

describe('nobody is signed in by', () => {
  const access = signIn('rehearsal', people);
  const other = signIn('rehearsal', people);
  it.each(['', 'x', '../', tokenOf(other.links[0]!.path)])('the token "%s"', (token) => {
    expect(access.open(token)).toBeUndefined();
  });
  const foreign = cookieOf(other.open(tokenOf(other.links[0]!.path))!);
  it.each([undefined, '', 'groundchase-1=', 'groundchase-1', foreign, ';;;==='])('the cookie "%s"', (cookie) => {
    expect(access.who(cookie)).toBeUndefined();
  });
});

it('a live flight has no links for people: a viewing link only, which names no position', () => {
  const access = signIn('live', people);
  expect(access.links.map(({ person, position }) => [person, position])).toEqual([['observer', '']]);
});

it('the replay of a recording without people has a viewing link', () => {
  expect(signIn('replay', []).links.map(({ person }) => person)).toEqual(['observer']);
});

it('whoever signs out is out, and nobody else; the cookie is taken away', () => {
  const access = signIn('rehearsal', people);
  const [dana, ivo] = access.links.map((link) => cookieOf(access.open(tokenOf(link.path))!));
  const key = access.seat(dana)!.key;
  expect(access.isOpen(key)).toBe(true);
  const taken = access.close(dana);
  expect(taken).toContain('groundchase-1=;');
  expect(taken).toContain('Max-Age=0');
  expect(access.isOpen(key)).toBe(false);
  expect(access.who(dana)).toBeUndefined();
  expect(access.who(ivo)?.person).toBe('ivo');
});

it('a session ends after its time, used or not', () => {
  let now = 5;
  const access = signIn('rehearsal', people, { nowMs: () => now });
  const dana = cookieOf(access.open(tokenOf(access.links[0]!.path))!);
  now += SESSION_LASTS - 1;
  expect(access.who(dana)?.person).toBe('dana');
  now += 1;
  expect(access.who(dana)).toBeUndefined();
});

it('old sessions give way to new ones', () => {
  const access = signIn('rehearsal', people);
  const token = tokenOf(access.links[0]!.path);
  const first = cookieOf(access.open(token)!);
  for (let n = 0; n < 1000; n++) access.open(token);
  expect(access.who(first)).toBeUndefined();
});

it('knows its own pages from those of others', () => {
  expect(isOwnOrigin(undefined, '127.0.0.1:80')).toBe(true);
  expect(isOwnOrigin('http://127.0.0.1:8080', '127.0.0.1:8080')).toBe(true);
  expect(isOwnOrigin('http://127.0.0.1:8081', '127.0.0.1:8080')).toBe(false);
  expect(isOwnOrigin('null', '127.0.0.1:8080')).toBe(false);
  expect(isOwnOrigin('http://example.test', undefined)).toBe(false);
  for (const host of ['127.0.0.1:8080', 'localhost:1', '[::1]:9', '127.4.5.6']) expect(isLoopbackHost(host)).toBe(true);
  for (const host of [undefined, '', 'example.test:8080', '127.0.0.1.example.test', '192.168.1.2'])
    expect(isLoopbackHost(host)).toBe(false);
});

describe('by account', () => {
  const passwords = { dana: 'a long enough word', zoe: 'another long word' };
  let hashes: Record<string, PasswordHash>;
  let file: string;
  let book: AccountBook;
  let told: string[];
  beforeAll(async () => {
    hashes = { dana: await hashPassword(passwords.dana), zoe: await hashPassword(passwords.zoe) };
  });
  beforeEach(() => {
    file = join(temporaryFolder(), 'accounts.json');
    changeAccounts(file, () => [account('dana', 'Dana Quill'), account('zoe', 'Zoe Finch')]);
    told = [];
    book = new AccountBook(file, (trouble) => told.push(trouble));
  });
  const account = (id: string, name: string): Account => ({
    id,
    name,
    password: hashes[id] as PasswordHash,
    created: '2026-11-25T10:00:00Z',
    disabled: false,
  });
  const change = (id: string, more: Partial<Account>) =>
    changeAccounts(file, (all) => all.map((one) => (one.id === id ? { ...one, ...more } : one)));

  it('the position comes from the mission of the day; a person without one may look', async () => {
    const access = signIn('live', people, { accounts: book });
    expect(access.links).toEqual([]);
    expect(access.byPassword).toBe(true);
    const dana = await access.enter('dana', passwords.dana);
    expect(access.who(cookieOf(dana as string))).toEqual({
      person: 'dana',
      name: 'Dana Quill',
      position: 'test conductor',
    });
    const zoe = await access.enter('zoe', passwords.zoe);
    expect(access.who(cookieOf(zoe as string))).toEqual({ person: 'zoe', name: 'Zoe Finch', position: '' });
  });

  it('works for a live flight only: a rehearsal has its links', async () => {
    const access = signIn('rehearsal', people, { accounts: book });
    expect(access.byPassword).toBe(false);
    expect(access.links).toHaveLength(2);
    expect(await access.enter('dana', passwords.dana)).toBeUndefined();
  });

  it("a wrong password, an unknown id, another person's password and a disabled account all give nothing", async () => {
    const access = signIn('live', people, { accounts: book });
    change('zoe', { disabled: true });
    expect(await access.enter('dana', passwords.zoe)).toBeUndefined();
    expect(await access.enter('nobody', passwords.dana)).toBeUndefined();
    expect(await access.enter('zoe', passwords.zoe)).toBeUndefined();
    expect(await access.enter('__proto__', passwords.dana)).toBeUndefined();
    expect(access.refused).toBe(4);
  });

  it('an unknown id takes as long as a wrong password', async () => {
    const spent = async (id: string) => {
      const began = performance.now();
      await book.enter(id, 'not the password');
      return performance.now() - began;
    };
    await spent('dana');
    const known: number[] = [];
    const unknown: number[] = [];
    for (let n = 0; n < 5; n++) {
      known.push(await spent('dana'));
      unknown.push(await spent('nobody'));
    }
    const middle = (times: number[]) => times.sort((a, b) => a - b)[2] as number;
    expect(middle(unknown) / middle(known)).toBeGreaterThan(0.5);
    expect(middle(unknown) / middle(known)).toBeLessThan(2);
  });

  it('disabling an account, or giving it another password, ends its sessions and no others', async () => {
    const access = signIn('live', people, { accounts: book });
    const dana = access.seat(cookieOf((await access.enter('dana', passwords.dana)) as string))!;
    const zoe = access.seat(cookieOf((await access.enter('zoe', passwords.zoe)) as string))!;
    change('dana', { disabled: true });
    expect(access.isOpen(dana.key)).toBe(false);
    expect(access.isOpen(zoe.key)).toBe(true);
    change('dana', { disabled: false });
    expect(access.isOpen(dana.key)).toBe(false);
    change('zoe', { password: hashes['dana'] as PasswordHash });
    expect(access.isOpen(zoe.key)).toBe(false);
  });

  it('a file that was damaged or taken away throws nobody out, and says so', async () => {
    const access = signIn('live', people, { accounts: book });
    const dana = access.seat(cookieOf((await access.enter('dana', passwords.dana)) as string))!;
    writeFileSync(file, '{"version":1,');
    expect(access.isOpen(dana.key)).toBe(true);
    expect(book.trouble).toContain('not JSON');
    rmSync(file);
    expect(access.isOpen(dana.key)).toBe(true);
    expect(book.trouble).toContain('is not there any more');
    changeAccounts(file, () => [account('dana', 'Dana Quill')]);
    expect(access.isOpen(dana.key)).toBe(true);
    expect(book.trouble).toBe('');
    expect(told.map((text) => text.replace(file, 'F'))).toEqual([
      'F: cannot be read: it is not JSON',
      'F: is not there any more; the accounts known before go on holding',
      '',
    ]);
  });

  it('too many at once are told to come again, and the right password still opens afterwards', async () => {
    const all = await Promise.all(Array.from({ length: 30 }, () => book.enter('nobody', 'x'.repeat(12))));
    expect(all.filter((one) => one === 'busy')).toHaveLength(10);
    expect(await book.enter('dana', passwords.dana)).toMatchObject({ id: 'dana' });
  });

  it('accounts made while the station runs work at once, beside the viewing link it began with', async () => {
    const late = join(temporaryFolder(), 'accounts.json');
    const access = signIn('live', people, { accounts: new AccountBook(late) });
    expect(access.byPassword).toBe(false);
    expect(access.links.map(({ person }) => person)).toEqual(['observer']);
    changeAccounts(late, () => [account('dana', 'Dana Quill')]);
    expect(await access.enter('dana', passwords.dana)).toContain('groundchase-1=');
    expect(access.byPassword).toBe(true);
    expect(access.open(tokenOf(access.links[0]!.path))).toBeDefined();
  });
});
