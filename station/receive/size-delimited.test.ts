import fc from 'fast-check';
import { expect, it } from 'vitest';
import { SizeDelimited } from './size-delimited.ts';

const varint = (value: number): number[] => (value < 128 ? [value] : [(value & 127) | 128, ...varint(value >>> 7)]);

/** Feeds `bytes` in slices of the given lengths, round and round. */
function cut(bytes: Uint8Array, slices: readonly number[], cap = 1 << 20) {
  const messages: number[][] = [];
  const parser = new SizeDelimited(cap, (message) => messages.push([...message]));
  let fault = '';
  for (let at = 0, n = 0; at < bytes.length && fault === ''; n++) {
    const end = at + (slices[n % slices.length] as number);
    fault = parser.push(bytes.subarray(at, end));
    at = end;
  }
  return { messages, fault, unfinished: parser.unfinished };
}

it('gives the same messages however the stream is cut', () => {
  fc.assert(
    fc.property(
      fc.array(fc.uint8Array({ minLength: 1, maxLength: 400 }), { maxLength: 12 }),
      fc.array(fc.integer({ min: 1, max: 300 }), { minLength: 1, maxLength: 8 }),
      (sent, slices) => {
        const bytes = Uint8Array.from(sent.flatMap((message) => [...varint(message.length), ...message]));
        expect(cut(bytes, slices)).toEqual({ messages: sent.map((m) => [...m]), fault: '', unfinished: false });
      },
    ),
    { seed: 7101, numRuns: 200 },
  );
});

it('fed rubbish, gives the same answer however it is cut, and keeps no more than the cap', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 300 }), fc.integer({ min: 1, max: 50 }), (bytes, slice) => {
      const whole = cut(bytes, [Math.max(1, bytes.length)], 200);
      const sliced = cut(bytes, [slice], 200);
      expect(sliced).toEqual(whole);
      for (const message of whole.messages) expect(message.length).toBeLessThanOrEqual(200);
    }),
    { seed: 7102, numRuns: 300 },
  );
});
