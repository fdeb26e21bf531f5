import { Readable } from 'node:stream';
import { describe, expect, it } from 'vitest';
import { type Keyboard, readHidden, readPiped } from './hidden-line.ts';

/** A keyboard that remembers whether it echoes. */
function keyboard() {
  const listeners = new Set<(bytes: Buffer) => void>();
  const state = { raw: false, paused: true };
  const board: Keyboard = {
    setRawMode: (raw) => (state.raw = raw),
    on: (_, listener) => listeners.add(listener),
    off: (_, listener) => listeners.delete(listener),
    resume: () => (state.paused = false),
    pause: () => (state.paused = true),
  };
  const type = (text: string | Uint8Array) => {
    for (const listener of [...listeners]) listener(Buffer.from(text));
  };
  return { board, state, listeners, type };
}

async function typed(...keys: (string | Uint8Array)[]): Promise<{ line: string; shown: string }> {
  const { board, state, listeners, type } = keyboard();
  let shown = '';
  const line = readHidden('Password: ', board, { write: (text) => (shown += text) });
  expect(state).toEqual({ raw: true, paused: false });
  for (const text of keys) type(text);
  try {
    return { line: await line, shown };
  } finally {
    expect(state).toEqual({ raw: false, paused: true });
    expect(listeners.size).toBe(0);
  }
}

describe('a line typed at a terminal', () => {
  it.each<[string, (string | Uint8Array)[], string]>([
    ['ends at Enter', ['secret words\r'], 'secret words'],
    ['may come key by key', [...'abc', '\n'], 'abc'],
    ['is corrected by backspace, whole characters at a time', ['abé\u007f\u007fc\r'], 'ac'],
    ['is begun anew by Ctrl-U', ['wrong\u0015right\r'], 'right'],
    ['holds no arrow keys', ['ab', '\u001b[D', 'c\r'], 'abc'],
    ['may be cut within a letter', [Uint8Array.of(0xc3), Uint8Array.of(0xa9), '\r'], 'é'],
    ['is nothing when nothing is typed', ['\u007f\r'], ''],
  ])('%s', async (_, keys, line) => {
    expect((await typed(...keys)).line).toBe(line);
  });
  it('is not shown', async () => {
    expect((await typed('secret words\r')).shown).toBe('Password: \n');
  });
  it('is given up by Ctrl-C, and by Ctrl-D before anything is typed', async () => {
    await expect(typed('sec\u0003')).rejects.toThrow('stopped');
    await expect(typed('\u0004')).rejects.toThrow('no password');
  });
});

describe('a line from another program', () => {
  const piped = (...parts: string[]) => readPiped(Readable.from(parts.map((part) => Buffer.from(part))));
  it('loses its end of line and nothing else', async () => {
    expect(await piped(' a word ', 'more \r\n')).toBe(' a word more ');
    expect(await piped('without')).toBe('without');
  });
  it('is one line, and not without end', async () => {
    await expect(piped('one\ntwo\n')).rejects.toThrow('more than one line');
    await expect(piped('x'.repeat(5000))).rejects.toThrow('one line is expected');
  });
});
