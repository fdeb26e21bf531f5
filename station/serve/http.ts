/** HTTP: the display's files, the sign-in page, and what a display asks for before its WebSocket opens. */
import { existsSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import { join } from 'node:path';
import express, { type NextFunction, type Request, type Response } from 'express';
import helmet from 'helmet';
import { listenError, StartError } from '../start-error.ts';
import type { Front } from './front.ts';
import { openApi } from './open-api.ts';
import { answerParameters } from './parameters.ts';
import { answerReport } from './report.ts';
import { answerSheets } from './sheets.ts';
import { signedIn } from './signed-in.ts';
import { answerSignIn } from './sign-in.ts';
import { signInPage, signInStyle } from './sign-in-page.ts';
import { answerWhatIf } from './what-if.ts';

/**
 * Only what we serve ourselves may run, load, style or connect; small pictures and fonts lie in the bundle as data. The
 * browser tests run under it too.
 */
export const contentPolicy = [
  "default-src 'self'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' data:",
  "font-src 'self' data:",
  "worker-src 'self'",
  "connect-src 'self'",
  "object-src 'none'",
  "base-uri 'none'",
  "form-action 'self'",
  "frame-ancestors 'none'",
].join('; ');

/**
 * Nothing is upgraded to TLS here: on loopback there is none. With no referrer at all a browser would send our own forms
 * without their origin (Fetch standard, "append a request Origin header"), and they could not be told from others'.
 */
const headers = helmet({
  contentSecurityPolicy: false,
  strictTransportSecurity: false,
  referrerPolicy: { policy: 'same-origin' },
});

export function frontApp(front: Front): express.Express {
  const app = express();
  const page = () => ({ mission: front.missionName(), mode: front.mode, byPassword: front.byPassword() });
  app.disable('x-powered-by');
  app.use(headers);
  app.use((_request, response, next) => {
    response.set('Content-Security-Policy', contentPolicy);
    next();
  });
  app.use((request, response, next) => {
    if (front.isOwnHost(request.headers.host)) return next();
    response.status(421).type('text').send('This station answers to the names of its own machine only.\n');
  });
  app.get('/healthz', (_request, response) => {
    response.set('Cache-Control', 'no-store').json(front.health());
  });
  app.get('/sign-in.css', (_request, response) => {
    response.type('css').send(signInStyle);
  });
  app.get('/sign-in/:token', (request, response) => {
    response.set('Cache-Control', 'no-store');
    const cookie = front.openSession(request.params.token);
    if (cookie === undefined) {
      const trouble = 'This sign-in link is not known here. Links last until the station that printed them stops.';
      response.status(403).send(signInPage({ ...page(), trouble }));
      return;
    }
    response.set('Set-Cookie', cookie).redirect(303, '/');
  });
  answerSignIn(app, front, page);
  app.get('/api/v1/session', signedIn(front.visitor), (_request, response) => {
    response.json({ ...response.locals['visitor'], mode: front.mode });
  });
  app.get('/api/v1/mission', signedIn(front.visitor), (_request, response) => {
    const json = front.missionJson();
    if (json === '') response.status(503).json({ error: 'no mission is in force yet' });
    else response.type('json').send(json);
  });
  app.get('/api/v1/parameters', signedIn(front.visitor), answerParameters(front.mission));
  app.get('/api/v1/alarm-metrics', signedIn(front.visitor), (_request, response) => {
    const metrics = front.alarmMetrics();
    if (metrics === undefined) response.status(503).json({ error: 'no mission is in force yet' });
    else response.json(metrics);
  });
  app.get('/api/v1/limits/:id/readings', signedIn(front.visitor), (request, response) => {
    const { id } = request.params;
    const readings = front.readings(id as string);
    if (readings === undefined) response.status(404).json({ error: 'there is no such limit' });
    else response.json({ readings });
  });
  answerWhatIf(app, front);
  answerSheets(app, front);
  answerReport(app, front);
  app.get('/api/v1/openapi.json', signedIn(front.visitor), (_request, response) => {
    response.json(openApi());
  });
  app.get('/', (request, response) => {
    response.set('Cache-Control', 'no-store');
    if (front.visitor(request.headers.cookie) === undefined) {
      response.send(signInPage(page()));
    } else if (!isDisplayBuilt(front.display)) {
      response.status(503).type('text').send(`${displayMissing}\n`);
    } else {
      response.sendFile(join(front.display, 'index.html'));
    }
  });
  // File names under assets/ carry a hash of their content.
  app.use('/assets', express.static(join(front.display, 'assets'), { immutable: true, maxAge: '1y', index: false }));
  app.use(express.static(front.display, { index: false }));
  app.use((_request, response) => {
    response.status(404).type('text').send('Not here.\n');
  });
  app.use(answerError);
  return app;
}

/** What the parsers of bodies and addresses throw, in our words; anything else is ours to mend, and says nothing. */
function answerError(
  error: { status?: number; type?: string },
  request: Request,
  response: Response,
  next: NextFunction,
): void {
  if (response.headersSent) return next(error);
  const status = error.status !== undefined && error.status >= 400 && error.status < 500 ? error.status : 500;
  const words =
    error.type === 'entity.parse.failed'
      ? 'The body is not JSON.'
      : error.type === 'entity.too.large'
        ? 'The body is too large.'
        : status < 500
          ? 'This request makes no sense.'
          : 'Trouble.';
  response.status(status);
  if (request.path.startsWith('/api/')) response.json({ error: words });
  else response.type('text').send(`${words}\n`);
}

export const displayMissing = 'The display has not been built. "node .ci/set-up.mjs start" in the checkout builds it.';
export const isDisplayBuilt = (folder: string): boolean => existsSync(join(folder, 'index.html'));

const loopback = /^(localhost|::1|127(\.\d{1,3}){3})$/;

/** Listens on loopback only; throws a StartError in words for any other address or a port in use. */
export async function listenHttp(app: express.Express, host: string, port: number): Promise<Server> {
  if (!loopback.test(host)) {
    throw new StartError(
      `${host}: refused. A display address outside this machine needs TLS and accounts, and this station has neither yet; it listens on 127.0.0.1 only.`,
    );
  }
  const server = createServer({ requestTimeout: 30_000, headersTimeout: 10_000 }, app);
  server.maxConnections = 1000;
  await new Promise<void>((resolve, reject) => {
    server.once('error', (error) => reject(listenError(`http://${host}:${port}`, port, error)));
    server.listen({ host, port }, () => resolve());
  });
  return server;
}
