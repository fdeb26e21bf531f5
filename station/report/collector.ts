/**
 * Gathers what a report says of a flight while its recording is folded: the fold tells it every sample and what every limit
 * measures, in order; whoever folds tells it the outputs, and which point is being flown. Nothing it finds depends on how
 * samples are cut into batches.
 */
import type { AlarmEvent } from '../../protocol/alarm.ts';
import type { Batch } from '../../protocol/batch.ts';
import type { TestPoint } from '../../protocol/card.ts';
import type { Outputs } from '../../protocol/fold.ts';
import type { Limit } from '../../protocol/limit.ts';
import { type ColumnPlace, columnIds, columnPlaces, type Mission } from '../../protocol/mission.ts';
import type { FlightReport, LinkSummary, MarginUsed, ReportTrace } from '../../protocol/report.ts';
import { SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { IN_FORCE, type MeasureListener, type MeasuredColumn } from '../listener.ts';
import { AnnouncedAlarms, exceedancesOf, MOST_KEPT, prune } from './exceedances.ts';
import { ExceedanceFinder } from './exceedance-finder.ts';
import { MarginBook, type Where } from './margin-book.ts';
import { RowWatch } from './maintenance.ts';
import { PhaseLine } from './phase-line.ts';
import { SightBook } from './sight.ts';
import { StateLines } from './state-line.ts';
import { bandsOf, flightTraces, levelsOf } from './traces.ts';
import { TraceSet } from './trace-set.ts';
import { isState, type Side, sidesIn, type Watched, watchedOf } from './watched.ts';

/** A longer time between two frames is a gap of the link, and so many are listed. */
const LINK_GAP = SECOND / 2;
const MOST_GAPS = 500;

/** One flying of a point, while it lasts. */
interface RunBook {
  number: number;
  point: TestPoint | undefined;
  margins: MarginBook;
  traces: TraceSet;
  parameters: string[];
}

/** What is known of one limit. */
interface LimitBook {
  watched: Watched;
  finders: [ExceedanceFinder, ExceedanceFinder];
  sight: SightBook;
  alarms: AnnouncedAlarms;
  dropped: number;
  /** crossings that are kept whatever comes: it is not looked through them again before there are many more */
  kept: number;
}

/** The parts of a report that come from samples. */
export type Collected = Pick<
  FlightReport,
  | 'aircraft'
  | 'phases'
  | 'states'
  | 'margins'
  | 'pointMargins'
  | 'exceedances'
  | 'unannounced'
  | 'announcedMore'
  | 'sight'
  | 'maintenance'
  | 'alarmLines'
  | 'traces'
  | 'pointTraces'
> & { gaps: Pick<LinkSummary, 'gaps' | 'gapTime' | 'gapCount'> };

export class Collector implements MeasureListener {
  private books!: Books;
  private run: { number: number; point: string } = { number: 0, point: '' };

  mission(mission: Mission): void {
    this.books = new Books(mission);
    this.run = { number: 0, point: '' };
  }

  limits(limits: readonly Limit[]): void {
    this.books.changeLimits(limits);
  }

  batches(batches: readonly (Batch | undefined)[]): void {
    this.books.batches(batches);
  }

  column(column: MeasuredColumn): void {
    this.books.column(column, this.run);
  }

  /** From the next sample on this flying of a point lasts; number 0 = none does. */
  flies(number: number, point: string): void {
    if (number === this.run.number) return;
    this.run = { number, point };
    this.books.begin(number, point);
  }

  /** What came out of one step of the fold. */
  heard(outputs: Outputs): void {
    this.books.heard(outputs, this.run);
  }

  read(): Collected {
    return this.books.read();
  }
}

/** All books of one mission. */
class Books {
  private readonly mission: Mission;
  private readonly phases: PhaseLine;
  private readonly places: ReadonlyMap<string, ColumnPlace>;
  private readonly limits: LimitBook[];
  private readonly indexOf: ReadonlyMap<string, number>;
  private readonly states: StateLines;
  private readonly rows: RowWatch[];
  private readonly flight = new MarginBook();
  private readonly traces: TraceSet;
  /** every value that a level had on the parameter's own value, by limit */
  private readonly shown: Limit[];
  private readonly runs: RunBook[] = [];
  private current: RunBook | undefined;
  private readonly lines: FlightReport['alarmLines'] = [];
  private readonly gaps: LinkSummary['gaps'] = [];
  private gapTime = 0;
  private gapCount = 0;
  private newestFrame = 0;
  private from = 0;
  private to = 0;

  constructor(mission: Mission) {
    this.mission = mission;
    this.places = columnPlaces(mission);
    this.phases = new PhaseLine(mission.phases, this.places.get(mission.phases?.parameter ?? ''));
    this.limits = mission.limits.map((limit) => this.bookOf(limit));
    this.indexOf = new Map(mission.limits.map(({ id }, i) => [id, i]));
    this.states = new StateLines(mission);
    this.rows = (mission.maintenance ?? []).map(
      (row) => new RowWatch(row, this.placeOf(row.parameter), mission, this.phases),
    );
    this.traces = new TraceSet(columnIds(mission).map((id) => this.placeOf(id)));
    this.shown = [...mission.limits];
  }

  private placeOf(id: string): ColumnPlace {
    const place = this.places.get(id);
    if (!place) throw new Error(`there is no parameter ${id}`);
    return place;
  }

  private watchedOf(limit: Limit): Watched {
    const group = this.mission.groups[this.placeOf(limit.parameter).group] as Mission['groups'][number];
    return watchedOf(limit, this.mission, group);
  }

  private bookOf(limit: Limit): LimitBook {
    const watched = this.watchedOf(limit);
    const { staleAfter } = watched.group;
    const finder = () => new ExceedanceFinder(staleAfter, watched.period);
    const sight = new SightBook(staleAfter, watched.period);
    return { watched, finders: [finder(), finder()], sight, alarms: new AnnouncedAlarms(), dropped: 0, kept: 0 };
  }

  changeLimits(limits: readonly Limit[]): void {
    limits.forEach((limit, i) => {
      const book = this.limits[i] as LimitBook;
      book.watched = this.watchedOf(limit);
    });
    this.shown.push(...limits);
  }

  begin(number: number, point: string): void {
    this.current = undefined;
    if (number === 0) return;
    const planned = this.mission.cards?.flatMap(({ points }) => points).find(({ id }) => id === point);
    const parameters = parametersOf(planned).filter((id) => this.places.has(id));
    const traces = new TraceSet(parameters.map((id) => this.placeOf(id)));
    this.current = { number, point: planned, margins: new MarginBook(), traces, parameters };
    this.runs.push(this.current);
  }

  batches(batches: readonly (Batch | undefined)[]): void {
    for (const batch of batches) {
      if (!batch || batch.length === 0) continue;
      const first = batch.time[0] as number;
      if (this.from === 0 || first < this.from) this.from = first;
      this.to = Math.max(this.to, batch.time[batch.length - 1] as number);
    }
    this.phases.run(batches);
    this.states.run(batches);
    this.traces.run(batches);
    this.current?.traces.run(batches);
    for (const row of this.rows) row.run(batches);
  }

  /** In spans in which the phase stays, and with it the values of the limit. */
  column(column: MeasuredColumn, run: { number: number; point: string }): void {
    const book = this.limits[column.limit] as LimitBook;
    const { watched } = book;
    const { phases } = this;
    book.sight.run(column);
    const isFixed = watched.byPhase === undefined;
    for (let from = 0; from < column.length; ) {
      const begin = column.time[from] as number;
      const phase = phases.at(begin);
      const until = phases.until(begin);
      let end = from + 1;
      while (end < column.length && (column.time[end] as number) < until && (column.time[end] as number) >= begin)
        end++;
      const sides = sidesIn(watched, phase);
      const where = { phase: phases.id(phase), point: run.point, run: run.number };
      for (let s = 0; s < 2; s++) this.look(column, from, end, book, s, sides[s], isFixed ? 0 : phase, where);
      from = end;
    }
  }

  private look(
    column: MeasuredColumn,
    from: number,
    end: number,
    book: LimitBook,
    s: number,
    side: Side | undefined,
    phase: number,
    where: Where,
  ): void {
    const finder = book.finders[s] as ExceedanceFinder;
    let isBeyond = finder.isOpen;
    if (side !== undefined) {
      const i = farthest(column, from, end, side.sign);
      if (i >= 0) {
        if (!isState(book.watched.limit)) {
          this.flight.take(column, i, side, where);
          this.current?.margins.take(column, i, side, where);
        }
        if (side.sign * (column.values[i] as number) > side.first) isBeyond = true;
      }
    }
    if (isBeyond) finder.run(column, from, end, side, phase, where);
  }

  heard({ alarms, frames }: Outputs, run: { number: number; point: string }): void {
    for (const line of alarms) this.line(line, run);
    for (let i = 0; i < frames.length; i++) {
      const time = frames.aircraft[i] as number;
      if (this.newestFrame > 0 && time - this.newestFrame > LINK_GAP) {
        this.gapCount++;
        this.gapTime += time - this.newestFrame;
        if (this.gaps.length < MOST_GAPS) this.gaps.push({ from: this.newestFrame, to: time });
      }
      this.newestFrame = time;
    }
    // nothing was crossed where no samples came
    if (frames.length === 0) return;
    for (const book of this.limits) this.prune(book);
  }

  private prune(book: LimitBook): void {
    const [one, other] = book.finders;
    const count = one.crossings.length + other.crossings.length;
    if (count <= book.kept + MOST_KEPT) return;
    for (const { crossings } of book.finders) book.dropped += prune(crossings, book.alarms.all, this.to - SECOND);
    book.kept = one.crossings.length + other.crossings.length;
  }

  private line(line: AlarmEvent, run: { number: number; point: string }): void {
    const { event, alarm, level, aircraft, ground, value, limitValue, detail, person, position } = line;
    const index = this.indexOf.get(alarm);
    const plain = (x: number): number | null => (Number.isFinite(x) ? x : null);
    const text = index === undefined ? alarm : (this.limits[index] as LimitBook).watched.text;
    this.lines.push({
      limit: alarm,
      text,
      change: event,
      level,
      aircraft,
      ground,
      value: plain(value),
      limitValue: plain(limitValue),
      detail,
      person,
      position,
    });
    if (index === undefined) return;
    const where = () => ({ phase: this.phases.id(this.phases.at(aircraft)), point: run.point, run: run.number });
    (this.limits[index] as LimitBook).alarms.note(line, where);
  }

  read(): Collected {
    const { limits, phases, to } = this;
    const watched = limits.map((book) => book.watched);
    const told = limits.map(({ watched: own, finders, alarms, dropped }) => {
      for (const finder of finders) finder.finish();
      const crossings = finders.flatMap((finder) => finder.crossings).sort((a, b) => a.from - b.from);
      return exceedancesOf(own, crossings, alarms.all, dropped);
    });
    const exceedances = told.flatMap(({ listed }) => listed).sort((a, b) => a.from - b.from || a.to - b.to);
    const margins = this.flight.read(watched);
    return {
      aircraft: { from: this.from, to },
      phases: phases.spans(to),
      states: this.states.read(to),
      margins,
      pointMargins: Object.fromEntries(
        this.runs.map(({ number, margins: own }): [string, MarginUsed[]] => [String(number), own.read(watched)]),
      ),
      exceedances,
      unannounced: told.flatMap(({ unannounced }) => unannounced ?? []),
      announcedMore: told.flatMap(({ announcedMore }) => announcedMore ?? []),
      // a limit made of others has no samples: it sees what they see
      sight: limits
        .filter(({ watched }) => watched.limit.kind !== 'logic')
        .map(({ watched: { limit }, sight }) => sight.read(limit.id, this.from, to)),
      maintenance: this.rows.flatMap((row) => row.read()),
      alarmLines: this.lines,
      traces: flightTraces(this.mission, exceedances, margins).map((id) =>
        this.trace(id, columnIds(this.mission).indexOf(id), this.traces),
      ),
      pointTraces: Object.fromEntries(
        this.runs.map((run): [string, ReportTrace[]] => [String(run.number), this.tracesOf(run)]),
      ),
      gaps: { gaps: this.gaps, gapTime: this.gapTime, gapCount: this.gapCount },
    };
  }

  private tracesOf({ point, parameters, traces }: RunBook): ReportTrace[] {
    return parameters.map((id, i) => ({ ...this.trace(id, i, traces), bands: bandsOf(point, id) }));
  }

  private trace(id: string, index: number, traces: TraceSet): ReportTrace {
    const { mission } = this;
    const one = [...mission.parameters, ...mission.derived].find((parameter) => parameter.id === id);
    return {
      parameter: id,
      name: one?.name ?? id,
      unit: one?.unit ?? '1',
      ...traces.read(index),
      levels: levelsOf(this.shown, id),
    };
  }
}

/** What a point looks at: its bands, and what it requires. */
function parametersOf(point: TestPoint | undefined): string[] {
  if (point === undefined) return [];
  const banded = [...point.tolerance, ...point.data].map(({ parameter }) => parameter);
  return [...new Set([...banded, ...point.required])];
}

/** The first of the usable samples in force that lie farthest to one side; -1 when there is none. */
function farthest({ values, validity, gate }: MeasuredColumn, from: number, end: number, sign: number): number {
  let most = Number.NEGATIVE_INFINITY;
  let at = -1;
  for (let i = from; i < end; i++) {
    if ((validity[i] as number) >= FIRST_UNUSABLE || (gate !== undefined && gate[i] !== IN_FORCE)) continue;
    const x = sign * (values[i] as number);
    if (!(x > most)) continue;
    most = x;
    at = i;
  }
  return at;
}
