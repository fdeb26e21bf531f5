/** The OpenAPI description of what the station answers over HTTP, made from the schemas the answers are held to. */
import { z } from 'zod';
import { parameterEntry, parametersAnswer, parametersQuery } from './parameters.ts';

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
    paths: {
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
    },
    components: {
      securitySchemes: {
        session: {
          type: 'apiKey',
          in: 'cookie',
          name: 'groundchase-PORT',
          description: 'The cookie that a sign-in link sets; its name ends in the port of the station.',
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
        Parameter: schemaOf(parameterEntry),
        Parameters: {
          ...answer,
          properties: {
            ...answer.properties,
            parameters: { ...answer.properties['parameters'], items: ref('Parameter') },
          },
        },
        Trouble: schemaOf(trouble),
      },
    },
  };
}
