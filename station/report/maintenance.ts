/**
 * What the maintenance table asks to be looked at: time of raw samples beyond each band's value, at one time or over the
 * flight. A gap, and a sample that cannot be used, count against the aircraft as time beyond, and are marked unsure. What was
 * nowhere seen beyond, but could have been in time that was not seen, is one candidate a row: of its most severe band.
 */
import type { Batch } from '../../protocol/batch.ts';
import type { ColumnPlace, Mission } from '../../protocol/mission.ts';
import type { MaintenanceRow } from '../../protocol/procedure.ts';
import type { MaintenanceCandidate } from '../../protocol/report.ts';
import { SECOND } from '../../protocol/time.ts';
import { FIRST_UNUSABLE } from '../../protocol/validity.ts';
import { BandTimer } from '../compute/band-time.ts';
import { NO_PHASE, type PhaseLine } from './phase-line.ts';

type Band = MaintenanceRow['bands'][number];

/** Time beyond in one go, or of the whole flight. Aircraft time, microseconds. */
interface Spell {
  /** first and last sample seen beyond, or of what was not seen when `seen` is 0 */
  from: number;
  to: number;
  seen: number;
  x: number;
  peakAt: number;
  time: number;
  unsure: number;
  phases: Set<string>;
}

const emptySpell = (): Spell => ({
  from: 0,
  to: 0,
  seen: 0,
  x: Number.NEGATIVE_INFINITY,
  peakAt: 0,
  time: 0,
  unsure: 0,
  phases: new Set(),
});

/** One band of a row. */
class BandWatch {
  readonly band: Band;
  readonly events: Spell[] = [];
  /** longest time in one go that was not seen, with nothing seen beyond */
  unseen: Spell | undefined;
  readonly whole = emptySpell();
  private readonly timer: BandTimer;
  private readonly edge: number;
  private now = emptySpell();
  /** time of the sample before, which is where time not seen begins */
  private before = 0;

  constructor(band: Band, sign: number, longest: number, period: number) {
    this.band = band;
    this.edge = sign * band.value;
    this.timer = new BandTimer({ over: this.edge, upTo: Infinity, margin: 0 }, longest, period);
  }

  /** The sample at `time`; `x` NaN when it cannot be used. */
  take(time: number, x: number, phase: string): void {
    const { timer, now } = this;
    const unsureBefore = timer.unknown();
    timer.pass(time);
    if (timer.unknown() > unsureBefore && now.seen === 0) {
      if (now.to === 0) now.from = this.before;
      now.to = time;
      now.phases.add(phase);
    }
    this.before = time;
    if (x !== x) timer.lose();
    else {
      timer.take(x);
      if (x > this.edge) this.see(time, x, phase);
      else this.end();
    }
  }

  private see(time: number, x: number, phase: string): void {
    for (const spell of [this.now, this.whole]) {
      if (spell.seen === 0) {
        spell.from = time;
        spell.phases.clear();
      }
      spell.seen++;
      spell.to = time;
      spell.phases.add(phase);
      if (!(x > spell.x)) continue;
      spell.x = x;
      spell.peakAt = time;
    }
  }

  /** It does not count here. */
  pause(time: number): void {
    this.timer.pass(time);
    this.timer.pause();
    this.end();
  }

  /** Ends what was beyond, or may have been. */
  end(): void {
    const { timer, now, whole } = this;
    now.time = timer.total();
    now.unsure = timer.unknown();
    if (now.time === 0 && now.seen === 0) return;
    timer.clear();
    whole.time += now.time;
    whole.unsure += now.unsure;
    if (now.seen > 0) this.events.push(now);
    else {
      if (this.unseen === undefined || now.time > this.unseen.time) this.unseen = now;
      if (whole.seen === 0) {
        if (whole.to === 0) whole.from = now.from;
        whole.to = now.to;
        for (const phase of now.phases) whole.phases.add(phase);
      }
    }
    this.now = emptySpell();
  }

  /** What the band asks for on what was seen. */
  found(): Spell[] {
    const least = this.band.seconds * SECOND;
    if (this.band.cumulative) return this.whole.seen > 0 && this.whole.time >= least ? [this.whole] : [];
    return this.events.filter(({ time }) => time >= least);
  }

  /** What it would ask for had all that was not seen been beyond; a band without a time asks for a gap, not for one sample. */
  couldBe(longest: number): Spell | undefined {
    const spell = this.band.cumulative ? this.whole : this.unseen;
    if (spell === undefined || spell.seen > 0) return undefined;
    return spell.time >= Math.max(this.band.seconds * SECOND, longest) && spell.time > 0 ? spell : undefined;
  }
}

export class RowWatch {
  private readonly row: MaintenanceRow;
  private readonly unit: string;
  private readonly at: ColumnPlace;
  private readonly sign: number;
  private readonly longest: number;
  private readonly bands: readonly BandWatch[];
  private readonly phases: PhaseLine;
  /** one slot a phase: 1 where it counts; undefined = in all */
  private readonly open: Uint8Array | undefined;

  constructor(row: MaintenanceRow, at: ColumnPlace, mission: Mission, phases: PhaseLine) {
    this.row = row;
    this.at = at;
    this.phases = phases;
    this.unit = [...mission.parameters, ...mission.derived].find(({ id }) => id === row.parameter)?.unit ?? '1';
    this.sign = row.side === 'above' ? 1 : -1;
    const group = mission.groups[at.group] as Mission['groups'][number];
    this.longest = group.staleAfter;
    const period = group.rate > 0 ? SECOND / group.rate : group.staleAfter;
    this.bands = row.bands.map((band) => new BandWatch(band, this.sign, group.staleAfter, period));
    this.open =
      row.phases && Uint8Array.from(mission.phases?.phases ?? [], ({ id }) => (row.phases?.includes(id) ? 1 : 0));
  }

  run(batches: readonly (Batch | undefined)[]): void {
    const batch = batches[this.at.group];
    if (!batch) return;
    const { phases, bands, sign, open } = this;
    const values = batch.values[this.at.place] as Float64Array;
    const validity = batch.validity[this.at.place] as Uint8Array;
    let until = Number.NEGATIVE_INFINITY;
    let newest = Number.POSITIVE_INFINITY;
    let phase = NO_PHASE;
    let id = '';
    for (let i = 0; i < batch.length; i++) {
      const time = batch.time[i] as number;
      if (time >= until || time < newest) {
        phase = phases.at(time);
        id = phases.id(phase);
        until = phases.until(time);
      }
      newest = time;
      // a phase that cannot be told counts against the aircraft
      const counts = open === undefined || phase === NO_PHASE || open[phase] === 1;
      const usable = (validity[i] as number) < FIRST_UNUSABLE;
      const x = usable ? sign * (values[i] as number) : Number.NaN;
      for (const band of bands) {
        if (counts) band.take(time, x, id);
        else band.pause(time);
      }
    }
  }

  read(): MaintenanceCandidate[] {
    for (const band of this.bands) band.end();
    const found = this.bands.flatMap((watch) => watch.found().map((spell) => this.candidate(watch.band, spell)));
    for (const watch of [...this.bands].reverse()) {
      const spell = watch.couldBe(this.longest);
      if (spell === undefined) continue;
      found.push(this.candidate(watch.band, spell));
      break;
    }
    return found;
  }

  private candidate(band: Band, spell: Spell): MaintenanceCandidate {
    const { id, text, parameter, side, source } = this.row;
    return {
      row: id,
      text,
      parameter,
      unit: this.unit,
      side,
      action: band.action,
      value: band.value,
      seconds: band.seconds,
      cumulative: band.cumulative,
      peak: spell.seen > 0 ? this.sign * spell.x : null,
      peakAt: spell.peakAt,
      beyondS: spell.time / SECOND,
      from: spell.from,
      to: spell.to,
      unsureS: spell.unsure / SECOND,
      phases: [...spell.phases].filter((phase) => phase !== ''),
      source,
    };
  }
}
