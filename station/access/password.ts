/** Passwords as they are kept: scrypt (RFC 7914) with a salt of their own, the parameters beside them. */
import { randomBytes, scrypt, timingSafeEqual } from 'node:crypto';

export interface PasswordHash {
  scheme: 'scrypt';
  /** N, r, p of RFC 7914 */
  cost: number;
  blockSize: number;
  parallelization: number;
  /** base64url */
  salt: string;
  hash: string;
}

/** 32 MiB and some tenths of a second for each try (common practice for passwords that people type). */
const present = { cost: 2 ** 15, blockSize: 8, parallelization: 3 };
const SALT_BYTES = 16;
const HASH_BYTES = 32;

/** What a stored hash may ask of this machine: a file from elsewhere must not be able to stop it. */
export const scryptCaps = { leastCost: 2 ** 15, mostCost: 2 ** 20, blockSize: 16, parallelization: 16 };

/** Characters a new password has at least and at most. */
export const passwordLength = { least: 12, most: 200 };

/** Why a new password will not do, in words that do not repeat it; '' when it will. */
export function passwordFault(password: string): string {
  const length = [...password.normalize('NFC')].length;
  if (length < passwordLength.least) return `a password has at least ${passwordLength.least} characters`;
  if (length > passwordLength.most) return `a password has at most ${passwordLength.most} characters`;
  if (/\p{Cc}/u.test(password)) return 'a password has no control characters';
  return '';
}

/** Works in the thread pool: nothing else waits for it. */
function derive(password: string, salt: Uint8Array, { cost, blockSize, parallelization }: typeof present) {
  const options = { N: cost, r: blockSize, p: parallelization, maxmem: 256 * cost * blockSize };
  return new Promise<Buffer>((resolve, reject) => {
    // one spelling of accented letters, whatever the keyboard sends (RFC 8265, section 4.2.2)
    scrypt(password.normalize('NFC'), salt, HASH_BYTES, options, (error, key) =>
      error ? reject(error) : resolve(key),
    );
  });
}

export async function hashPassword(password: string): Promise<PasswordHash> {
  const salt = randomBytes(SALT_BYTES);
  const hash = await derive(password, salt, present);
  return { scheme: 'scrypt', ...present, salt: salt.toString('base64url'), hash: hash.toString('base64url') };
}

/** Compares in a time that does not depend on where they differ. */
export async function isPassword(password: string, stored: PasswordHash): Promise<boolean> {
  const found = await derive(password, Buffer.from(stored.salt, 'base64url'), stored);
  const expected = Buffer.from(stored.hash, 'base64url');
  return expected.length === found.length && timingSafeEqual(found, expected);
}

/** Stands in where there is no such person: to try it takes as long as to try a real one, and it never fits. */
export const nobodysPassword: PasswordHash = {
  scheme: 'scrypt',
  ...present,
  salt: randomBytes(SALT_BYTES).toString('base64url'),
  hash: randomBytes(HASH_BYTES).toString('base64url'),
};
