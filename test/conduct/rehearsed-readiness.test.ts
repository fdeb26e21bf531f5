/** The rehearsal made ready as its people would: the demonstration mission over the whole pipeline, on a healthy morning. */
import { expect, it } from 'vitest';
import type { ConductAct, ConductAction, ReadinessView } from '../../protocol/conduct.ts';
import { shuntNames } from '../../replay/rehearsal/shunts.ts';
import { Pipeline } from '../../station/pipeline.ts';
import { type Act, flownEntries } from '../support/flown.ts';
import { demonstrationMission, scenarioFile } from '../support/rehearsal.ts';

const mission = demonstrationMission();

const by = (at: number, position: string, act: ConductAct, more: Partial<ConductAction> = {}): Act => ({
  ...{ at, position, person: mission.people.find((one) => one.position === position)?.id ?? '' },
  action: { ...{ act, subject: '', number: 0, choice: '', text: '', value: 0, aircraft: 0 }, ...more },
});

/** Positions in the order they answer: the director last. */
const answering = mission.people
  .map(({ position }) => position as string)
  .sort((a) => (a === 'test director' ? 1 : -1));

it('is ready when everything its mission plans is done, and told in between what is left', { timeout: 60_000 }, () => {
  const acts: Act[] = [
    by(1, '', 'report recorder', { choice: 'verified', text: 'read back' }),
    by(5, 'instrumentation', 'begin check', { choice: 'zero' }),
    ...shuntNames.map((subject, i) => by(13 + 7 * i, 'instrumentation', 'begin check', { subject, choice: 'shunt' })),
    by(62, 'instrumentation', 'end check'),
    by(64.2, 'flight control', 'begin sweep'),
    by(84.5, 'flight control', 'end sweep'),
    ...mission.people.flatMap(({ position }, i) =>
      (mission.readiness?.notices ?? []).map(({ id }, n) =>
        by(84.6 + 0.01 * (10 * n + i), position, 'acknowledge notice', { subject: id }),
      ),
    ),
    by(85.1, 'test conductor', 'open poll'),
    ...answering.map((position, i) => by(85.11 + 0.01 * i, position, 'answer poll', { choice: 'ready' })),
  ];
  const pipeline = new Pipeline({ gather: 0 });
  const view = (): ReadinessView => pipeline.conduct()?.readiness as ReadinessView;
  const left: string[][] = [];
  for (const entry of flownEntries(mission, scenarioFile('morning-check'), acts)) {
    if (entry.kind === 'action') left.push(view().missing.map(({ position, text }) => `${position}: ${text}`));
    const { results } = pipeline.step(entry);
    for (const { accepted, reason } of results) expect([accepted, reason]).toEqual([true, '']);
  }
  // at the first act everything is left to do, at the opening of the poll nothing is
  expect(left[0]).toContain('instrumentation: morning check not complete');
  expect(left[0]).toContain('flight control: control sweep not done');
  expect(left[0]?.filter((text) => text.includes('notice not acknowledged'))).toHaveLength(
    mission.people.length * (mission.readiness?.notices.length ?? 0),
  );
  expect(left.at(-1)).toEqual([]);
  const { ids, missing, poll, unwatched, weight } = view();
  expect({ missing, unwatched, ready: poll.ready }).toEqual({ missing: [], unwatched: [], ready: true });
  expect(ids).toMatchObject({ match: true, differences: [] });
  expect(weight?.now.state).toBe('inside');
  // tanks of 140 and 60 kg with 1,370 kg at 2.493 m, gauged to a kilogram or so
  expect(Math.abs((weight?.now.massKg as number) - 1570)).toBeLessThan(5);
  expect(Math.abs((weight?.now.armM as number) - (1370 * 2.493 + 140 * 2.35 + 60 * 3.55) / 1570)).toBeLessThan(0.004);
  expect(weight?.planned.map(({ state }) => state)).toEqual(weight?.planned.map(() => 'inside'));
});
