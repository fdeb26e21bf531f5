/**
 * The accounts of a station's machine: one JSON file outside every mission folder, one record a person. It says who a
 * person is, and nothing of what the person may do: the position comes from the mission of the day.
 */
import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { dirname } from 'node:path';
import { z } from 'zod';
import { type PasswordHash, scryptCaps } from './password.ts';

export interface Account {
  /** as in `people` of mission.yaml */
  id: string;
  name: string;
  password: PasswordHash;
  /** ISO 8601, UTC */
  created: string;
  disabled: boolean;
}

/** Trouble with the file or with what is asked of it, in words. */
export class AccountError extends Error {
  override name = 'AccountError';
}

/** The same form as ids in a mission folder. */
const accountId = z.string().regex(/^[A-Za-z][A-Za-z0-9_-]{0,59}$/);
const accountName = z.string().regex(/^\P{C}{1,80}$/u);

/** Why this cannot be the id or the name of an account; '' when it can. */
export const idFault = (id: string): string =>
  accountId.safeParse(id).success
    ? ''
    : 'an id has letters, digits, hyphens and underscores, begins with a letter, and is at most 60 long';
export const nameFault = (name: string): string =>
  accountName.safeParse(name).success && name.trim() !== '' ? '' : 'a name is 1 to 80 characters of plain text';

const isPowerOfTwo = (n: number): boolean => n > 0 && Number.isInteger(Math.log2(n));
const bytes = (length: number) => z.base64url().refine((text) => Buffer.from(text, 'base64url').length === length);

const accountsFile = z.strictObject({
  version: z.literal(1),
  accounts: z
    .array(
      z.strictObject({
        id: accountId,
        name: accountName,
        password: z.strictObject({
          scheme: z.literal('scrypt'),
          cost: z.int().min(scryptCaps.leastCost).max(scryptCaps.mostCost).refine(isPowerOfTwo, 'a power of two'),
          blockSize: z.int().min(1).max(scryptCaps.blockSize),
          parallelization: z.int().min(1).max(scryptCaps.parallelization),
          salt: bytes(16),
          hash: bytes(32),
        }),
        created: z.iso.datetime(),
        disabled: z.boolean(),
      }),
    )
    .max(10_000)
    .refine((all) => new Set(all.map(({ id }) => id)).size === all.length, 'two accounts have the same id'),
}) satisfies z.ZodType<{ version: 1; accounts: Account[] }>;

/** Largest file that is read. */
const MOST_BYTES = 16 << 20;
/** Milliseconds after which a file half written is taken for one that a crash left behind. */
const LEFT_BEHIND = 10_000;

/** A file that is not there holds no account. Throws an AccountError for one that others may read, or that makes no sense. */
export function readAccounts(file: string): Account[] {
  const stat = statSync(file, { throwIfNoEntry: false });
  if (stat === undefined) return [];
  if (!stat.isFile()) throw new AccountError(`${file}: not a file`);
  if (stat.size > MOST_BYTES) throw new AccountError(`${file}: ${stat.size} bytes, at most ${MOST_BYTES} expected`);
  if (process.platform !== 'win32' && (stat.mode & 0o077) !== 0)
    throw new AccountError(`${file}: others on this machine may read or change it; "chmod 600 ${file}" mends that`);
  let found: unknown;
  try {
    found = JSON.parse(readFileSync(file, 'utf8'));
  } catch (error) {
    // the message of a JSON error quotes what it found there
    const why = error instanceof SyntaxError ? 'it is not JSON' : (error as Error).message;
    throw new AccountError(`${file}: cannot be read: ${why}`);
  }
  const checked = accountsFile.safeParse(found);
  if (checked.success) return checked.data.accounts;
  const issue = checked.error.issues[0];
  throw new AccountError(
    `${file}: not a file of accounts: ${issue?.path.join('.') || 'at the top'}: ${issue?.message}`,
  );
}

/**
 * Reads, changes and writes the accounts as one step: another change at the same moment is refused, and whoever reads
 * meanwhile finds the old file or the new one, never half of one.
 */
export function changeAccounts(file: string, change: (accounts: Account[]) => Account[]): void {
  const fresh = `${file}.new`;
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const left = statSync(fresh, { throwIfNoEntry: false });
  if (left !== undefined && Date.now() - left.mtimeMs > LEFT_BEHIND) rmSync(fresh, { force: true });
  let fd: number;
  try {
    fd = openSync(fresh, 'wx', 0o600);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    throw new AccountError(`${file}: is being changed by somebody else at this moment; try again`);
  }
  try {
    const text = `${JSON.stringify({ version: 1, accounts: change(readAccounts(file)) }, null, 2)}\n`;
    writeFileSync(fd, text);
    fsyncSync(fd);
    renameSync(fresh, file);
  } finally {
    closeSync(fd);
    if (existsSync(fresh)) rmSync(fresh, { force: true });
  }
}
