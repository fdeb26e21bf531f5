/** `POST /api/v1/what-if`: what other values of a limit would have meant for the flight so far. */
import express, { type Express, type NextFunction, type Request, type Response } from 'express';
import { z } from 'zod';
import { differenceKinds, type WhatIfAnswer } from '../../protocol/difference.ts';
import { levels } from '../../protocol/limit.ts';
import type { LimitValues } from '../../protocol/limit-change.ts';
import type { Front, Visitor } from './front.ts';
import type { Plain } from './plain.ts';
import { fromOwnPage, signedIn } from './signed-in.ts';

/** A question is a few hundred bytes. */
const QUESTION_BYTES = 8 << 10;

const values = z
  .strictObject(Object.fromEntries(levels.map((level) => [level, z.number().optional()])))
  .describe('value of each level it is to have');

/** What may be asked. */
export const whatIfQuestion = z.strictObject({
  limit: z.string().min(1).max(200).describe('id of a limit of the mission in force'),
  values: z
    .strictObject({
      above: values.optional(),
      below: values.optional(),
      persistence: z.int().min(0).describe('microseconds of aircraft time'),
      hysteresis: z.number().min(0),
    })
    .describe('all that can be changed of it in flight, in the unit of what it measures'),
});

const occurrence = z
  .strictObject({
    from: z.int().describe('aircraft time it was raised, microseconds since the Unix epoch, UTC'),
    to: z.int().describe('when it cleared; of the newest sample looked at while it stands'),
    stands: z.boolean().describe('it had not cleared when what was looked at ended'),
    level: z.enum([...levels, '']).describe('highest level it reached'),
    value: z.number().nullable().describe('at that level; null where there is none'),
    limitValue: z.number().nullable(),
  })
  .describe('one alarm from being raised to being cleared');

export const whatIfAnswer = z.strictObject({
  limit: z.string(),
  from: z.int().describe('aircraft time of the first sample looked at; 0 when there was none'),
  to: z
    .int()
    .describe(
      'aircraft time of the newest sample looked at: what was received in the last moments may not be among it',
    ),
  samples: z.int().describe('samples looked at'),
  differences: z.array(
    z.strictObject({
      alarm: z.string().describe('id of the limit or data-quality condition'),
      family: z.enum(['aircraft', 'data']),
      kinds: z.array(z.enum(differenceKinds)).describe('"new" and "lost" stand alone; of the others several may hold'),
      before: occurrence.nullable().describe('in the flight as it was; null for a new one'),
      after: occurrence.nullable().describe('with the other values; null for a lost one'),
      startsBy: z.int().describe('microseconds it begins later; negative: earlier; 0 for a new and a lost one'),
      lastsBy: z.int().describe('microseconds it lasts longer; negative: shorter'),
    }),
  ),
}) satisfies z.ZodType<Plain<WhatIfAnswer>>;

export function answerWhatIf(app: Express, front: Front): void {
  const jsonOnly = (request: Request, response: Response, next: NextFunction) => {
    if (request.is('application/json')) return next();
    response.status(415).json({ error: 'a question in JSON is expected (content type application/json)' });
  };
  const body = express.json({ limit: QUESTION_BYTES });

  app.post(
    '/api/v1/what-if',
    signedIn(front.visitor),
    fromOwnPage(front.isOwnOrigin),
    jsonOnly,
    body,
    async (request, response) => {
      const asked = whatIfQuestion.safeParse(request.body);
      if (!asked.success) {
        const issue = asked.error.issues[0];
        const where = issue?.path.join('.') ?? '';
        response
          .status(400)
          .json({ error: `${where === '' ? '' : `${where}: `}${issue?.message ?? 'not understood'}` });
        return;
      }
      const gone = new AbortController();
      response.on('close', () => gone.abort());
      const { person } = response.locals['visitor'] as Visitor;
      const { limit } = asked.data;
      // JSON knows no undefined: a level that is not there is left out
      const question = { limit, values: asked.data.values as LimitValues };
      const outcome = await front.whatIf(person, question, gone.signal);
      if (response.destroyed) return;
      if ('answer' in outcome) response.json(outcome.answer);
      else response.status(outcome.status).json({ error: outcome.error });
    },
  );
}
