/** One line that is not to be seen: typed at a terminal without echo, or handed over by another program. */
import { Trouble } from './command.ts';

/** What is needed of a terminal; `process.stdin` is one when it is a TTY. */
export interface Keyboard {
  setRawMode(raw: boolean): unknown;
  on(event: 'data', listener: (bytes: Buffer) => void): unknown;
  off(event: 'data', listener: (bytes: Buffer) => void): unknown;
  resume(): unknown;
  pause(): unknown;
}

/** Bytes of one line at most. */
const MOST = 4096;

const key = { ctrlC: 3, ctrlD: 4, backspace: 8, newline: 10, enter: 13, ctrlU: 21, escape: 27, delete: 127 } as const;

/** Throws Trouble at Ctrl-C, and at the end of the input. */
export function readHidden(
  prompt: string,
  keyboard: Keyboard,
  screen: { write(text: string): unknown },
): Promise<string> {
  screen.write(prompt);
  keyboard.setRawMode(true);
  return new Promise((resolve, reject) => {
    let typed: number[] = [];
    const end = (trouble?: string) => {
      keyboard.off('data', hear);
      keyboard.setRawMode(false);
      keyboard.pause();
      screen.write('\n');
      if (trouble === undefined) resolve(Buffer.from(typed).toString('utf8'));
      else reject(new Trouble(trouble));
      typed = [];
    };
    const hear = (bytes: Buffer) => {
      for (const byte of bytes) {
        if (byte === key.enter || byte === key.newline) return end();
        if (byte === key.ctrlC) return end('stopped; nothing was changed');
        if (byte === key.ctrlD && typed.length === 0) return end('no password was typed; nothing was changed');
        // an arrow or another key that is none: the rest of what it sends is no text either
        if (byte === key.escape) return;
        if (byte === key.ctrlU) typed = [];
        else if (byte === key.backspace || byte === key.delete) dropCharacter(typed);
        else if (byte >= 32 && typed.length < MOST) typed.push(byte);
      }
    };
    keyboard.on('data', hear);
    keyboard.resume();
  });
}

/** Takes the last character away, all bytes of it (UTF-8: those after the first are 10xxxxxx). */
function dropCharacter(bytes: number[]): void {
  let last = bytes.pop();
  while (last !== undefined && (last & 0xc0) === 0x80) last = bytes.pop();
}

/** All of the input, which is one line; its end of line is left out. */
export async function readPiped(input: AsyncIterable<Buffer | string>): Promise<string> {
  const parts: Buffer[] = [];
  let length = 0;
  for await (const part of input) {
    parts.push(Buffer.from(part));
    length += part.length;
    if (length > MOST) throw new Trouble(`more than ${MOST} bytes on standard input: one line is expected`);
  }
  const text = Buffer.concat(parts)
    .toString('utf8')
    .replace(/\r?\n$/, '');
  if (text.includes('\n')) throw new Trouble('more than one line on standard input');
  return text;
}
