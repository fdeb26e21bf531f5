/**
 * Cuts a stream of bytes into messages: each is preceded by its length as a protobuf varint. A machine of two states
 * fed any slices: the same bytes give the same messages however they are cut.
 */
export class SizeDelimited {
  readonly #cap: number;
  readonly #take: (message: Uint8Array) => void;
  /** the length is being read: what it is so far, and how many bits that is */
  #length = 0;
  #bits = 0;
  /** the body is being read: undefined while it is the length */
  #body: Uint8Array | undefined;
  #filled = 0;

  constructor(cap: number, take: (message: Uint8Array) => void) {
    this.#cap = cap;
    this.#take = take;
  }

  /** True while a message has begun and is not complete. */
  get unfinished(): boolean {
    return this.#bits > 0 || this.#body !== undefined;
  }

  /** Returns '' or the reason why the stream cannot be followed any further. */
  push(bytes: Uint8Array): string {
    let i = 0;
    while (i < bytes.length) {
      if (this.#body === undefined) {
        const byte = bytes[i++] as number;
        this.#length += (byte & 127) * 2 ** this.#bits;
        this.#bits += 7;
        if (byte & 128) {
          // 28 bits hold more than any cap; a fifth byte is no length of ours.
          if (this.#bits >= 28) return 'not size-delimited';
          continue;
        }
        if (this.#length === 0) return 'not size-delimited';
        if (this.#length > this.#cap) return 'message too large';
        this.#body = new Uint8Array(this.#length);
        this.#filled = 0;
      }
      const body = this.#body;
      const part = Math.min(body.length - this.#filled, bytes.length - i);
      body.set(bytes.subarray(i, i + part), this.#filled);
      this.#filled += part;
      i += part;
      if (this.#filled < body.length) continue;
      this.#body = undefined;
      this.#length = 0;
      this.#bits = 0;
      this.#take(body);
    }
    return '';
  }
}
