/** The course of the flight: phases, plots, sequences, link, marks, alarm list. */
import type { SequenceView } from '../../protocol/conduct.ts';
import { levels } from '../../protocol/limit.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { limitValue, moreThan, personText, phaseName, tableOf, tableOr } from './parts.ts';
import { tracePicture } from './plot.ts';
import { timelinePicture } from './timeline.ts';
import { CANNOT_TELL, count, isNumber, numberText, percentText, spanText, timeText, whole } from './words.ts';

/** What the flight was. */
export const courseSections = (report: FlightReport): Section[] => [
  phaseSection(report),
  traceSection(report),
  sequenceSection(report),
];

/** What was received and written down. */
export const recordSections = (report: FlightReport): Section[] => [
  linkSection(report),
  markSection(report),
  stateSection(report),
  listSection(report),
];

/** Rows that are printed. */
export const PHASES_SHOWN = 200;
export const MARKS_SHOWN = 400;

function phaseSection(report: FlightReport): Section {
  const blocks: Block[] = [];
  if (report.aircraft.to > report.aircraft.from) {
    const caption = 'The flight in aircraft time. What is filled dark is time without data.';
    blocks.push({ kind: 'picture', picture: timelinePicture(report), caption });
  }
  blocks.push(
    tableOr(
      report,
      [
        { head: 'phase', share: 40 },
        { head: 'from', share: 20 },
        { head: 'to', share: 20 },
        { head: 'lasted', align: 'end', share: 20 },
      ],
      report.phases
        .slice(0, PHASES_SHOWN)
        .map(({ id, from, to }): Cell[] => [phaseName(report, id), timeText(from), timeText(to), spanText(to - from)]),
    ),
    ...moreThan(report.phases.length, PHASES_SHOWN, 'phase'),
  );
  return { id: 'phases', title: 'Phases', blocks };
}

/** Changes of a discrete that are printed. */
export const SPANS_SHOWN = 24;

function stateSection(report: FlightReport): Section {
  const rows = report.states.map(({ parameter, name, spans, more }): Cell[] => {
    const shown = spans.slice(0, SPANS_SHOWN);
    const rest = spans.length - shown.length + more;
    const told = shown.map(
      ({ state, from, to }) => `${timeText(from)} ${state || CANNOT_TELL} for ${spanText(to - from)}`,
    );
    const left = rest > 0 ? [`${rest} more changes are in the recording`] : [];
    return [`${name} (${parameter})`, [...told, ...left].join('; ')];
  });
  const columns = [
    { head: 'discrete', share: 25 },
    { head: 'what it said, from when, for how long', share: 75 },
  ];
  return { id: 'states', title: 'Modes and discretes', blocks: [tableOr(report, columns, rows)] };
}

function traceSection(report: FlightReport): Section {
  const blocks = report.traces.map((trace): Block => {
    const of = report.exceedances.filter(({ parameter }) => parameter === trace.parameter);
    const marks = of.map(({ peakAt, level }) => ({ at: peakAt, text: `${level} peak` }));
    return {
      kind: 'picture',
      picture: tracePicture({ trace, marks }),
      caption: `${trace.name} (${trace.parameter})${trace.unit === '1' ? '' : `, ${trace.unit}`}`,
    };
  });
  const none: Block = { kind: 'paragraph', text: 'No parameter was chosen for a plot.' };
  return {
    id: 'plots',
    title: 'Plots of the flight',
    blocks:
      blocks.length > 0
        ? [
            ...blocks,
            {
              kind: 'paragraph',
              text: 'Each column of time shows its lowest and highest sample: every peak is in it. Where the band is open there was no usable sample.',
            },
          ]
        : [none],
  };
}

function sequenceSection(report: FlightReport): Section {
  const runs = report.conduct.sequences.flatMap(runsOf);
  const rows = runs.flatMap(({ name, run }): Cell[][] =>
    run.steps.map((step, index) => [
      index === 0 ? { text: `${name}, ${run.state}`, strong: true } : '',
      step.name,
      { text: step.state, strong: step.state === 'late' || step.state === 'missing' },
      step.at > 0 ? timeText(step.at) : 'not seen',
      step.at > 0 ? spanText(step.took) : '',
      spanText(step.within),
    ]),
  );
  const blocks: Block[] = [
    tableOr(
      report,
      [
        { head: 'sequence', share: 24 },
        { head: 'step', share: 36 },
        { head: 'state', share: 13 },
        { head: 'at', share: 18 },
        { head: 'took', align: 'end', share: 13 },
        { head: 'may take', align: 'end', share: 13 },
      ],
      rows,
    ),
  ];
  const measures = runs
    .filter(({ run }) => run.measures.length > 0)
    .map(({ name, run }) => `${name}, ${spellText(run)}: ${run.measures.map(measureText).join('; ')}`);
  const dropped = report.conduct.sequences
    .filter((sequence) => sequence.dropped > 0)
    .map(({ id, dropped: so }) => `${id}: the first ${count(so, 'run')} of the flight, not kept any more`);
  if (measures.length + dropped.length > 0) blocks.push({ kind: 'list', items: [...dropped, ...measures] });
  return { id: 'sequences', title: 'Sequences', blocks };
}

/** Every run of the flight that is kept, oldest first, numbered where there was more than one. */
function runsOf(sequence: SequenceView): { name: string; run: RunOfSequence }[] {
  const { id, times, dropped, earlier } = sequence;
  const runs: RunOfSequence[] = sequence.began > 0 ? [...earlier, sequence] : [...earlier];
  return runs.map((run, i) => ({ name: times > 1 ? `${id}, run ${dropped + i + 1} of ${times}` : id, run }));
}

type RunOfSequence = Pick<SequenceView, 'began' | 'ended' | 'steps' | 'measures'> & { state: string };

const spellText = ({ began, ended }: RunOfSequence): string =>
  `from ${timeText(began)} ${ended > 0 ? `to ${timeText(ended)}` : 'on'}`;

function measureText({ title, value, unit, missing }: SequenceView['measures'][number]): string {
  const unseen = missing > 0 ? `, not seen for ${spanText(missing)}` : '';
  return `${title} ${numberText(value, unit)}${unseen}`;
}

function linkSection(report: FlightReport): Section {
  const { link } = report;
  const { frames, lost, duplicates, late, damaged, foreign } = link;
  return {
    id: 'link',
    title: 'Link',
    blocks: [
      {
        kind: 'paragraph',
        text: `${whole(frames)} frames in the stream, ${whole(lost)} lost (${percentText(frames + lost > 0 ? lost / (frames + lost) : null, 2)}). Of what arrived: ${whole(duplicates)} twice, ${whole(late)} too late, ${whole(damaged)} damaged, ${whole(foreign)} of another make.`,
      },
      tableOr(
        report,
        [
          { head: 'receiver', share: 40 },
          { head: 'frames', align: 'end', share: 15 },
          { head: 'chosen', align: 'end', share: 15 },
          { head: 'missed', align: 'end', share: 15 },
          { head: 'damaged', align: 'end', share: 15 },
        ],
        link.receivers.map((one): Cell[] => [
          one.name,
          whole(one.frames),
          whole(one.chosen),
          whole(one.missed),
          whole(one.damaged),
        ]),
      ),
      { kind: 'heading', text: 'Gaps longer than 0.5 s' },
      tableOr(
        report,
        [
          { head: 'from', share: 30 },
          { head: 'to', share: 30 },
          { head: 'lasted', align: 'end', share: 20 },
        ],
        link.gaps.map(({ from, to }): Cell[] => [timeText(from), timeText(to), spanText(to - from)]),
      ),
      ...(link.gapCount > link.gaps.length
        ? [{ kind: 'paragraph', text: `${link.gapCount - link.gaps.length} more gaps are not listed.` } satisfies Block]
        : []),
    ],
  };
}

function markSection(report: FlightReport): Section {
  const table = tableOf(
    [
      { head: 'aircraft time', share: 20 },
      { head: 'kind', share: 14 },
      { head: 'what', share: 55 },
      { head: 'by', share: 18 },
    ],
    [...report.marks]
      .reverse()
      .slice(0, MARKS_SHOWN)
      .map((mark): Cell[] => [
        timeText(mark.aircraft),
        mark.kind,
        mark.text,
        personText(report, { person: mark.person, position: '' }),
      ]),
  );
  return { id: 'marks', title: 'Marks', blocks: [table, ...moreThan(report.marks.length, MARKS_SHOWN, 'mark')] };
}

/** Lines of the alarm list that are about a value; on the others it is none. */
const valued = new Set(['raised', 'escalated', 'eased', 'cleared']);

/** Lines of the alarm list that are printed; the recording has them all. */
export const LINES_SHOWN = 400;

function listSection(report: FlightReport): Section {
  const shown = report.alarmLines.slice(0, LINES_SHOWN);
  const rest = report.alarmLines.length - shown.length;
  const blocks: Block[] = [
    tableOr(
      report,
      [
        { head: 'aircraft time', share: 20 },
        { head: 'alarm', share: 46 },
        { head: 'what', share: 36 },
        { head: 'level', share: 16 },
        { head: 'value', align: 'end', share: 14 },
      ],
      shown.map(({ limit, text, change, level, aircraft, value, detail, person, position }): Cell[] => {
        const known = levels.find((one) => one === level);
        return [
          timeText(aircraft),
          text === '' || text === limit ? limit : `${text} (${limit})`,
          `${change}${person === '' ? '' : ` by ${personText(report, { person, position })}`}${detail === '' ? '' : `: ${detail}`}`,
          known ? { text: level, level: known } : level,
          valued.has(change) && isNumber(value) ? limitValue(report, limit, value) : '',
        ];
      }),
    ),
  ];
  if (rest > 0) blocks.push({ kind: 'paragraph', text: `${rest} more lines are in the recording.`, strong: true });
  return { id: 'list', title: 'Alarm list', blocks };
}
