/** The ledger of the points, each run with its reasons, numbers and plots; and the gates between the steps. */
import type { Done, MeasureView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { cardText, limitText, parameterText, personText, pointText, tableOf } from './parts.ts';
import { type PlotMark, tracePicture } from './plot.ts';
import { stepPicture } from './step-plot.ts';
import { COMPUTED, count, isNumber, numberText, percentText, spanText, timeText, whole } from './words.ts';

const by = (report: FlightReport, done: Done): string => `${personText(report, done)} at ${timeText(done.aircraft)}`;

const judgement = ({ judged, gate }: PointRun): string =>
  judged ? judged.judgement : gate === 'closed' ? 'closed, not decided' : `not decided, at ${gate}`;

export function pointSection(report: FlightReport): Section {
  const { points } = report.conduct;
  const ledger = tableOf(
    [
      { head: 'run', align: 'end', share: 8 },
      { head: 'point', share: 28 },
      { head: 'judged', share: 18 },
      { head: 'advice', share: 14 },
      { head: 'record', share: 32 },
      { head: 'reasons and note', share: 50 },
    ],
    points.map((run): Cell[] => [
      whole(run.number),
      `${pointText(report, run.point)}${run.attempt > 1 ? `, attempt ${run.attempt}` : ''}`,
      { text: judgement(run), strong: run.judged?.judgement !== 'good' },
      run.advice?.judgement ?? 'none given',
      run.recordFrom > 0 ? `${timeText(run.recordFrom)}, ${spanText(run.recorded)}` : 'nothing recorded',
      reasonsOf(report, run),
    ]),
  );
  return { id: 'points', title: 'Points', blocks: [ledger, ...points.flatMap((run) => runBlocks(report, run))] };
}

function reasonsOf(report: FlightReport, { advice, judged }: PointRun): string {
  const reasons = advice?.reasons.join('; ') ?? '';
  const note = judged?.note ? `note: ${judged.note}` : '';
  const person = judged ? `decided by ${personText(report, judged)}` : '';
  return [reasons, note, person].filter(Boolean).join('; ') || 'none given';
}

function runBlocks(report: FlightReport, run: PointRun): Block[] {
  const text = `Run ${run.number}: ${pointText(report, run.point)}, ${judgement(run)}`;
  const blocks: Block[] = [{ kind: 'heading', text }];
  const card = cardText(report, run.point);
  if (card !== '') blocks.push({ kind: 'paragraph', text: `On ${card}.` });
  if (run.statistics.length > 0) blocks.push(statistics(report, run));
  const margins = report.pointMargins[run.number] ?? [];
  if (margins.length > 0) {
    const told = margins
      .slice(0, 5)
      .map(({ limit, used, level }) => `${limitText(report, limit)} ${percentText(used)} of its ${level}`);
    blocks.push({ kind: 'paragraph', text: `Smallest margins: ${told.join('; ')}.` });
  }
  const marks: PlotMark[] = run.gates
    .filter(({ gate, aircraft }) => gate !== 'setup' && aircraft > 0)
    .map(({ gate, aircraft }) => ({ at: aircraft, text: gate }));
  for (const trace of report.pointTraces[run.number] ?? []) {
    const bands = (trace.bands ?? []).map(
      ({ kind, low, high }) => `; ${kind} band ${numberText(low)} to ${numberText(high)}`,
    );
    blocks.push({
      kind: 'picture',
      picture: tracePicture({ trace, marks, height: 100 }),
      caption: `${trace.name} (${trace.parameter})${trace.unit === '1' ? '' : `, ${trace.unit}`}${bands.join('')}`,
    });
  }
  return blocks;
}

const statistics = (report: FlightReport, { statistics: list }: PointRun): Block => ({
  kind: 'table',
  columns: [
    { head: 'parameter', share: 40 },
    { head: 'samples', align: 'end', share: 13 },
    { head: 'mean', align: 'end', share: 15 },
    { head: 'sd', align: 'end', share: 15 },
    { head: 'min', align: 'end', share: 15 },
    { head: 'max', align: 'end', share: 15 },
    { head: 'slope a second', align: 'end', share: 17 },
    { head: 'in band', align: 'end', share: 14 },
    { head: 'dropout', align: 'end', share: 14 },
  ],
  rows: list.map((one): Cell[] => {
    const about = report.names.parameters.find(({ id }) => id === one.parameter);
    const unit = about && about.unit !== '1' ? `, ${about.unit}` : '';
    // what the mission wants to see, and one figure more of what is taken from many samples
    const places = about?.decimals ?? null;
    const sample = (value: number | null) => placed(value, places === null ? null : places + 1);
    return [
      `${parameterText(report, one.parameter)}${unit}`,
      whole(one.n),
      placed(one.mean, places === null ? null : places + 1),
      numberText(one.sd, '', COMPUTED),
      sample(one.min),
      sample(one.max),
      numberText(one.slope, '', COMPUTED),
      one.inBand === null ? 'no band' : percentText(one.inBand),
      spanText(one.dropout),
    ];
  }),
});

/** With so many decimals, as a column of numbers is read; null = as many figures as it has. */
const placed = (value: number | null, places: number | null): string =>
  isNumber(value) && places !== null ? value.toFixed(places) : numberText(value);

export function stepSection(report: FlightReport): Section {
  const { steps } = report.conduct;
  const blocks: Block[] = steps.flatMap((view) => stepBlocks(report, view));
  return {
    id: 'steps',
    title: 'Step gates',
    blocks: blocks.length > 0 ? blocks : [{ kind: 'paragraph', text: 'No family of points was planned.' }],
  };
}

type FamilyNames = FlightReport['names']['families'][number];

function stepBlocks(report: FlightReport, view: StepGateView): Block[] {
  const { next, point, advice, offered, reasons, blocks: blockers, decisions } = view;
  const family = report.names.families.find(({ id }) => id === view.family);
  const unit = family?.unit ?? '';
  const reduce = advice === 'reduce' && isNumber(offered) ? ` to ${numberText(offered, unit)}` : '';
  const to =
    next === null
      ? 'every planned step was flown'
      : `next step ${numberText(next, unit)}, point ${pointText(report, point)}: ${advice}${reduce}`;
  const title = family && family.title !== view.family ? `${family.title} (${view.family})` : view.family;
  const out: Block[] = [
    { kind: 'heading', text: `Family: ${title}` },
    {
      kind: 'paragraph',
      text: `As of the end, ${to}.${reasons.length > 0 ? ` ${reasons.join('; ')}.` : ''}`,
      strong: advice !== 'clear',
    },
  ];
  if (blockers.length > 0) out.push({ kind: 'paragraph', strong: true, text: `In the way: ${blockers.join('; ')}.` });
  out.push({
    kind: 'table',
    columns: [
      { head: 'step', align: 'end', share: 10 },
      { head: 'decided', share: 12 },
      // with all of its reasons
      { head: 'advice then', share: 46 },
      { head: 'by', share: 28 },
      { head: 'note', share: 20 },
    ],
    rows:
      decisions.length > 0
        ? decisions.map((one): Cell[] => [
            numberText(one.step, unit),
            { text: one.decision, strong: !one.advice.startsWith(one.decision) },
            one.advice,
            by(report, one),
            one.note || 'none',
          ])
        : [['', 'nothing decided', '', '', '']],
  });
  for (const measure of view.measures) out.push(...measureBlocks(measure, next, family));
  return out;
}

function measureBlocks(view: MeasureView, next: number | null, family: FamilyNames | undefined): Block[] {
  const measure = family?.measures.find(({ id }) => id === view.measure);
  const unit = measure?.unit ?? '';
  const stepUnit = family?.unit ?? '';
  const number = (value: number | null) => numberText(value, unit, COMPUTED);
  const residual = isNumber(view.residual)
    ? `the newest point lay ${number(view.residual)} from its prediction (band ±${number(view.residualBand)})`
    : 'no residual of the newest point';
  const at =
    next === null
      ? ''
      : `predicted at ${numberText(next, stepUnit)}: ${number(view.predicted)}, from ${number(view.low)} to ${number(view.high)}, caution ${measure?.side ?? ''} ${numberText(view.caution, unit)}; `;
  const per = stepUnit === '' || stepUnit === '1' ? 'a step of 1' : `a ${stepUnit}`;
  const of = family ? `${family.of}${stepUnit === '' || stepUnit === '1' ? '' : `, ${stepUnit}`}` : 'step';
  const title = measure && measure.title !== view.measure ? `${measure.title} (${view.measure})` : view.measure;
  const flown = count(view.flown.length, 'step');
  return [
    {
      kind: 'picture',
      picture: stepPicture({ view, steps: of, next, ...(measure && { measure }) }),
      caption: `${title}${unit === '' || unit === '1' ? '' : `, ${unit}`}: ${at}${residual}; slope ${number(view.slope)} ${per}. The ${flown} flown are dots, the line is the fit, its band the prediction, the diamond the next step.`,
    },
  ];
}
