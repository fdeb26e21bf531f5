/** What the room had said before the flight: the poll and what it stood on. */
import type { Missing, MorningView, ReadinessView, SweepView, WeightView } from '../../protocol/conduct.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { personText } from './parts.ts';
import { numberText, percentText, timeText } from './words.ts';

export function readinessSection(report: FlightReport): Section {
  const { readiness } = report.conduct;
  const blocks: Block[] = readiness
    ? readinessBlocks(report, readiness)
    : [{ kind: 'paragraph', text: 'The mission plans no readiness poll: nothing was recorded.' }];
  return { id: 'readiness', title: 'Readiness', blocks };
}

function readinessBlocks(report: FlightReport, view: ReadinessView): Block[] {
  const { poll, missing } = view;
  const opened = poll.opened
    ? `The poll was opened by ${personText(report, poll.opened)} at ${timeText(poll.opened.ground)}, ground time.`
    : 'No poll was opened.';
  const said = poll.ready ? 'Every manned position answered ready and nothing was missing.' : 'The room was NOT READY.';
  const blocks: Block[] = [{ kind: 'paragraph', text: `${opened} ${said}`, strong: !poll.ready }];
  if (missing.length > 0) {
    blocks.push({
      kind: 'list',
      items: missingTexts(missing),
    });
  }
  if (poll.answers.length > 0) {
    blocks.push({
      kind: 'table',
      columns: [
        { head: 'position', share: 25 },
        { head: 'answer', share: 20 },
        { head: 'by', share: 20 },
        { head: 'ground time', share: 20 },
        { head: 'why not', share: 40 },
      ],
      rows: poll.answers.map(({ position, answer, person, ground, text }): Cell[] => [
        position,
        { text: answer || 'no answer', strong: answer !== 'ready' },
        person === '' ? 'nobody' : personText(report, { person, position: '' }),
        ground > 0 ? timeText(ground) : '',
        text,
      ]),
    });
  }
  blocks.push({ kind: 'list', items: factsOf(view) });
  if (view.weight) blocks.push(...weightBlocks(report, view.weight));
  return blocks;
}

/** What is missing, each once, with all who can mend it. */
function missingTexts(missing: readonly Missing[]): string[] {
  const positions = new Map<string, string[]>();
  for (const { text, position } of missing) {
    positions.set(text, [...(positions.get(text) ?? []), position || 'the room']);
  }
  return [...positions].map(([text, by]) => `missing: ${text} (${by.join(', ')})`);
}

function factsOf({ notices, watch, unwatched, morning, sweep, ids }: ReadinessView): string[] {
  const acknowledged = notices.map(({ id, acknowledged: by }) =>
    by.length > 0
      ? `notice ${id}: acknowledged by ${by.map(({ position }) => position).join(', ')}`
      : `notice ${id}: acknowledged by nobody`,
  );
  const watched = watch
    .filter(({ limits }) => limits.length > 0)
    .map(({ position, limits }) => `watch, ${position}: ${limits.join(', ')}`);
  return [
    ids.match ? 'the aircraft’s ids matched the baseline' : `ids: ${ids.differences.join('; ') || 'DID NOT MATCH'}`,
    ...acknowledged,
    ...watched,
    unwatched.length > 0
      ? `stop limits that nobody watched: ${unwatched.join(', ')}`
      : 'no stop limit was without a watcher',
    morningText(morning),
    sweepText(sweep),
  ];
}

function morningText(morning: MorningView | null): string {
  if (morning === null) return 'morning check: none planned';
  const faults = [
    ...morning.channels.flatMap(({ parameter, faults: list }) => list.map((fault) => `${parameter} ${fault}`)),
    ...morning.timeFaults,
  ];
  const done = morning.complete ? 'complete' : 'NOT COMPLETE';
  const untold = morning.channels.flatMap(({ parameter, cannotTell }) =>
    cannotTell.map((why) => `${parameter} ${why}`),
  );
  const dark = untold.length > 0 ? `; cannot tell: ${untold.join('; ')}` : '';
  const clean = morning.complete
    ? `no fault found on ${morning.channels.length} channels`
    : `no fault in what was looked at, which is not all of ${morning.channels.length} channels`;
  const found = faults.length > 0 ? `faults: ${faults.join('; ')}` : clean;
  return `morning check: ${done}; ${found}${dark}; recorder ${morning.recorder.state}${morning.recorder.text && `, ${morning.recorder.text}`}`;
}

function sweepText(sweep: SweepView | null): string {
  if (sweep === null) return 'control sweep: none planned';
  const faults = sweep.channels.flatMap(({ parameter, faults: list }) => list.map((fault) => `${parameter} ${fault}`));
  const untold = sweep.channels.flatMap(({ parameter, cannotTell }) => cannotTell.map((why) => `${parameter} ${why}`));
  const dark = untold.length > 0 ? `; cannot tell: ${untold.join('; ')}` : '';
  const least = sweep.channels.map(({ parameter, travel }) => `${parameter} ${percentText(travel)}`).join(', ');
  const clean = sweep.done ? 'no fault found' : 'no fault in what was looked at';
  const found = faults.length > 0 ? `faults: ${faults.join('; ')}` : clean;
  return `control sweep: ${sweep.done ? 'done' : 'NOT DONE'}; ${found}${dark}; travel of rig: ${least || 'cannot tell'}`;
}

function weightBlocks(report: FlightReport, { now, planned, loads }: WeightView): Block[] {
  const changed = loads.filter(({ changedBy }) => changedBy !== '');
  const blocks: Block[] = [
    { kind: 'heading', text: 'Weight and balance at the end' },
    {
      kind: 'table',
      columns: [
        { head: 'fuel state', share: 30 },
        { head: 'mass, kg', align: 'end', share: 15 },
        { head: 'arm, m', align: 'end', share: 15 },
        { head: 'lateral, m', align: 'end', share: 15 },
        { head: 'fuel, kg', align: 'end', share: 15 },
        { head: 'test envelope', share: 20 },
      ],
      rows: [now, ...planned].map((one): Cell[] => [
        one.name,
        numberText(one.massKg),
        numberText(one.armM),
        numberText(one.lateralM),
        numberText(one.fuelKg),
        { text: one.state, strong: one.state !== 'inside' },
      ]),
    },
  ];
  if (changed.length > 0) {
    const items = changed.map(
      ({ name, massKg, changedBy }) =>
        `${name}: ${numberText(massKg, 'kg')}, changed by ${personText(report, { person: changedBy, position: '' })}`,
    );
    blocks.push({ kind: 'list', items });
  }
  return blocks;
}
