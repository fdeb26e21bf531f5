/** A display without a screen: signs in by a link, speaks to /ws/v1, and keeps what it hears. */
import { WebSocket } from 'ws';
import type { Action } from '../../protocol/entry.ts';
import { actionToWire, decodeToDisplay, encodeToStation, type ToDisplay, type ToStation } from '../../protocol/wire.ts';
import { waitUntil } from './wait-until.ts';

export class TestDisplay {
  readonly socket: WebSocket;
  readonly heard: ToDisplay[] = [];
  /** false: updates are not acknowledged */
  drawing = true;
  closed: { code: number; reason: string } | undefined;

  constructor(address: string, cookie: string) {
    this.socket = new WebSocket(`${address.replace('http', 'ws')}/ws/v1`, { headers: { cookie } });
    this.socket.on('message', (bytes: Buffer) => {
      const message = decodeToDisplay(bytes);
      this.heard.push(message);
      if (message.update && this.drawing) this.say({ drawn: { sequence: message.update.sequence } });
    });
    this.socket.on('close', (code, reason) => {
      this.closed = { code, reason: reason.toString() };
    });
    this.socket.on('error', () => undefined);
  }

  /** Resolves when the station has said welcome. */
  static async open(link: string): Promise<TestDisplay> {
    const display = new TestDisplay(new URL(link).origin, await cookieOf(link));
    await waitUntil('a display is welcome', () => display.heard.some((message) => message.welcome));
    return display;
  }

  say(message: ToStation): void {
    if (this.socket.readyState === WebSocket.OPEN) this.socket.send(encodeToStation(message));
  }

  act(request: number, action: Action): void {
    this.say({ action: { request, action: actionToWire(action) } });
  }

  /** The newest room. */
  room() {
    return this.heard.findLast((message) => message.room)?.room;
  }

  updates() {
    return this.heard.flatMap((message) => message.update ?? []);
  }

  result(request: number) {
    return this.heard.find((message) => message.actionResult?.request === request)?.actionResult;
  }
}

/** Follows a sign-in link as a browser would; gives the Cookie header of the session. */
export async function cookieOf(link: string): Promise<string> {
  const answer = await fetch(link, { redirect: 'manual' });
  const cookie = answer.headers.get('set-cookie');
  if (cookie === null) throw new Error(`${link} signed nobody in: ${answer.status}`);
  return cookie.split(';')[0] as string;
}
