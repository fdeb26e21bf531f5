/** Names, roles and contrast, by the rules of WCAG 2.1 A and AA. */
import AxeBuilder from 'axe-core';
import { describe, expect, it } from 'vitest';
import { alarmOf } from './alarm-of.ts';
import { useScreen } from './screen.ts';

const screen = useScreen();

describe('accessibility', () => {
  it.each(['watch page with alarms and a call', 'table', 'stop call panel', 'flight panel', 'key list'] as const)(
    'has no violation on the %s',
    async (what) => {
      await screen.open();
      screen.station.alarms = [
        alarmOf({ id: 'nr-low' }),
        alarmOf({
          id: 'tq-high',
          level: 'caution',
          parameter: 'TQ',
          value: 101,
          limit: 100,
          acknowledgedBy: ['test conductor'],
        }),
      ];
      screen.station.calls = [
        {
          number: 1,
          stopClass: 1,
          word: 'KNOCK IT OFF',
          reason: 'rotor noise',
          caller: 'pilot',
          person: 'tc',
          step: 'called',
          steps: [{ step: 'called', person: 'tc', position: 'test conductor', groundUs: screen.station.ground }],
        },
      ];
      screen.station.validity.set('IAS', 12);
      screen.station.sendRoom();
      await screen.page.locator('gc-alarm-line [data-alarm]').waitFor();
      if (what === 'table') await screen.page.keyboard.press('/');
      if (what === 'stop call panel') await screen.page.keyboard.press('F9');
      if (what === 'flight panel') await screen.page.keyboard.press('f');
      if (what === 'key list') await screen.page.keyboard.press('?');
      if (what === 'table') await screen.page.locator('[data-parameter="NR"]').waitFor();
      await screen.page.evaluate(AxeBuilder.source);
      const found = await screen.page.evaluate(async () => {
        const axe = (globalThis as unknown as { axe: typeof AxeBuilder }).axe;
        const result = await axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa'] });
        return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join('; ')}`);
      });
      expect(found).toEqual([]);
    },
  );
});
