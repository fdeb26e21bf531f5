/** The accounts as a running station knows them: read again when the file changed, and asked for passwords in turn. */
import { statSync } from 'node:fs';
import { type Account, AccountError, readAccounts } from './account-file.ts';
import { isPassword, nobodysPassword } from './password.ts';

/** Passwords that may wait to be looked at; each takes memory and tenths of a second of one core. */
const WAITING = 20;

export class AccountBook {
  readonly file: string;
  #accounts = new Map<string, Account>();
  #seen = '';
  #waiting = 0;
  #turn: Promise<unknown> = Promise.resolve();
  readonly #tell: (trouble: string) => void;
  /** why the file as it now is cannot be used: what was known before it goes on holding; '' when all is well */
  trouble = '';

  /**
   * Throws an AccountError when the file cannot be used. One that is not there holds no account. `tell` hears of trouble
   * that comes later, and, by an empty text, that it is over.
   */
  constructor(file: string, tell: (trouble: string) => void = () => undefined) {
    this.file = file;
    this.#tell = () => undefined;
    this.look();
    if (this.trouble !== '') throw new AccountError(this.trouble);
    this.#tell = tell;
  }

  get size(): number {
    return this.#accounts.size;
  }

  find(id: string): Account | undefined {
    return this.#accounts.get(id);
  }

  /** Reads the file again if it is another one than before; true when the accounts changed. */
  look(): boolean {
    const stat = statSync(this.file, { throwIfNoEntry: false });
    const seen = stat === undefined ? 'none' : `${stat.ino} ${stat.mtimeMs} ${stat.size} ${stat.mode}`;
    if (seen === this.#seen) return false;
    // a file that was there and is gone: somebody is at it, or a disk went away; nobody is thrown out of a flight for that
    if (stat === undefined && this.#accounts.size > 0) {
      this.#troubled(`${this.file}: is not there any more; the accounts known before go on holding`);
      return false;
    }
    this.#seen = seen;
    try {
      this.#accounts = new Map(readAccounts(this.file).map((account) => [account.id, account]));
      this.#troubled('');
      return true;
    } catch (error) {
      this.#troubled((error as Error).message);
      return false;
    }
  }

  #troubled(trouble: string): void {
    if (trouble === this.trouble) return;
    this.trouble = trouble;
    this.#tell(trouble);
  }

  /**
   * The account this password opens, or undefined; 'busy' when too many wait already. Who is asked for does not show in
   * the time it takes.
   */
  async enter(id: string, password: string): Promise<Account | 'busy' | undefined> {
    if (this.#waiting >= WAITING) return 'busy';
    this.look();
    const account = this.#accounts.get(id);
    const stored = account?.password ?? nobodysPassword;
    this.#waiting++;
    const fits = this.#turn.then(() => isPassword(password, stored));
    this.#turn = fits.catch(() => undefined);
    try {
      const isRight = await fits;
      return isRight && account !== undefined && !account.disabled ? account : undefined;
    } finally {
      this.#waiting--;
    }
  }
}
