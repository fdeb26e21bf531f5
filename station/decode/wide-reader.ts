/**
 * Reads messages of other makes with protobufjs's generated decoders, under caps that these lack: fields in one message,
 * and 64-bit integers that are not rounded in silence. One above 2^53 comes out as a bigint, so that nobody takes it for
 * an exact number.
 */
import '../../protocol/plain-numbers.ts';
import protobuf from 'protobufjs/minimal.js';

/** Fields, submessages and elements of unpacked lists in one message; each may cost an object. */
export const FIELD_CAP = 1 << 16;

/** What the library declares for 64 bits; without its Long class it really gives a number. */
type Declared = ReturnType<protobuf.Reader['int64']>;

/** Bits carried by each byte of a varint. */
const VARINT_BITS = 7n;

export class WideReader extends protobuf.Reader {
  private fields = 0;

  override tag(): number {
    if (++this.fields > FIELD_CAP) throw new RangeError(`more than ${FIELD_CAP} fields in one message`);
    return super.tag();
  }

  override int64(): Declared {
    const start = this.pos;
    const value = super.int64();
    return isExact(value) ? value : declared(BigInt.asIntN(64, this.varint(start)));
  }

  override uint64(): Declared {
    const start = this.pos;
    const value = super.uint64();
    return isExact(value) ? value : declared(this.varint(start));
  }

  override sint64(): Declared {
    const start = this.pos;
    const value = super.sint64();
    if (isExact(value)) return value;
    const zigzag = this.varint(start);
    return declared((zigzag >> 1n) ^ -(zigzag & 1n));
  }

  override fixed64(): Declared {
    const start = this.pos;
    const value = super.fixed64();
    return isExact(value) ? value : declared(this.eightBytes(start).getBigUint64(0, true));
  }

  override sfixed64(): Declared {
    const start = this.pos;
    const value = super.sfixed64();
    return isExact(value) ? value : declared(this.eightBytes(start).getBigInt64(0, true));
  }

  /** The varint that began at `start` and was just read, exactly. */
  private varint(start: number): bigint {
    let value = 0n;
    for (let at = this.pos - 1; at >= start; at--) {
      value = (value << VARINT_BITS) | BigInt((this.buf[at] as number) & 127);
    }
    return BigInt.asUintN(64, value);
  }

  private eightBytes(start: number): DataView {
    return new DataView(this.buf.buffer, this.buf.byteOffset + start, 8);
  }
}

const isExact = (value: unknown): boolean => Number.isSafeInteger(value);
const declared = (value: bigint): Declared => value as unknown as Declared;
