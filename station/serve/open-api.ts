/** The OpenAPI description of what the station answers over HTTP, made from the schemas the answers are held to. */
import { z } from 'zod';
import { alarmMetricsAnswer } from './alarm-metrics.ts';
import { parameterEntry, parametersAnswer, parametersQuery } from './parameters.ts';
import { signInForm } from './sign-in.ts';
import { whatIfAnswer, whatIfQuestion } from './what-if.ts';

const session = z.strictObject({
  person: z.string().describe('id in mission.yaml'),
  name: z.string(),
  position: z.string().describe('the position held on the day'),
  mode: z.enum(['live', 'rehearsal', 'replay']),
});
const trouble = z.strictObject({ error: z.string().describe('what is wrong, in words') });

/** JSON Schema without the key that names its dialect: OpenAPI 3.1 takes the same one for granted. */
function schemaOf(schema: z.ZodType): Record<string, unknown> {
  const { $schema: _, ...rest } = z.toJSONSchema(schema) as Record<string, unknown>;
  return rest;
}

const readingsAnswer = z.strictObject({
  readings: z.array(z.strictObject({ name: z.string().describe('unit, and what it is'), value: z.number() })),
});

const ref = (name: string) => ({ $ref: `#/components/schemas/${name}` });
const json = (description: string, schema: object) => ({ description, content: { 'application/json': { schema } } });
const notSignedIn = json('not signed in', ref('Trouble'));
const noMission = json('no mission is in force yet', ref('Trouble'));

/** Each question of a query as a parameter of its own. What travels is text; the schema says what it must spell. */
function queryParameters(query: z.ZodObject): object[] {
  const { properties } = z.toJSONSchema(query, { io: 'input' }) as {
    properties: Record<string, { description?: string }>;
  };
  return Object.entries(properties).map(([name, { description, ...schema }]) => ({
    name,
    in: 'query',
    required: false,
    ...(description && { description }),
    schema,
  }));
}

/** What there is to know. */
const readingPaths = () => ({
  '/api/v1/session': {
    get: {
      summary: 'Who is signed in',
      security: [{ session: [] }],
      responses: { 200: json('the person', ref('Session')), 401: notSignedIn },
    },
  },
  '/api/v1/mission': {
    get: {
      summary: 'The mission baseline in force',
      security: [{ session: [] }],
      responses: {
        200: json('as protocol/mission.ts describes it', ref('Mission')),
        401: notSignedIn,
        503: noMission,
      },
    },
  },
  '/api/v1/parameters': {
    get: {
      summary: 'What the mission says of its parameters, received and derived',
      security: [{ session: [] }],
      parameters: queryParameters(parametersQuery),
      responses: {
        200: json('those that fit', ref('Parameters')),
        400: json('a question that is not understood', ref('Trouble')),
        401: notSignedIn,
        503: noMission,
      },
    },
  },
  '/api/v1/openapi.json': {
    get: {
      summary: 'This description',
      security: [{ session: [] }],
      responses: { 200: json('OpenAPI 3.1', { type: 'object' }), 401: notSignedIn },
    },
  },
  '/healthz': {
    get: { summary: 'The state of the station', responses: { 200: json('the state', { type: 'object' }) } },
  },
});

/** What is worked out of the flight. */
const flightPaths = () => ({
  '/api/v1/alarm-metrics': {
    get: {
      summary: 'How the alarms of this flight have performed so far',
      security: [{ session: [] }],
      responses: {
        200: json('as of the newest entry', ref('AlarmMetrics')),
        401: notSignedIn,
        503: noMission,
      },
    },
  },
  '/api/v1/limits/{id}/readings': {
    get: {
      summary: 'Other numbers that a limit keeps: the seconds beyond each step of a peak, say',
      security: [{ session: [] }],
      parameters: [{ name: 'id', in: 'path', required: true, schema: { type: 'string' } }],
      responses: {
        200: json('as of the newest sample; none for most kinds', schemaOf(readingsAnswer)),
        401: notSignedIn,
        404: json('no such limit', ref('Trouble')),
      },
    },
  },
  '/api/v1/what-if': {
    post: {
      summary: 'What other values of a limit would have meant for the flight so far',
      description:
        'By change-replay of the recording, from its start; one question at a time for each person: another takes the place of the last. It ends when nobody waits for the answer.',
      security: [{ session: [] }],
      requestBody: {
        required: true,
        content: { 'application/json': { schema: schemaOf(whatIfQuestion) } },
      },
      responses: {
        200: json('the difference list, and up to when it was looked', ref('WhatIf')),
        400: json('values that the limit cannot have, or a question that is not understood', ref('Trouble')),
        401: notSignedIn,
        403: json('asked by a page that is not of this station', ref('Trouble')),
        404: json('there is no such limit', ref('Trouble')),
        409: json('this person asked something else meanwhile', ref('Trouble')),
        413: json('a body too large', ref('Trouble')),
        415: json('a body that is not JSON', ref('Trouble')),
        503: json('no recording yet, or too many questions at once', ref('Trouble')),
      },
    },
  },
});

/** The report in its three forms. */
const reportPaths = () => {
  const trouble = { 500: 'the recording cannot be read', 503: 'no recording yet, or too many reports at once' };
  const words = (type: string) =>
    Object.fromEntries(
      Object.entries(trouble).map(([status, description]) => [
        status,
        { description, content: { [type]: { schema: type === 'text/plain' ? { type: 'string' } : ref('Trouble') } } },
      ]),
    );
  const path = (summary: string, type: string, schema: object, signIn: object) => ({
    get: {
      summary,
      security: [{ session: [] }],
      responses: {
        200: {
          description: 'of the flight so far, or of the recording that is replayed',
          content: { [type]: { schema } },
        },
        ...signIn,
        ...words(type === 'application/json' ? type : 'text/plain'),
      },
    },
  });
  const away = { 303: { description: 'not signed in: leads to the sign-in page' } };
  return {
    '/report': path('The report as a page', 'text/html', { type: 'string' }, away),
    '/report.pdf': path('The report on paper', 'application/pdf', { type: 'string' }, { 401: notSignedIn }),
    '/api/v1/report': path('The report as data', 'application/json', ref('FlightReport'), { 401: notSignedIn }),
  };
};

/** What goes on paper. */
const sheetPath = (summary: string) => ({
  get: {
    summary,
    description: 'One page of HTML that loads nothing, made for A4; it bears the sheet id that the screens show.',
    security: [{ session: [] }],
    responses: {
      200: { description: 'the sheet', content: { 'text/html': { schema: { type: 'string' } } } },
      401: notSignedIn,
      503: noMission,
    },
  },
});
const sheetPaths = () => ({
  '/sheets/brief': sheetPath('The brief sheet of the baseline in force'),
  '/sheets/stop': sheetPath('The stop sheet of the baseline in force, for when the tool is dead'),
});

/** Coming and going. */
const signInPaths = () => ({
  '/sign-in': {
    post: {
      summary: 'Signs a person in by id and password; live only. Answers with a page or the display',
      requestBody: {
        required: true,
        content: { 'application/x-www-form-urlencoded': { schema: schemaOf(signInForm) } },
      },
      responses: {
        303: { description: 'signed in: sets the cookie and leads to the display' },
        403: { description: 'id and password do not go together, or it was asked by a page of somebody else' },
      },
    },
  },
  '/sign-out': {
    post: {
      summary: 'Ends the session and its displays',
      responses: { 303: { description: 'leads to the sign-in page' } },
    },
  },
});

export function openApi(): object {
  const answer = schemaOf(parametersAnswer) as { properties: Record<string, object> };
  return {
    openapi: '3.1.0',
    info: {
      title: 'Groundchase station',
      version: '1',
      description:
        'Decision support for a trained team: not certified, commands nothing, sends nothing to the aircraft. Voice is primary.',
    },
    paths: { ...readingPaths(), ...flightPaths(), ...sheetPaths(), ...reportPaths(), ...signInPaths() },
    components: {
      securitySchemes: {
        session: {
          type: 'apiKey',
          in: 'cookie',
          name: 'groundchase-PORT',
          description: 'The cookie that signing in sets; its name ends in the port of the station.',
        },
      },
      schemas: {
        Session: schemaOf(session),
        Mission: {
          type: 'object',
          required: ['baselineId', 'name', 'parameters', 'derived', 'limits', 'pages'],
          properties: { baselineId: { type: 'string' }, name: { type: 'string' } },
          additionalProperties: true,
        },
        FlightReport: {
          type: 'object',
          description: 'as protocol/report.ts describes it; a number that is not known is null',
          required: ['file', 'mission', 'flight', 'chain', 'margins', 'exceedances', 'maintenance', 'link', 'cautions'],
          properties: { file: { type: 'string' }, cautions: { type: 'array', items: { type: 'string' } } },
          additionalProperties: true,
        },
        Parameter: schemaOf(parameterEntry),
        Parameters: {
          ...answer,
          properties: {
            ...answer.properties,
            parameters: { ...answer.properties['parameters'], items: ref('Parameter') },
          },
        },
        AlarmMetrics: schemaOf(alarmMetricsAnswer),
        WhatIf: schemaOf(whatIfAnswer),
        Trouble: schemaOf(trouble),
      },
    },
  };
}
