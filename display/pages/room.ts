/** The window: head, page tabs and alarm line, banners, the page, and the bar with the stop-call control. */
import { ContextProvider } from '@lit/context';
import { html, nothing, type TemplateResult } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { tinykeys } from 'tinykeys';
import { canvasContext } from '../elements/canvas-context.ts';
import { common } from '../elements/common.ts';
import type { AlarmLine } from '../elements/alarm-line.ts';
import type { MarkControl } from '../elements/mark-control.ts';
import type { PlayerBar } from '../elements/player-bar.ts';
import type { StopCallBar } from '../elements/stop-call-bar.ts';
import { type Watch, WatchElement, watchContext } from '../elements/watch.ts';
import { type DrawingChoice, InstrumentCanvas } from '../instruments/canvas.ts';
import type { RoomPrompt } from '../state/room.ts';
import type { ParameterTable } from './parameter-table.ts';
import type { AlarmList } from '../elements/alarm-list.ts';
import '../elements/alarm-line.ts';
import type { ChecklistBanner } from '../elements/checklist-banner.ts';
import '../elements/checklist-banner.ts';
import '../elements/criterion-banner.ts';
import '../elements/fault-banner.ts';
import '../elements/flight-panel.ts';
import type { HeadBar } from '../elements/head-bar.ts';
import '../elements/head-bar.ts';
import '../elements/key-list.ts';
import '../elements/link-banner.ts';
import '../elements/mark-control.ts';
import '../elements/player-bar.ts';
import type { SequencePanel } from '../elements/sequence-panel.ts';
import '../elements/sequence-panel.ts';
import '../elements/stop-call-banner.ts';
import '../elements/stop-call-bar.ts';
import type { Stopwatch } from '../elements/stopwatch.ts';
import '../elements/stopwatch.ts';
import './alarms.ts';
import type { CardsPage } from './cards.ts';
import './cards.ts';
import type { LimitsPage } from './limits.ts';
import './limits.ts';
import './page.ts';
import './parameter-table.ts';
import './ready.ts';
import { roomStyle } from './room-style.ts';
import { isAsked } from '../state/ready.ts';

/** Pages that every mission has, after its own. */
const ALARMS = 'all alarms';
const LIMITS = 'all limits';
const CARDS = 'all cards';
const READY = 'before flight';
const TABLE = 'all parameters';
const own = [ALARMS, LIMITS, CARDS, READY, TABLE];
/** An answer to what a person did stays readable this long, milliseconds. */
const ANSWER_STAYS = 6000;

@customElement('gc-room')
export class RoomWindow extends WatchElement {
  static override topics = ['mission', 'link', 'answer', 'room', 'conduct'] as const;

  @property({ attribute: false }) drawing: DrawingChoice = 'best';
  @state() private page = '';
  @state() private keysShown = false;
  @state() private flightShown = false;
  @state() private letters = true;
  @state() private answer = '';
  @query('main') private main!: HTMLElement;
  @query('.canvas') private host!: HTMLElement;
  @query('gc-alarm-line') private alarmLine!: AlarmLine;
  @query('gc-stop-call-bar') private calls!: StopCallBar;
  @query('gc-mark-control') private marks!: MarkControl;
  @query('gc-stopwatch') private stopwatch!: Stopwatch;
  @query('gc-player-bar') private player!: PlayerBar;
  @query('gc-head-bar') private head!: HeadBar;
  @query('gc-sequence-panel') private sequences!: SequencePanel;
  @query('gc-checklist-banner') private checklists!: ChecklistBanner;

  /** state and clock, set once before the window is put on the page */
  readonly #given = new ContextProvider(this, { context: watchContext });
  readonly #provider = new ContextProvider(this, { context: canvasContext });
  #canvas: InstrumentCanvas | undefined;

  static override styles = [common, roomStyle];

  give(watch: Watch): void {
    this.#given.setValue(watch);
  }

  override get watch(): Watch {
    return this.#given.value;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.keep(this.watch.clock.on('frame', () => this.#canvas?.frame()));
    this.keep(this.flight.listen('mission', () => this.#firstPage()));
    this.keep(this.flight.listen('answer', () => this.#showAnswer()));
    this.#keys();
  }

  override firstUpdated(): void {
    this.#canvas = new InstrumentCanvas(this.host, this.flight, this.drawing);
    this.#provider.setValue({ canvas: this.#canvas, origin: this.main });
    this.#firstPage();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#canvas?.destroy();
  }

  /** The first page meant for this position, unless one is open that the mission still has. */
  #firstPage(): void {
    const pages = this.flight.mission?.pages ?? [];
    if (own.includes(this.page) || pages.some((page) => page.id === this.page)) return;
    const { position } = this.flight.session;
    const page = pages.find((p) => p.positions.includes(position)) ?? pages[0];
    this.page = page?.id ?? (this.flight.mission ? TABLE : '');
  }

  #showAnswer(): void {
    const { lastAnswer } = this.flight;
    this.answer = lastAnswer && !lastAnswer.accepted ? lastAnswer.reason : '';
    if (this.answer) {
      const shown = this.answer;
      setTimeout(() => {
        if (this.answer === shown) this.answer = '';
      }, ANSWER_STAYS);
    }
  }

  #open(id: string): void {
    this.page = id;
  }

  /** To the alarm list beside the page; where there is none, to the page of all alarms. */
  #toAlarms(): void {
    if (own.includes(this.page)) this.#open(ALARMS);
    void this.updateComplete.then(async () => {
      const page = this.renderRoot.querySelector<WatchElement>('gc-page, gc-alarms-page');
      await page?.updateComplete;
      page?.renderRoot.querySelector<AlarmList>('gc-alarm-list')?.focus();
    });
  }

  #keys(): void {
    /** Only where the key cannot be meant for a field, and letters are turned on. */
    const letter = (action: (now: number) => void) => (event: KeyboardEvent) => {
      const target = event.composedPath()[0] as HTMLElement;
      const typing = target.matches?.('input, select, textarea, [contenteditable]');
      const pressing = event.key === ' ' && target.matches?.('button');
      if (typing || pressing || !this.letters || event.repeat) return;
      event.preventDefault();
      // when the key went down, by the same clock as everything here
      action(event.timeStamp);
    };
    const pages = () => [...(this.flight.mission?.pages.map((page) => page.id) ?? []), ...own];
    const replaying = (action: () => void) =>
      letter(() => {
        if (this.flight.session.mode === 'replay') action();
      });
    const keyList = letter(() => {
      this.keysShown = !this.keysShown;
      this.flightShown = false;
    });
    const bindings: Record<string, (event: KeyboardEvent) => void> = {
      F9: (event) => {
        event.preventDefault();
        this.calls.open();
      },
      a: letter(() => this.alarmLine.acknowledge()),
      m: letter((now) => this.marks.open(now)),
      c: letter((now) => this.marks.open(now, 'comment')),
      n: letter((now) => this.marks.open(now, 'note')),
      h: letter((now) => this.marks.hack(now)),
      w: letter((now) => this.stopwatch.toggle(now)),
      'Shift+w': letter((now) => this.stopwatch.reset(now)),
      g: letter((now) => {
        // from another page it only leads there: what is logged was looked at before
        if (this.page === CARDS) this.renderRoot.querySelector<CardsPage>('gc-cards-page')?.next(now);
        else this.#open(CARDS);
      }),
      f: letter(() => {
        this.flightShown = !this.flightShown;
        this.keysShown = false;
      }),
      r: letter(() => this.#open(READY)),
      s: letter(() => this.sequences.toggle()),
      k: letter(() => this.checklists.toggle()),
      v: letter(() => this.head.openVoice()),
      l: letter(() => this.#toAlarms()),
      '/': letter(() => {
        if (this.page !== LIMITS) this.#open(TABLE);
        void this.updateComplete.then(() =>
          this.renderRoot.querySelector<ParameterTable | LimitsPage>('gc-parameter-table, gc-limits-page')?.search(),
        );
      }),
      // with or without Shift: keyboards differ
      'Shift+?': keyList,
      '?': keyList,
      Space: replaying(() => this.player.toggle()),
      ArrowLeft: replaying(() => this.player.skip(-10)),
      ArrowRight: replaying(() => this.player.skip(10)),
    };
    for (let i = 1; i <= 9; i++)
      bindings[String(i)] = letter(() => {
        const id = pages()[i - 1];
        if (id) this.#open(id);
      });
    this.keep(tinykeys(window, bindings));
  }

  #tabs(): TemplateResult {
    const open = this.flight.room.changes.filter(({ state: now }) => now === 'proposed').length;
    const { mode, position } = this.flight.session;
    // nobody is asked anything in a replay
    const asked = mode !== 'replay' && isAsked(this.flight.conduct, position);
    const tabs: { id: string; title: string; more?: string }[] = [
      ...(this.flight.mission?.pages ?? []).map(({ id, title }) => ({ id, title })),
      { id: ALARMS, title: 'Alarms' },
      { id: LIMITS, title: open > 0 ? `Limits: ${open}` : 'Limits', more: open > 0 ? ' to decide' : '' },
      { id: CARDS, title: 'Cards' },
      { id: READY, title: asked ? 'Ready: asked' : 'Ready' },
      { id: TABLE, title: 'All parameters' },
    ];
    return html`<nav aria-label="Pages">
      ${tabs.map(
        ({ id, title, more = '' }, i) =>
          html`<button aria-current=${id === this.page ? 'page' : 'false'} @click=${() => this.#open(id)}>
            ${title}${more === '' ? nothing : html`<span class="more">${more}</span>`}${i < 9 ? html`<kbd>${i + 1}</kbd>` : nothing}
          </button>`,
      )}
    </nav>`;
  }

  #content(): TemplateResult {
    const { mission } = this.flight;
    if (!mission) return html`<p class="wait">Waiting for the mission from the station …</p>`;
    if (this.page === TABLE) return html`<gc-parameter-table></gc-parameter-table>`;
    if (this.page === LIMITS) return html`<gc-limits-page></gc-limits-page>`;
    if (this.page === CARDS) return html`<gc-cards-page></gc-cards-page>`;
    if (this.page === READY) return html`<gc-ready-page></gc-ready-page>`;
    if (this.page === ALARMS) return html`<gc-alarms-page></gc-alarms-page>`;
    const page = mission.pages.find((p) => p.id === this.page);
    return page ? html`<gc-page .page=${page}></gc-page>` : html`<p class="wait">This page is not in the mission.</p>`;
  }

  override updated(): void {
    const { mode } = this.flight.session;
    document.title = mode ? `${mode.toUpperCase()}, Groundchase` : 'Groundchase';
  }

  override render(): TemplateResult {
    return html`
      <gc-head-bar></gc-head-bar>
      <div class="second">${this.#tabs()}<gc-sequence-panel></gc-sequence-panel></div>
      <gc-alarm-line></gc-alarm-line>
      <div class="banners">
        <gc-player-bar></gc-player-bar>
        <gc-link-banner></gc-link-banner>
        <gc-fault-banner></gc-fault-banner>
        <gc-criterion-banner @log-call=${(event: CustomEvent<RoomPrompt>) => this.calls.open(event.detail)}></gc-criterion-banner>
        <gc-stop-call-banner></gc-stop-call-banner>
        <gc-checklist-banner></gc-checklist-banner>
      </div>
      <main>
        <div class="canvas"></div>
        <div class="content">${this.#content()}</div>
      </main>
      <footer>
        <gc-stop-call-bar></gc-stop-call-bar>
        <span class="answer" role="status">${this.answer ? html`<b>Not done: ${this.answer}</b>` : nothing}</span>
        <span class="room"></span>
        <gc-stopwatch></gc-stopwatch>
        <gc-mark-control></gc-mark-control>
        <button
          aria-expanded=${this.flightShown ? 'true' : 'false'}
          @click=${() => {
            this.flightShown = !this.flightShown;
            this.keysShown = false;
          }}
        >
          Flight<kbd aria-hidden="true">F</kbd>
        </button>
        <button
          @click=${() => {
            this.keysShown = !this.keysShown;
          }}
        >
          Keys<kbd>?</kbd>
        </button>
      </footer>
      <gc-flight-panel
        .shown=${this.flightShown}
        @close=${() => {
          this.flightShown = false;
        }}
      ></gc-flight-panel>
      <gc-key-list
        .shown=${this.keysShown}
        .letters=${this.letters}
        @close=${() => {
          this.keysShown = false;
        }}
        @letters=${(event: CustomEvent<boolean>) => {
          this.letters = event.detail;
        }}
      ></gc-key-list>
    `;
  }
}
