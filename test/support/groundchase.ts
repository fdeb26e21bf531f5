/** The command `groundchase` as a child process: what a person at the keyboard gets. */
import { type ChildProcess, spawn } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { waitUntil } from './wait-until.ts';

const script = fileURLToPath(new URL('../../station/command/groundchase.ts', import.meta.url));
const root = fileURLToPath(new URL('../../', import.meta.url));

export interface Ended {
  code: number | null;
  signal: string | null;
  stdout: string;
  stderr: string;
}

/** A running command. */
export class Running {
  stdout = '';
  stderr = '';
  readonly child: ChildProcess;
  readonly ended: Promise<Ended>;
  #over = false;

  /**
   * `by` = what Node runs: the command itself, or what a person's `npx groundchase` starts. `input` is what it finds on
   * standard input.
   */
  constructor(words: readonly string[], by: readonly string[] = ['--import', 'tsx', script], input = '') {
    const child = spawn(process.execPath, [...by, ...words], {
      cwd: root,
      stdio: ['pipe', 'pipe', 'pipe'],
    });
    this.child = child;
    // a command that reads nothing may be gone before it is written
    child.stdin.on('error', () => undefined).end(input);
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      this.stdout += text;
    });
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      this.stderr += text;
    });
    this.ended = new Promise((resolve, reject) => {
      child.on('error', reject);
      child.on('close', (code, signal) => {
        this.#over = true;
        resolve({ code, signal, stdout: this.stdout, stderr: this.stderr });
      });
    });
  }

  /** The first line of standard output that fits; fails at once when the command ends without it. */
  line(pattern: RegExp, within = 30_000): Promise<string> {
    return waitUntil(
      `a line like ${pattern} comes`,
      () => {
        const complete = this.stdout.split('\n').slice(0, -1);
        const found = complete.find((line) => pattern.test(line));
        if (found === undefined && this.#over)
          throw new Error(`the command ended without a line like ${pattern}:\n${this.stdout}\n${this.stderr}`);
        return found;
      },
      within,
    );
  }

  /** The address a station prints: its first line that begins with http. */
  address(): Promise<string> {
    return this.line(/^https?:/);
  }

  /** Asks it to end, as a supervisor does, and waits until it has; after `within` ms by force. */
  async stop(signal: NodeJS.Signals = 'SIGTERM', within = 10_000): Promise<Ended> {
    if (!this.#over) this.child.kill(signal);
    const force = setTimeout(() => this.child.kill('SIGKILL'), within);
    try {
      return await this.ended;
    } finally {
      clearTimeout(force);
    }
  }
}

/** For `by`: the way in for people. */
export const frontDoor = [fileURLToPath(new URL('../../.ci/groundchase.mjs', import.meta.url))];

/** Runs a command to its end, with something on standard input. */
export const groundchaseWith = (input: string, ...words: string[]): Promise<Ended> =>
  new Running(words, undefined, input).ended;

/** Runs a command to its end. */
export const groundchase = (...words: string[]): Promise<Ended> => new Running(words).ended;
