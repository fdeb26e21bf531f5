/** Doors within the pages: for those who are signed in, and for requests that come from our own pages. */
import type { NextFunction, Request, Response } from 'express';
import type { Front, Visitor } from './front.ts';

/** Lets pass who is signed in, with the person in `response.locals.visitor`; others get 401. */
export const signedIn =
  (visitorOf: (cookieHeader: string | undefined) => Visitor | undefined) =>
  (request: Request, response: Response, next: NextFunction) => {
    response.set('Cache-Control', 'no-store');
    const visitor = visitorOf(request.headers.cookie);
    if (visitor === undefined) {
      response.status(401).json({ error: 'not signed in' });
      return;
    }
    response.locals['visitor'] = visitor;
    next();
  };

/** Turns away what a page of somebody else's sent with our cookie: 403. For everything that is not a GET. */
export const fromOwnPage =
  (isOwnOrigin: Front['isOwnOrigin']) => (request: Request, response: Response, next: NextFunction) => {
    if (isOwnOrigin(request.headers.origin, request.headers.host)) return next();
    response.status(403).json({ error: 'this request came from a page that is not of this station' });
  };
