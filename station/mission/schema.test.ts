/** The JSON Schemas that editors get, against files that are right and files that are not. */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { goodFiles } from '../../test/support/mission-folder.ts';
import { type FileName, fileNames, jsonSchema } from './schema.ts';

const rehearsal = fileURLToPath(new URL('../../replay/rehearsal/mission', import.meta.url));

/** A checker made from the written schema alone, as an editor makes one. */
const checker = (name: FileName) => z.fromJSONSchema(JSON.parse(JSON.stringify(jsonSchema(name))));
const isFine = (name: FileName, text: string) => checker(name).safeParse(parse(text)).success;

/** Every key that may be written, with its schema, as `a/b/c`. */
function keysOf(schema: unknown, path: string): [path: string, description: unknown][] {
  if (typeof schema !== 'object' || schema === null) return [];
  if (Array.isArray(schema)) return schema.flatMap((inner) => keysOf(inner, path));
  const { properties = {}, items, anyOf, prefixItems, additionalProperties } = schema as Record<string, object>;
  const own = Object.entries(properties).flatMap(([key, inner]): [string, unknown][] => [
    [`${path}/${key}`, (inner as { description?: string }).description],
    ...keysOf(inner, `${path}/${key}`),
  ]);
  return [...own, ...[items, anyOf, prefixItems, additionalProperties].flatMap((inner) => keysOf(inner, path))];
}

describe('the JSON Schema of a mission file', () => {
  it.each(readdirSync(rehearsal).filter((name) => name.endsWith('.yaml')))('accepts %s of the rehearsal', (name) => {
    const result = checker(name as FileName).safeParse(parse(readFileSync(join(rehearsal, name), 'utf8')));
    expect(result.error?.issues).toBeUndefined();
  });

  it('refuses what the loader finds of the wrong shape', () => {
    for (const [name, text] of Object.entries(goodFiles)) expect(isFine(name as FileName, text), name).toBe(true);
    const wrong: [FileName, string, string][] = [
      ['mission.yaml', 'position: test director', 'position: test directer'],
      ['mission.yaml', 'stream: SMALL\n', ''],
      ['parameters.yaml', 'format: i16', 'format: i17'],
      ['parameters.yaml', 'decimals: 1', 'decimal: 1'],
      ['parameters.yaml', 'id: NR', 'id: 9R'],
      ['parameters.yaml', 'rate: 100', 'rate: -1'],
      ['derived.yaml', 'formula: IAS', 'formula: 5'],
      ['limits.yaml', '97', '[97]'],
      ['pages.yaml', 'height: 0.5', 'height: 5'],
    ];
    for (const [name, right, instead] of wrong) {
      const text = goodFiles[name as keyof typeof goodFiles];
      expect(text).toContain(right);
      expect(isFine(name, text.replace(right, instead)), `${name}: ${instead}`).toBe(false);
    }
  });

  it('says of every key what it is for', () => {
    for (const name of fileNames) {
      const keys = keysOf(jsonSchema(name), name).filter(([path]) => !/\/(above|below)\//.test(path));
      expect(keys.length).toBeGreaterThan(1);
      expect(keys.filter(([, description]) => typeof description !== 'string').map(([path]) => path)).toEqual([]);
    }
  });
});
