/** `GET /api/v1/parameters`: what the mission in force says of its parameters, searched as the display's table is. */
import type { Request, Response } from 'express';
import { z } from 'zod';
import { type CatalogueEntry, catalogue, searchedText, searchFor } from '../../protocol/catalogue.ts';
import type { Mission } from '../../protocol/mission.ts';

/** Entries in one answer, when the question does not say. */
const USUAL = 1000;
const MOST = 10_000;

const wholeNumber = (least: number, most: number) =>
  z
    .string()
    .regex(/^\d{1,7}$/, `a whole number from ${least} to ${most}`)
    .transform(Number)
    .pipe(z.int().min(least, `at least ${least}`).max(most, `at most ${most}`));

/** What may be asked. */
export const parametersQuery = z.strictObject({
  search: z
    .string()
    .max(200, 'at most 200 characters')
    .default('')
    .describe(
      'words, all of which must occur, whatever the case: in id, name, description, unit, rate group, rate, origin (calibration with source and date, formula), states and limits',
    ),
  skip: wholeNumber(0, 1_000_000).default(0).describe('entries to leave out first'),
  limit: wholeNumber(1, MOST).default(USUAL).describe('entries in the answer at most'),
});

export const parameterEntry = z.strictObject({
  id: z.string(),
  name: z.string(),
  description: z.string(),
  unit: z.string().describe('"1" for a pure number or a discrete'),
  kind: z.enum(['received', 'derived']),
  group: z.string().describe('rate group'),
  rate: z.number().describe('samples a second; 0 = every sample has its own time'),
  staleAfter: z.number().describe('seconds of ground time without a sample after which it is stale'),
  origin: z.string().describe('how the value comes about, in words'),
  calibrationSource: z.string().describe('empty where there is none'),
  calibrationDate: z.string().describe('YYYY-MM-DD; empty where there is none'),
  formula: z.string().describe('empty for a received parameter'),
  states: z.record(z.string(), z.string()).optional().describe('names of the values of a discrete'),
  range: z.tuple([z.number(), z.number()]).optional().describe('values outside are not physical'),
  limits: z.array(z.string()).describe('ids of the limits that watch it'),
}) satisfies z.ZodType<CatalogueEntry>;

export const parametersAnswer = z.strictObject({
  baselineId: z.string().describe('of the mission in force'),
  found: z.int().describe('how many fit the search, those left out included'),
  parameters: z.array(parameterEntry).describe('received ones first, each in the order of its file'),
});

/** Answers from the mission that is in force at the moment of asking. */
export function answerParameters(mission: () => Mission | undefined) {
  let known: { mission: Mission; entries: CatalogueEntry[]; texts: string[] } | undefined;
  return (request: Request, response: Response) => {
    const now = mission();
    if (now === undefined) {
      response.status(503).json({ error: 'no mission is in force yet' });
      return;
    }
    const query = parametersQuery.safeParse(request.query);
    if (!query.success) {
      const [issue] = query.error.issues;
      const where = issue?.path.join('.') ?? '';
      response.status(400).json({ error: `${where === '' ? '' : `${where}: `}${issue?.message ?? 'not understood'}` });
      return;
    }
    if (known?.mission !== now) {
      const entries = catalogue(now).filter(({ condition }) => !condition);
      known = { mission: now, entries, texts: entries.map(searchedText) };
    }
    const { search, skip, limit } = query.data;
    const { entries, texts } = known;
    const fits = searchFor(search);
    const found = entries.filter((_, i) => fits(texts[i] as string));
    const parameters = found.slice(skip, skip + limit);
    response.json({ baselineId: now.baselineId, found: found.length, parameters } satisfies z.infer<
      typeof parametersAnswer
    >);
  };
}
