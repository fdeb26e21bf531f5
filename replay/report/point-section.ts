/** The ledger of the points, each run with its reasons, numbers and plots; and the gates between the steps. */
import type { Done, MeasureView, PointRun, StepGateView } from '../../protocol/conduct.ts';
import type { FlightReport } from '../../protocol/report.ts';
import type { Block, Cell, Section } from './document.ts';
import { personText, tableOf } from './parts.ts';
import { type PlotMark, tracePicture } from './plot.ts';
import { stepPicture } from './step-plot.ts';
import { isNumber, numberText, percentText, spanText, timeText, whole } from './words.ts';

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
      `${run.point}${run.attempt > 1 ? `, attempt ${run.attempt}` : ''}`,
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
  const blocks: Block[] = [{ kind: 'heading', text: `Run ${run.number}: point ${run.point}, ${judgement(run)}` }];
  if (run.statistics.length > 0) blocks.push(statistics(run));
  const margins = report.pointMargins[run.number] ?? [];
  if (margins.length > 0) {
    const told = margins.slice(0, 5).map(({ limit, used, level }) => `${limit} ${percentText(used)} of its ${level}`);
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
      caption: `${trace.name} (${trace.parameter}), ${trace.unit}${bands.join('')}`,
    });
  }
  return blocks;
}

const statistics = ({ statistics: list }: PointRun): Block => ({
  kind: 'table',
  columns: [
    { head: 'parameter', share: 24 },
    { head: 'n', align: 'end', share: 12 },
    { head: 'mean', align: 'end', share: 15 },
    { head: 'sd', align: 'end', share: 15 },
    { head: 'min', align: 'end', share: 15 },
    { head: 'max', align: 'end', share: 15 },
    { head: 'slope a second', align: 'end', share: 18 },
    { head: 'in band', align: 'end', share: 14 },
    { head: 'dropout', align: 'end', share: 14 },
  ],
  rows: list.map((one): Cell[] => [
    one.parameter,
    whole(one.n),
    numberText(one.mean),
    numberText(one.sd),
    numberText(one.min),
    numberText(one.max),
    numberText(one.slope),
    one.inBand === null ? 'no band' : percentText(one.inBand),
    spanText(one.dropout),
  ]),
});

export function stepSection(report: FlightReport): Section {
  const { steps } = report.conduct;
  const blocks: Block[] = steps.flatMap((view) => stepBlocks(report, view));
  return {
    id: 'steps',
    title: 'Step gates',
    blocks: blocks.length > 0 ? blocks : [{ kind: 'paragraph', text: 'No family of points was planned.' }],
  };
}

function stepBlocks(report: FlightReport, view: StepGateView): Block[] {
  const { family, next, point, advice, offered, reasons, blocks: blockers, decisions } = view;
  const reduce = advice === 'reduce' && isNumber(offered) ? ` to ${numberText(offered)}` : '';
  const to =
    next === null
      ? 'every planned step was flown'
      : `next step ${numberText(next)}, point ${point}: ${advice}${reduce}`;
  const out: Block[] = [
    { kind: 'heading', text: `Family ${family}` },
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
      { head: 'step', align: 'end', share: 12 },
      { head: 'decided', share: 14 },
      { head: 'advice then', share: 14 },
      { head: 'by', share: 36 },
      { head: 'note', share: 40 },
    ],
    rows:
      decisions.length > 0
        ? decisions.map((one): Cell[] => [
            numberText(one.step),
            { text: one.decision, strong: one.decision !== one.advice },
            one.advice,
            by(report, one),
            one.note || 'none',
          ])
        : [['', 'nothing decided', '', '', '']],
  });
  for (const measure of view.measures) out.push(...measureBlocks(measure, next));
  return out;
}

function measureBlocks(view: MeasureView, next: number | null): Block[] {
  const band = `${numberText(view.low)} to ${numberText(view.high)}`;
  const residual = isNumber(view.residual)
    ? `the newest point lay ${numberText(view.residual)} from its prediction (band ±${numberText(view.residualBand)})`
    : 'no residual of the newest point';
  const at =
    next === null ? '' : `predicted ${numberText(view.predicted)}, ${band}, caution ${numberText(view.caution)}; `;
  return [
    {
      kind: 'picture',
      picture: stepPicture({ view, steps: 'step', next }),
      caption: `${view.measure}: ${at}${residual}; slope ${numberText(view.slope)} a step unit. Dots were flown, the line is the fit, its band the prediction, the diamond the next step.`,
    },
  ];
}
