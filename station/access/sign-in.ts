/**
 * Who is at a display. A session is a person; what the person may do is decided when the action is folded, never here.
 * Everything is kept in memory: when the station stops, all links and sessions are void.
 */
import { createHash, randomBytes } from 'node:crypto';

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

/** Sessions kept at once; the oldest gives way. */
const SESSIONS = 1000;

/** The one who looks at a flight on the station's own machine: known by no account, and allowed nothing. */
export const observer: SignedIn = { person: 'observer', name: 'Observer', position: '' };

const secret = (): string => randomBytes(32).toString('base64url');
/** Looked up by digest, so that the time it takes says nothing of the secret. */
const digest = (text: string): string => createHash('sha256').update(text).digest('base64url');

export class SignIn {
  readonly mode: Mode;
  readonly links: readonly SignInLink[];
  readonly #cookie: string;
  readonly #byToken = new Map<string, SignedIn>();
  readonly #sessions = new Map<string, SignedIn>();

  /**
   * `people` get a link each in rehearsal and replay. Live, a person needs an account; until there are accounts the
   * links hold one viewing link; so they do for an imported recording, in which there were no people. `suffix` keeps the cookies of two stations on one machine apart.
   */
  constructor(mode: Mode, people: readonly { id: string; name: string; position: string }[], suffix: string) {
    this.mode = mode;
    this.#cookie = `groundchase-${suffix}`;
    const invited =
      mode === 'live' || people.length === 0
        ? [observer]
        : people.map(({ id, name, position }) => ({ person: id, name, position }));
    this.links = invited.map((who) => {
      const token = secret();
      this.#byToken.set(digest(token), who);
      return { ...who, path: `/sign-in/${token}` };
    });
  }

  /** Opens a session for whoever holds this token; returns the Set-Cookie value, or undefined for an unknown one. */
  open(token: string): string | undefined {
    const who = this.#byToken.get(digest(token));
    if (who === undefined) return undefined;
    const session = secret();
    this.#sessions.set(digest(session), who);
    if (this.#sessions.size > SESSIONS) this.#sessions.delete(this.#sessions.keys().next().value as string);
    return `${this.#cookie}=${session}; Path=/; HttpOnly; SameSite=Strict`;
  }

  /** Who sent this Cookie header; undefined when nobody is signed in. */
  who(cookieHeader: string | undefined): SignedIn | undefined {
    for (const part of (cookieHeader ?? '').split(';')) {
      const [name, value] = part.trim().split('=', 2);
      if (name === this.#cookie && value) return this.#sessions.get(digest(value));
    }
    return undefined;
  }

  /** Ends every session of a person. */
  revoke(person: string): void {
    for (const [key, who] of this.#sessions) if (who.person === person) this.#sessions.delete(key);
  }
}

/** An upgrade comes from our own page, or from no page at all: only a browser sends an Origin. */
export const isOwnOrigin = (origin: string | undefined, host: string | undefined): boolean =>
  origin === undefined || (host !== undefined && (origin === `http://${host}` || origin === `https://${host}`));

/** A name of this machine's own. A page that had its name pointed here (DNS rebinding) asks for another. */
export function isLoopbackHost(hostHeader: string | undefined): boolean {
  const name = (hostHeader ?? '').replace(/:\d+$/, '').toLowerCase();
  return name === 'localhost' || name === '[::1]' || /^127(\.\d{1,3}){3}$/.test(name);
}
