/** `POST /sign-in` and `POST /sign-out`: forms of a browser, answered with pages. */
import express, { type Express, type NextFunction, type Request, type Response } from 'express';
import { z } from 'zod';
import type { Front } from './front.ts';
import { type SignInPage, signInPage } from './sign-in-page.ts';
import { fromOwnPage } from './signed-in.ts';

/** A form of an id and a password has no more bytes. */
const FORM_BYTES = 4 << 10;

/** What is asked of who signs in. */
export const signInForm = z.strictObject({
  id: z.string().min(1).max(60).describe('as in mission.yaml'),
  password: z.string().min(1).max(400),
});

/** The same words whatever was wrong. */
const WRONG = 'That id and password do not go together, or the account is disabled.';

/** `page` gives what the sign-in page says now. */
export function answerSignIn(app: Express, front: Front, page: () => SignInPage): void {
  const again = (response: Response, status: number, trouble: string) =>
    response.status(status).send(signInPage({ ...page(), trouble }));

  const formOnly = (request: Request, response: Response, next: NextFunction) => {
    response.set('Cache-Control', 'no-store');
    if (request.is('application/x-www-form-urlencoded')) return next();
    again(response, 415, 'Sign in by the form on this page.');
  };
  const ownPage = fromOwnPage(front.isOwnOrigin);
  const form = express.urlencoded({ extended: false, limit: FORM_BYTES, parameterLimit: 4 });

  app.post('/sign-in', ownPage, formOnly, form, async (request, response) => {
    if (!front.byPassword()) return again(response, 403, 'There are no accounts here.');
    const asked = signInForm.safeParse(request.body);
    if (!asked.success) return again(response, 400, 'An id and a password are needed.');
    const cookie = await front.enter(asked.data.id, asked.data.password);
    if (cookie === undefined) return again(response, 403, WRONG);
    if (cookie === 'busy') {
      response.set('Retry-After', '5');
      return again(response, 503, 'Too many people are signing in at this moment. Try again.');
    }
    response.set('Set-Cookie', cookie).redirect(303, '/');
  });

  app.post('/sign-out', ownPage, (request, response) => {
    response.set('Cache-Control', 'no-store');
    response.set('Set-Cookie', front.closeSession(request.headers.cookie)).redirect(303, '/');
  });
}
