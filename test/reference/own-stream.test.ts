/**
 * Streams of another make against an encoder that shares nothing with our decoder: random `.proto` files, random messages,
 * every kind of field at every kind of place.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { compileDecode } from '../../station/decode/decode.ts';
import { mappedMission } from '../support/mapped-mission.ts';
import { group } from '../support/tiny-mission.ts';
import { descriptor, encode, type Model, models, protoText, readings, type Schema, schemas } from './random-proto.ts';

const T0 = 1_764_064_800_000_000;

const cases = schemas.chain((schema) =>
  fc.record({ schema: fc.constant(schema), sent: fc.array(models(schema), { minLength: 1, maxLength: 4 }) }),
);

/** Every path a parameter in a rate group of its own. */
function compiled(schema: Schema) {
  const wanted = readings(schema);
  const mission = mappedMission({
    proto: protoText(schema),
    message: 't.Top',
    groups: wanted.map((_, i) => group(`g${i}`, 100)),
    fields: Object.fromEntries(wanted.map(({ path }, i) => [`P${i}`, [`g${i}`, path]])),
  });
  const { value, findings } = compileDecode(mission);
  if (!value) throw new Error(JSON.stringify(findings));
  return { wanted, decode: value };
}

describe('a stream of another make, sent by an independent encoder', () => {
  it('reads the same values, whatever the .proto and the message', () => {
    fc.assert(
      fc.property(cases, ({ schema, sent }) => {
        const { wanted, decode } = compiled(schema);
        const top = descriptor(schema);
        sent.forEach((model: Model, n) => {
          const bytes = encode(top, schema, model, T0 + n * 100_000);
          const frame = decode.open(bytes);
          if ('refused' in frame) throw new Error(frame.refused);
          decode.append(frame);
        });
        for (const [i, { path, read }] of wanted.entries()) {
          const raw = decode.groups[i];
          const got = Array.from(raw?.counts[0]?.subarray(0, raw.length) ?? []);
          expect([path, ...got]).toEqual([path, ...sent.flatMap(read)]);
          const times = sent.flatMap((model, n) => read(model).map((_, k) => T0 + n * 100_000 + k * 10_000));
          // an element without a value makes no sample, and leaves its time out
          if (!path.includes('[].')) expect(Array.from(raw?.time.subarray(0, raw.length) ?? [])).toEqual(times);
        }
      }),
      { seed: 31, numRuns: 150 },
    );
  });

  it('refuses or reads whatever a damaged message has become, and never throws', () => {
    fc.assert(
      fc.property(cases, fc.infiniteStream(fc.nat()), ({ schema, sent }, chance) => {
        const { decode } = compiled(schema);
        const top = descriptor(schema);
        const next = () => chance.next().value as number;
        for (const model of sent) {
          const bytes = encode(top, schema, model, T0);
          for (let n = 0; n < 20; n++) {
            const hurt = bytes.slice(0, next() % 3 === 0 ? next() % (bytes.length + 1) : bytes.length);
            if (hurt.length > 0) hurt[next() % hurt.length] = next() & 255;
            const frame = decode.open(hurt);
            if ('refused' in frame) expect(['damaged', 'foreign']).toContain(frame.refused);
            else decode.append(frame);
          }
        }
        for (const raw of decode.groups)
          for (const time of raw.time.subarray(0, raw.length)) expect(time).toSatisfy(Number.isSafeInteger);
      }),
      { seed: 32, numRuns: 60 },
    );
  });
});
