/** The day's printed sheets, of the baseline in force: for those who are signed in. */
import type { Express } from 'express';
import { briefSheet } from '../../replay/report/brief-sheet.ts';
import type { Sheet } from '../../replay/report/sheet.ts';
import { stopSheet } from '../../replay/report/stop-sheet.ts';
import type { Mission } from '../../protocol/mission.ts';
import type { Front } from './front.ts';
import { signedIn } from './signed-in.ts';

/** By the last part of their address. */
export const sheets: Readonly<Record<string, (mission: Mission) => Sheet>> = { brief: briefSheet, stop: stopSheet };

export function answerSheets(app: Express, front: Front): void {
  for (const [name, make] of Object.entries(sheets)) {
    app.get(`/sheets/${name}`, signedIn(front.visitor), (_request, response) => {
      const mission = front.mission();
      if (mission === undefined) {
        response.status(503).json({ error: 'no mission is in force yet' });
        return;
      }
      const { html, policy } = make(mission);
      response.set('Content-Security-Policy', policy).type('html').send(html);
    });
  }
}
