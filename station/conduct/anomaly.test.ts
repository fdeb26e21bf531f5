import { describe, expect, it } from 'vitest';
import type { ConductAct, ConductAction } from '../../protocol/conduct.ts';
import { act, compiled, entry, missionOf, nothingKnown, NOW } from '../../test/support/conduct.ts';
import { cardOf, family, point } from '../../test/support/step-family.ts';
import { parameter } from '../../test/support/tiny-mission.ts';
import { Anomalies } from './anomaly.ts';
import type { Moment } from './part.ts';

const action = (of: ConductAct, more: Partial<ConductAction> = {}): ConductAction => ({
  ...{ act: of, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 },
  ...more,
});
const mission = missionOf({
  anomalies: [{ text: 'a rattle behind the mast', source: 'Flight 14' }],
  families: [family()],
  cards: [cardOf(point(80))],
  parameters: [parameter('A', 'main'), parameter('VIB', 'main', { unit: 'g' })],
});
const now = { aircraft: NOW, ground: 60_000_000 } as Moment;
const doing = (anomalies: Anomalies, of: ConductAct, more: Partial<ConductAction>): string => {
  const wanted = action(of, more);
  return anomalies.act(entry('test director', wanted), wanted, now);
};

describe('anomalies', () => {
  it('of earlier flights are open from the start', () => {
    expect(new Anomalies(mission).list).toEqual([
      {
        ...{ number: 1, text: 'a rattle behind the mast (Flight 14)', point: '' },
        opened: { person: '', position: '', aircraft: 0, ground: 0 },
      },
    ]);
  });

  it('are opened with what was seen, at a point or none, and closed with how they were run to ground', () => {
    const anomalies = new Anomalies(mission);
    expect(doing(anomalies, 'open anomaly', { text: ' ' })).toBe('an anomaly is opened with what was seen');
    expect(doing(anomalies, 'open anomaly', { text: 'smoke', subject: 'L85' })).toBe('L85 is no point of the cards');
    expect(doing(anomalies, 'open anomaly', { text: ' smoke ', subject: 'L80' })).toBe('');
    expect(anomalies.list[1]).toMatchObject({ number: 2, text: 'smoke', point: 'L80', opened: { aircraft: NOW } });
    expect(doing(anomalies, 'close anomaly', { number: 2 })).toBe('an anomaly is closed with how it was run to ground');
    expect(doing(anomalies, 'close anomaly', { number: 3, text: 'x' })).toBe('there is no anomaly 3');
    expect(doing(anomalies, 'close anomaly', { number: 0, text: 'x' })).toBe('there is no anomaly 0');
    expect(doing(anomalies, 'close anomaly', { number: 2, text: ' oil on the pipe ' })).toBe('');
    expect(anomalies.list[1]?.closed).toMatchObject({ text: 'oil on the pipe', person: 'test-director' });
    expect(doing(anomalies, 'close anomaly', { number: 2, text: 'again' })).toBe('anomaly 2 is closed already');
  });

  it('are opened by anybody, closed by the test director, and hold every step while they are open', () => {
    const conduct = compiled(mission);
    const clear = action('decide step', { subject: 'level', choice: 'clear', value: 80 });
    const why = 'no step is cleared while anomaly 1 is open: a rattle behind the mast (Flight 14)';
    expect(act(conduct, 'test conductor', clear)).toBe(why);
    const close = action('close anomaly', { number: 1, text: 'tightened' });
    expect(conduct.act(entry('engine', close, { session: 'b' }), NOW, nothingKnown).reason).toMatch(
      /^engine may not close anomaly; test director may$/,
    );
    const open = entry('engine', action('open anomaly', { text: 'oil' }), { session: 'c' });
    expect(conduct.act(open, NOW, nothingKnown).reason).toBe('');
    const director = entry('test director', close, { session: 'd' });
    expect(conduct.act(director, NOW, nothingKnown).reason).toBe('');
    expect(conduct.act(entry('test conductor', clear, { session: 'e' }), NOW, nothingKnown).reason).toBe(
      'no step is cleared while anomaly 2 is open: oil',
    );
  });

  it('stay as they are over saving, and those that another mission brings join them', () => {
    const anomalies = new Anomalies(mission);
    doing(anomalies, 'close anomaly', { number: 1, text: 'tightened' });
    doing(anomalies, 'open anomaly', { text: 'smoke' });
    const restored = new Anomalies({
      ...mission,
      anomalies: [{ text: 'a hum', source: 'Flight 15' }, ...(mission.anomalies ?? [])],
    });
    restored.restore(JSON.parse(JSON.stringify(anomalies.save())));
    expect(restored.list.slice(0, 2)).toEqual(anomalies.list);
    expect(restored.list.slice(2)).toMatchObject([{ number: 3, text: 'a hum (Flight 15)' }]);
  });
});
