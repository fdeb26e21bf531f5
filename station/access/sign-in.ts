/**
 * Who is at a display. A session is a person; what the person may do is decided when the action is folded, never here.
 * Sessions are kept in memory: when the station stops, all of them, and all links, are void.
 */
import { createHash, randomBytes } from 'node:crypto';
import { setTimeout as delay } from 'node:timers/promises';
import type { AccountBook } from './account-book.ts';

export interface SignedIn {
  /** id of the mission's person; carried by every action */
  person: string;
  name: string;
  /** '' = none: may look, not act */
  position: string;
}

export type Mode = 'live' | 'rehearsal' | 'replay';

/** Who may be given links: the invented people of a rehearsal, or those who were in the replayed room. */
export interface SignInLink extends SignedIn {
  /** path that signs this person in */
  path: string;
}

interface Session {
  who: SignedIn;
  /** milliseconds of the clock after which it has ended */
  until: number;
  /** salt of the password it was opened with; undefined = opened by a link */
  salt: string | undefined;
}

export interface SignInOptions {
  mode: Mode;
  /** of the mission of the day: they say who holds which position */
  people: readonly { id: string; name: string; position: string }[];
  /** keeps the cookies of two stations on one machine apart */
  suffix: string;
  /** live only */
  accounts?: AccountBook;
  /** a monotonic clock in milliseconds */
  nowMs?: () => number;
  /** milliseconds before a wrong id or password is answered */
  refusalDelayMs?: number;
}

/** Sessions kept at once; the oldest gives way. */
const SESSIONS = 1000;
/** Milliseconds a session lasts: longer than any day's flying, shorter than until the next. */
export const SESSION_LASTS = 16 * 3600 * 1000;
const REFUSAL_DELAY = 500;

/** The one who looks at a flight on the station's own machine: known by no account, and allowed nothing. */
export const observer: SignedIn = { person: 'observer', name: 'Observer', position: '' };

const secret = (): string => randomBytes(32).toString('base64url');
/** Looked up by digest, so that the time it takes says nothing of the secret. */
const digest = (text: string): string => createHash('sha256').update(text).digest('base64url');

export class SignIn {
  readonly mode: Mode;
  readonly links: readonly SignInLink[];
  readonly #cookie: string;
  readonly #people: ReadonlyMap<string, string>;
  readonly #accounts: AccountBook | undefined;
  readonly #nowMs: () => number;
  readonly #refusalDelayMs: number;
  readonly #byToken = new Map<string, SignedIn>();
  readonly #sessions = new Map<string, Session>();
  /** times an id and a password did not go together */
  refused = 0;

  /**
   * People get a link each in rehearsal and replay. Live, a person signs in by account; a station that began without any
   * account has one viewing link, and so has an imported recording, in which there were no people.
   */
  constructor({ mode, people, suffix, accounts, nowMs, refusalDelayMs }: SignInOptions) {
    this.mode = mode;
    this.#cookie = `groundchase-${suffix}`;
    this.#accounts = mode === 'live' ? accounts : undefined;
    this.#people = new Map(people.map(({ id, position }) => [id, position]));
    this.#nowMs = nowMs ?? (() => performance.now());
    this.#refusalDelayMs = refusalDelayMs ?? REFUSAL_DELAY;
    this.links = invited(mode, people, this.#accounts).map((who) => {
      const token = secret();
      this.#byToken.set(digest(token), who);
      return { ...who, path: `/sign-in/${token}` };
    });
  }

  /** There are accounts: a person can sign in by id and password. */
  get byPassword(): boolean {
    return (this.#accounts?.size ?? 0) > 0;
  }

  /** Opens a session for whoever holds this token; returns the Set-Cookie value, or undefined for an unknown one. */
  open(token: string): string | undefined {
    const who = this.#byToken.get(digest(token));
    return who && this.#begin(who, undefined);
  }

  /**
   * Opens a session for an account; returns the Set-Cookie value. An id that is not known, a wrong password and a disabled
   * account all give undefined, after the same time.
   */
  async enter(id: string, password: string): Promise<string | 'busy' | undefined> {
    const account = await this.#accounts?.enter(id, password);
    if (account === 'busy') return 'busy';
    if (account === undefined) {
      this.refused++;
      await delay(this.#refusalDelayMs);
      return undefined;
    }
    const position = this.#people.get(account.id) ?? '';
    return this.#begin({ person: account.id, name: account.name, position }, account.password.salt);
  }

  #begin(who: SignedIn, salt: string | undefined): string {
    const session = secret();
    this.#sessions.set(digest(session), { who, salt, until: this.#nowMs() + SESSION_LASTS });
    if (this.#sessions.size > SESSIONS) this.#sessions.delete(this.#sessions.keys().next().value as string);
    return `${this.#cookie}=${session}; Path=/; HttpOnly; SameSite=Strict`;
  }

  /** Who sent this Cookie header; undefined when nobody is signed in. */
  who(cookieHeader: string | undefined): SignedIn | undefined {
    const key = this.#keyOf(cookieHeader);
    return key === undefined || !this.isOpen(key) ? undefined : this.#sessions.get(key)?.who;
  }

  /** The same with the key of the session, by which it can be asked later whether it is still open. */
  seat(cookieHeader: string | undefined): (SignedIn & { key: string }) | undefined {
    const key = this.#keyOf(cookieHeader);
    const who = this.who(cookieHeader);
    return key === undefined || who === undefined ? undefined : { ...who, key };
  }

  /** False once the session ended: signed out, too old, its account disabled, gone, or with another password. */
  isOpen(key: string): boolean {
    this.#accounts?.look();
    const session = this.#sessions.get(key);
    if (session === undefined) return false;
    const account = this.#accounts?.find(session.who.person);
    const holds = session.salt === undefined || (account?.password.salt === session.salt && !account.disabled);
    if (holds && this.#nowMs() < session.until) return true;
    this.#sessions.delete(key);
    return false;
  }

  /** Ends the session of this Cookie header; returns the Set-Cookie value that takes the cookie away. */
  close(cookieHeader: string | undefined): string {
    const key = this.#keyOf(cookieHeader);
    if (key !== undefined) this.#sessions.delete(key);
    return `${this.#cookie}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0`;
  }

  #keyOf(cookieHeader: string | undefined): string | undefined {
    for (const part of (cookieHeader ?? '').split(';')) {
      const [name, value] = part.trim().split('=', 2);
      if (name === this.#cookie && value) return digest(value);
    }
    return undefined;
  }
}

function invited(mode: Mode, people: SignInOptions['people'], accounts: AccountBook | undefined): SignedIn[] {
  if (mode === 'live') return (accounts?.size ?? 0) > 0 ? [] : [observer];
  if (people.length === 0) return [observer];
  return people.map(({ id, name, position }) => ({ person: id, name, position }));
}

/** A request comes from our own page, or from no page at all: only a browser sends an Origin. */
export const isOwnOrigin = (origin: string | undefined, host: string | undefined): boolean =>
  origin === undefined || (host !== undefined && (origin === `http://${host}` || origin === `https://${host}`));

/** A name of this machine's own. A page that had its name pointed here (DNS rebinding) asks for another. */
export function isLoopbackHost(hostHeader: string | undefined): boolean {
  const name = (hostHeader ?? '').replace(/:\d+$/, '').toLowerCase();
  return name === 'localhost' || name === '[::1]' || /^127(\.\d{1,3}){3}$/.test(name);
}
