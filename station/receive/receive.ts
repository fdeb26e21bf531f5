/**
 * Inputs to entries: everything that reaches the station becomes an entry here, is stamped with ground time, and waits
 * in one bounded queue in the order of its stamp. What does not fit is counted. Twenty milliseconds without a frame
 * become a tick.
 */
import { type ActionEntry, type Entry, TICK } from '../../protocol/entry.ts';
import { type GroundTime, groundTime, type Microseconds } from '../../protocol/time.ts';
import { type Input, type InputCaps, inputCaps, parseListenAddress, type Take } from './input.ts';
import { openTcp } from './tcp.ts';
import { openUdp } from './udp.ts';
import { openWebSocket } from './websocket.ts';

const doors = { udp: openUdp, tcp: openTcp, ws: openWebSocket };

/** Opens one input; throws a StartError in words when that cannot be. */
export function openInput(address: string, take: Take, caps: InputCaps = inputCaps): Promise<Input> {
  const at = parseListenAddress(address);
  return doors[at.scheme](at, caps, take);
}

/** What a person does, before it has its ground time. */
export type Attempt = Omit<ActionEntry, 'kind' | 'ground'>;

export interface ReceiveOptions {
  now: () => GroundTime;
  /** takes the entries, one by one, in order */
  sink: (entry: Entry) => void;
  /** called when the entries at hand have been taken, so that what they brought goes out together */
  drained: () => void;
  /** entries that may wait */
  queueEntries?: number;
  /** bytes of frames that may wait */
  queueBytes?: number;
  /** milliseconds of work before the sockets are read again */
  turnMs?: number;
}

export class Receive {
  readonly #now: () => GroundTime;
  readonly #sink: (entry: Entry) => void;
  readonly #drained: () => void;
  readonly #queueEntries: number;
  readonly #queueBytes: number;
  readonly #turnMs: number;
  readonly inputs: Input[] = [];
  /** entries dropped because the queue was full */
  dropped = 0;
  #queue: Entry[] = [];
  #head = 0;
  #bytes = 0;
  #turn: NodeJS.Immediate | undefined;
  #timer: NodeJS.Timeout | undefined;
  #last = groundTime(0);
  #started = false;
  #closed = false;

  constructor(options: ReceiveOptions) {
    this.#now = options.now;
    this.#sink = options.sink;
    this.#drained = options.drained;
    this.#queueEntries = options.queueEntries ?? 1 << 14;
    this.#queueBytes = options.queueBytes ?? 64 << 20;
    this.#turnMs = options.turnMs ?? 8;
  }

  /** Opens an input; its frames become entries at once. Returns it with the address it really has. */
  async listen(address: string, caps: InputCaps = inputCaps): Promise<Input> {
    let name = address;
    const input = await openInput(address, (bytes) => this.frame(name, bytes), caps);
    name = input.address;
    this.inputs.push(input);
    return input;
  }

  frame(input: string, bytes: Uint8Array): void {
    if (this.#queue.length - this.#head >= this.#queueEntries || this.#bytes + bytes.length > this.#queueBytes) {
      this.dropped++;
      return;
    }
    this.#bytes += bytes.length;
    this.#push({ kind: 'frame', ground: this.stamp(), input, bytes });
  }

  /** An action is never dropped: the socket it comes from bounds how many there are. Returns the entry it became. */
  act(attempt: Attempt): Entry {
    return this.#push({ kind: 'action', ground: this.stamp(), ...attempt });
  }

  /** The system clock was found at this distance from ground time, microseconds. */
  clock(difference: Microseconds): void {
    this.#push({ kind: 'clock', ground: this.stamp(), difference });
  }

  /** Ground time for the next entry: now, or that of the last entry if the clock says less. */
  stamp(): GroundTime {
    const now = this.#now();
    return now > this.#last ? now : this.#last;
  }

  /** Entries before these reached up to `ground`: none that follows is earlier. */
  resumeAfter(ground: GroundTime): void {
    if (ground > this.#last) this.#last = ground;
  }

  /** Begins to hand entries over and to watch for silence; until then what comes in waits. */
  start(): void {
    this.#started = true;
    this.#last = this.stamp();
    this.#schedule();
    this.#watch(TICK);
  }

  /** Emits a tick when the last entry is 20 ms of ground time old. Returns the ground time left until one is due. */
  quiet(): number {
    const left = this.#last + TICK - this.#now();
    if (left > 0) return left;
    this.#push({ kind: 'tick', ground: this.stamp() });
    return TICK;
  }

  /** Takes all that waits, now. */
  drain(): void {
    this.#take(Number.POSITIVE_INFINITY);
  }

  /** Closes the inputs in reverse order, then hands over what still waits. */
  async close(): Promise<void> {
    this.#closed = true;
    clearTimeout(this.#timer);
    for (const input of this.inputs.reverse()) await input.close();
    clearImmediate(this.#turn);
    this.#turn = undefined;
    if (this.#started) this.drain();
  }

  #push(entry: Entry): Entry {
    this.#last = entry.ground;
    this.#queue.push(entry);
    this.#schedule();
    return entry;
  }

  #schedule(): void {
    if (!this.#started) return;
    this.#turn ??= setImmediate(() => {
      this.#turn = undefined;
      this.#take(performance.now() + this.#turnMs);
    });
  }

  #take(until: number): void {
    let taken = 0;
    while (this.#head < this.#queue.length) {
      const entry = this.#queue[this.#head++] as Entry;
      if (entry.kind === 'frame') this.#bytes -= entry.bytes.length;
      this.#sink(entry);
      // Looking at the clock costs about as much as a small frame.
      if ((++taken & 7) === 0 && performance.now() > until) break;
    }
    if (this.#head === this.#queue.length) {
      this.#queue = [];
      this.#head = 0;
    } else {
      if (this.#head > 1024) {
        this.#queue.splice(0, this.#head);
        this.#head = 0;
      }
      this.#schedule();
    }
    if (taken > 0) this.#drained();
  }

  #watch(left: number): void {
    if (this.#closed) return;
    this.#timer = setTimeout(
      () => {
        // After a long turn of work frames may lie unread in the sockets: they are read before silence is declared.
        setImmediate(() => {
          if (!this.#closed) this.#watch(this.quiet());
        });
      },
      Math.max(1, left / 1000),
    );
  }
}
