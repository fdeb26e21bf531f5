import { describe, expect, it } from 'vitest';
import { isLoopbackHost, isOwnOrigin, SignIn } from './sign-in.ts';

const people = [
  { id: 'dana', name: 'Dana Quill', position: 'test conductor' },
  { id: 'ivo', name: 'Ivo Marsh', position: 'engine' },
];
const tokenOf = (path: string) => path.slice('/sign-in/'.length);
const cookieOf = (header: string) => header.split(';')[0];

it('each invented person of a rehearsal has a link of their own, and it signs in that person', () => {
  const access = new SignIn('rehearsal', people, '1');
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
  const access = new SignIn('rehearsal', people, '1');
  const token = tokenOf(access.links[0]!.path);
  const cookie = access.open(token)!;
  expect(cookie).toContain('HttpOnly');
  expect(cookie).toContain('SameSite=Strict');
  expect(cookie).not.toContain(token);
});

it('a link may be used again, for a second screen', () => {
  const access = new SignIn('replay', people, '1');
  const token = tokenOf(access.links[0]!.path);
  const [first, second] = [access.open(token)!, access.open(token)!];
  expect(first).not.toBe(second);
  expect(access.who(cookieOf(first))?.person).toBe('dana');
  expect(access.who(cookieOf(second))?.person).toBe('dana');
});

describe('nobody is signed in by', () => {
  const access = new SignIn('rehearsal', people, '1');
  const other = new SignIn('rehearsal', people, '1');
  it.each(['', 'x', '../', tokenOf(other.links[0]!.path)])('the token "%s"', (token) => {
    expect(access.open(token)).toBeUndefined();
  });
  const foreign = cookieOf(other.open(tokenOf(other.links[0]!.path))!);
  it.each([undefined, '', 'groundchase-1=', 'groundchase-1', foreign, ';;;==='])('the cookie "%s"', (cookie) => {
    expect(access.who(cookie)).toBeUndefined();
  });
});

it('a live flight has no links for people: a viewing link only, which names no position', () => {
  const access = new SignIn('live', people, '1');
  expect(access.links.map(({ person, position }) => [person, position])).toEqual([['observer', '']]);
});

it('the replay of a recording without people has a viewing link', () => {
  expect(new SignIn('replay', [], '1').links.map(({ person }) => person)).toEqual(['observer']);
});

it('sessions of a revoked person end, those of others do not', () => {
  const access = new SignIn('rehearsal', people, '1');
  const [dana, ivo] = access.links.map((link) => cookieOf(access.open(tokenOf(link.path))!));
  access.revoke('dana');
  expect(access.who(dana)).toBeUndefined();
  expect(access.who(ivo)?.person).toBe('ivo');
});

it('old sessions give way to new ones', () => {
  const access = new SignIn('rehearsal', people, '1');
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
