/**
 * Checklists, and whether voice is lost. One is open from when what shows it came true until that has ended; its ticks begin
 * anew each time. It is shown while it is open and a step of it is not ticked: whoever ticked the last one by mistake opens
 * that step again. Silence is reckoned in ground time of entries alone, so that replay shows the same.
 */
import { type Batch, type FrameSpan, groundOf } from '../../protocol/batch.ts';
import type { ChecklistView, ConductAction, ConductView } from '../../protocol/conduct.ts';
import type { ActionEntry } from '../../protocol/entry.ts';
import { columnPlaces, type Mission } from '../../protocol/mission.ts';
import type { Checklist } from '../../protocol/procedure.ts';
import { type AircraftTime, type GroundTime, SECOND } from '../../protocol/time.ts';
import type { ConductPart, Moment } from './part.ts';
import { NO, truthOf, UNSURE } from './truth.ts';

interface Tick {
  step: number;
  person: string;
  ground: number;
}

/** Where one checklist is. */
interface Open {
  /** ground time since when what shows it holds; 0 = it does not */
  since: number;
  ticks: Tick[];
}

interface LostLoop {
  loop: string;
  person: string;
  since: number;
}

interface Saved {
  open: Record<string, Open>;
  lost: LostLoop[];
  heard: number;
}

/** Of a recording from before there were any. */
const nothing: Saved = { open: {}, lost: [], heard: 0 };

export class Checklists implements ConductPart {
  readonly acts = ['report voice', 'tick checklist'] as const;
  private readonly lists: readonly Checklist[];
  private readonly open: Map<string, Open>;
  /** those shown by a condition, with the place of its column */
  private readonly watched: readonly { id: string; group: number; place: number }[];
  /** those shown by silence, and how long, microseconds of ground time */
  private readonly silences: readonly { id: string; after: number; withVoice: boolean }[];
  /** voice loops reported lost, oldest first */
  private lost: LostLoop[] = [];
  /** ground time of the newest good frame; 0 before the first */
  private heard = 0;

  /** Throws when a checklist names a parameter there is none of. */
  constructor(mission: Mission) {
    const places = columnPlaces(mission);
    this.lists = mission.checklists ?? [];
    this.open = new Map(this.lists.map(({ id }) => [id, { since: 0, ticks: [] }]));
    this.watched = this.lists.flatMap(({ id, shown, when = '' }) => {
      if (shown !== 'condition') return [];
      const place = places.get(when);
      if (place === undefined) throw new Error(`checklist ${id} names the unknown parameter ${when}`);
      return [{ id, ...place }];
    });
    this.silences = this.lists.flatMap(({ id, shown, after = 0 }) =>
      shown === 'link lost' || shown === 'contact lost'
        ? [{ id, after: Math.round(after * SECOND), withVoice: shown === 'contact lost' }]
        : [],
    );
  }

  act(entry: ActionEntry, action: ConductAction, moment: Moment): string {
    // frames may have been gathered since time passed last
    if (this.silences.length > 0) this.judgeSilence(entry.ground, moment.room().stream.lastGround);
    return action.act === 'report voice' ? this.reportVoice(entry, action) : this.tick(entry, action);
  }

  private reportVoice({ person, ground }: ActionEntry, { choice, text }: ConductAction): string {
    const loop = text.trim();
    const known = this.lost.find((one) => one.loop === loop);
    if (choice === 'lost') {
      if (known) return `voice${loop && ` on ${loop}`} is reported lost already, by ${known.person}`;
      this.lost.push({ loop, person, since: ground });
    } else if (choice === 'restored') {
      if (this.lost.length === 0) return 'voice is not reported lost';
      // without a loop: all of them
      if (loop !== '' && !known) return `voice on ${loop} is not reported lost, but ${this.loops()}`;
      this.lost = loop === '' ? [] : this.lost.filter((one) => one !== known);
    } else return `voice is reported lost or restored, not ${choice || 'nothing'}`;
    const since = this.lost[0]?.since ?? 0;
    for (const { id, shown } of this.lists) if (shown === 'voice lost') this.set(id, since);
    this.judgeSilence(ground, this.heard);
    return '';
  }

  private loops(): string {
    return this.lost.map(({ loop }) => loop || 'a loop without a name').join(', ');
  }

  private tick({ person, ground }: ActionEntry, { subject, number, choice }: ConductAction): string {
    const list = this.lists.find(({ id }) => id === subject);
    const open = this.open.get(subject);
    if (!list || !open) return `there is no checklist ${subject}`;
    if (open.since === 0) return `checklist ${list.title} is not shown: nothing asks for it now`;
    if (!Number.isInteger(number) || number < 1 || number > list.steps.length)
      return `checklist ${list.title} has steps 1 to ${list.steps.length}, no step ${number}`;
    const ticked = open.ticks.find(({ step }) => step === number);
    if (choice === 'done') {
      if (ticked) return `step ${number} was ticked already, by ${ticked.person}`;
      open.ticks.push({ step: number, person, ground });
      return '';
    }
    if (choice !== 'open') return `a step is done or open, not ${choice || 'nothing'}`;
    if (!ticked) return `step ${number} is open`;
    open.ticks = open.ticks.filter((one) => one !== ticked);
    return '';
  }

  /** Those shown by a condition: open from the frame that brought it; while it cannot be told nothing changes. */
  run(batches: readonly (Batch | undefined)[], frames: FrameSpan): void {
    for (const { id, group, place } of this.watched) {
      const batch = batches[group];
      if (batch === undefined) continue;
      const values = batch.values[place] as Float64Array;
      const validity = batch.validity[place] as Uint8Array;
      for (let i = 0; i < batch.length; i++) {
        const truth = truthOf(values[i], validity[i]);
        if (truth === UNSURE) continue;
        const isOpen = (this.open.get(id) as Open).since > 0;
        if (isOpen === (truth !== NO)) continue;
        this.set(id, isOpen ? 0 : groundOf(frames, batch.time[i] as number));
      }
    }
  }

  /** Those shown by silence. */
  pass(ground: GroundTime, _aircraft: AircraftTime, heard: GroundTime): void {
    if (this.silences.length > 0) this.judgeSilence(ground, heard);
  }

  private judgeSilence(ground: number, heard: number): void {
    // a frame came: whatever silence there was has ended, seen or not
    if (heard !== this.heard) for (const { id } of this.silences) this.set(id, 0);
    this.heard = heard;
    const voice = this.lost[0]?.since ?? 0;
    for (const { id, after, withVoice } of this.silences) {
      const silent = heard > 0 && ground >= heard + after ? heard + after : 0;
      this.set(id, withVoice ? (silent > 0 && voice > 0 ? Math.max(silent, voice) : 0) : silent);
    }
  }

  private set(id: string, since: number): void {
    const open = this.open.get(id) as Open;
    if (open.since > 0 === since > 0) return;
    open.since = since;
    if (since > 0) open.ticks = [];
  }

  view(): ChecklistView[] {
    return this.lists.map(({ id, steps }) => {
      const { since, ticks } = this.open.get(id) as Open;
      const isShown = ticks.length < steps.length;
      return { id, shownSince: isShown ? since : 0, ticks: since > 0 ? ticks.map((tick) => ({ ...tick })) : [] };
    });
  }

  voiceLost(): ConductView['voiceLost'] {
    const [first] = this.lost;
    return first
      ? { since: first.since, person: first.person, loop: this.lost.map(({ loop }) => loop).join(', ') }
      : null;
  }

  save(): unknown {
    return { open: Object.fromEntries(this.open), lost: this.lost, heard: this.heard } satisfies Saved;
  }

  /** A checklist that another mission has not is left out; one that is new is closed. */
  restore(state: unknown): void {
    const saved = structuredClone((state ?? nothing) as Partial<Saved>);
    if (typeof saved.open !== 'object' || !Array.isArray(saved.lost) || typeof saved.heard !== 'number')
      throw new Error('saved checklists lack what is open');
    for (const { id, steps } of this.lists) {
      const kept = saved.open[id] ?? { since: 0, ticks: [] };
      this.open.set(id, { since: kept.since, ticks: kept.ticks.filter(({ step }) => step <= steps.length) });
    }
    this.lost = saved.lost;
    this.heard = saved.heard;
  }
}
