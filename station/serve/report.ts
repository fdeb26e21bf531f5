/** The report of the flight: `/report` as a page, `/report.pdf` on paper, `/api/v1/report` as data. For those signed in. */
import type { Express, Request, Response } from 'express';
import type { Front, ReportForm } from './front.ts';
import { signedIn } from './signed-in.ts';

export function answerReport(app: Express, front: Front): void {
  const page = (request: Request, response: Response, next: () => void) => {
    if (front.visitor(request.headers.cookie) !== undefined) return next();
    response.set('Cache-Control', 'no-store').redirect(303, '/');
  };
  app.get('/report', page, answerIn(front, 'html'));
  app.get('/report.pdf', signedIn(front.visitor), answerIn(front, 'pdf'));
  app.get('/api/v1/report', signedIn(front.visitor), answerIn(front, 'json'));
}

const types: Record<ReportForm, string> = {
  html: 'text/html; charset=utf-8',
  pdf: 'application/pdf',
  json: 'application/json; charset=utf-8',
};

const answerIn = (front: Front, form: ReportForm) => async (_request: Request, response: Response) => {
  const gone = new AbortController();
  response.on('close', () => gone.abort());
  response.set('Cache-Control', 'no-store');
  const made = await front.report(form, gone.signal);
  if (response.destroyed) return;
  if (!('body' in made)) {
    response.status(made.status);
    if (form === 'json') response.json({ error: made.error });
    else response.type('text').send(`No report: ${made.error}.\n`);
    return;
  }
  // the page brings the only style it may have, and a policy that lets nothing run
  if (made.policy !== '') response.set('Content-Security-Policy', made.policy);
  response.set('Content-Disposition', `inline; filename="${made.name}.${form}"`);
  response.set('Content-Type', types[form]);
  response.end(made.body);
};
