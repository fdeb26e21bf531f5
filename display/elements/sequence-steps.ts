/** One sequence: each step with the time it took and may take, what was measured, and what must hold before the next one. */
import { css, html, nothing, svg, type TemplateResult } from 'lit';
import { customElement, state } from 'lit/decorators.js';
import type { SequenceRunView, SequenceView } from '../../protocol/conduct.ts';
import type { Sequence } from '../../protocol/procedure.ts';
import { dueFor, isUnderWay, sequenceInView, stepInView } from '../state/sequences.ts';
import { common, tone } from './common.ts';
import { plainNumber } from './limit-words.ts';
import { brief, numberText } from './point-words.ts';
import { cannotTell, readyStyle } from './ready-words.ts';
import { unitText } from './readout.ts';
import { readyPicture, toldPicture } from './shape.ts';
import { WatchElement } from './watch.ts';

type StepView = SequenceView['steps'][number];

const seconds = (microseconds: number): string => `${(microseconds / 1e6).toFixed(1)} s`;

const sequenceWords: Record<SequenceView['state'], string> = {
  waiting: 'not begun',
  running: 'RUNNING',
  done: 'done',
  'broken off': 'BROKEN OFF',
  late: 'LATE',
  'cannot tell': 'CANNOT TELL',
};
const sequenceShape: Record<SequenceView['state'], string> = {
  waiting: 'to do',
  running: 'under way',
  done: 'done',
  'broken off': 'fault',
  late: 'fault',
  'cannot tell': 'cannot tell',
};
const stepShape: Record<StepView['state'], string> = {
  waiting: 'to do',
  due: 'under way',
  done: 'done',
  late: 'fault',
  missing: 'fault',
  'cannot tell': 'cannot tell',
};

/** In one line: which, where it is, and the step everybody waits for. */
export function sequenceLine(view: SequenceView, title: string): string {
  const step = stepInView(view);
  const at = step
    ? `: ${step.name} ${step.state === 'missing' ? 'MISSING' : step.state === 'due' ? 'due' : 'CANNOT TELL'}`
    : '';
  return `${title}, ${sequenceWords[view.state]}${at}`;
}

@customElement('gc-sequence-steps')
export class SequenceSteps extends WatchElement {
  static override topics = ['conduct', 'room', 'mission', 'link'] as const;
  static override numerals = true;
  /** id of the one chosen, '' = the one under way or the last */
  @state() private chosen = '';

  static override styles = [
    common,
    readyStyle,
    css`
      .choose {
        display: flex;
        flex-wrap: wrap;
        gap: 6px;
        margin-bottom: 10px;
      }
      .choose [aria-pressed='true'] {
        font-weight: 700;
        box-shadow: inset 0 -3px 0 ${tone.ink};
      }
      .title {
        display: flex;
        flex-wrap: wrap;
        gap: 4px 14px;
        align-items: center;
        font-size: 16px;
      }
      ol li {
        display: grid;
        grid-template-columns: 20px minmax(0, 1fr) 112px 128px 92px;
        gap: 0 10px;
        align-items: center;
        padding: 5px 0;
        border-bottom: 1px solid ${tone.grid};
      }
      ol li[data-state='due'],
      ol li[data-state='missing'] {
        background: ${tone.plot};
        box-shadow: inset 5px 0 0 ${tone.ink};
        padding-left: 10px;
      }
      .took {
        text-align: right;
        white-space: nowrap;
      }
      .told {
        white-space: nowrap;
      }
      .told.frame {
        border: none;
        background: none;
        padding: 0;
        margin: 0;
      }
      svg.time {
        width: 100%;
        height: 14px;
        overflow: visible;
      }
      .time .may {
        fill: ${tone.plot};
        stroke: ${tone.frame};
      }
      .time .is {
        fill: ${tone.ink};
      }
      .time .end {
        stroke: ${tone.ink};
        stroke-width: 2;
      }
      ol,
      table {
        max-width: 900px;
      }
      .earlier li {
        display: block;
        padding: 3px 0;
        overflow-wrap: anywhere;
      }
      .gate {
        margin-top: 12px;
        border-top: 1px solid ${tone.frame};
        padding-top: 8px;
      }
    `,
  ];

  /** Two thirds of the rule are what the step may take; what is longer goes on beyond the stroke. */
  #rule(took: number, within: number): TemplateResult | typeof nothing {
    if (!(within > 0)) return nothing;
    const share = Number.isFinite(took) ? Math.min(1, (took / within) * (2 / 3)) : 0;
    return html`<svg class="time" aria-hidden="true" focusable="false">
      <rect class="may" x="0" y="3" width="66.67%" height="8"></rect>
      ${share > 0 ? svg`<rect class="is" x="0" y="5" width="${share * 100}%" height="4"></rect>` : nothing}
      <line class="end" x1="66.67%" x2="66.67%" y1="0" y2="14"></line>
    </svg>`;
  }

  #step(step: StepView, due: number): TemplateResult {
    const { name, state: now, took, within, at } = step;
    const isWaited = ['due', 'missing', 'cannot tell'].includes(now);
    const time = at > 0 ? took : isWaited ? due : Number.NaN;
    const word =
      now === 'cannot tell'
        ? cannotTell()
        : now === 'missing' || now === 'late'
          ? html`<span class="word">${now.toUpperCase()}</span>`
          : now === 'due'
            ? html`<b>due</b>`
            : html`<span class="quiet">${now === 'waiting' ? 'to come' : 'done'}</span>`;
    return html`<li data-step=${name} data-state=${now} aria-current=${isWaited ? 'step' : 'false'}>
      ${readyPicture(stepShape[now])}
      <span>${name}${at > 0 ? html` <span class="quiet small">${brief(at)}</span>` : nothing}</span>
      ${this.#rule(time, within)}
      <span class="took"><b>${Number.isFinite(time) ? seconds(time) : '–'}</b> <span class="quiet small">of ${seconds(within)}</span></span>
      <span>${word}</span>
    </li>`;
  }

  #measures({ measures, times }: SequenceView, of: Sequence): TemplateResult | typeof nothing {
    if (measures.length === 0) return nothing;
    return html`<h3>Measured ${times > 1 ? 'the last time' : ''}</h3>
      <table>
        <tbody>
          ${measures.map(({ title, value, unit, missing }, i) => {
            const parameter = of.measures[i]?.parameter ?? '';
            const decimals =
              (unit === 's' ? 1 : (this.flight.declared(parameter)?.decimals ?? 1)) +
              (of.measures[i]?.kind === 'rate' ? 1 : 0);
            const shown =
              value !== null
                ? html`<b>${numberText(value, decimals)}</b> ${unitText(unit)}`
                : times === 0 && of.measures[i]?.kind !== 'now'
                  ? html`<span class="quiet">not begun</span>`
                  : cannotTell();
            const kind = of.measures[i]?.kind;
            const meant = kind === 'time above' ? 'counted in' : 'it may have been more';
            return html`<tr data-measure=${title}>
              <th scope="row">${title}</th>
              <td class="number">${shown}</td>
              <td>${missing > 0 && kind !== 'now' ? html`<span class="word">${seconds(missing)} NOT SEEN</span> <span class="quiet small">${meant}</span>` : nothing}</td>
            </tr>`;
          })}
        </tbody>
      </table>`;
  }

  #gate({ gate }: SequenceView, of: Sequence, isOn: boolean): TemplateResult | typeof nothing {
    if (!of.gate || gate === '') return nothing;
    const word =
      gate === 'inside' ? 'holds' : gate === 'outside' ? html`<span class="word">DOES NOT HOLD</span>` : cannotTell();
    const wait = isOn || gate === 'inside' ? nothing : html`<b>wait</b>`;
    return html`<p class="gate" data-gate=${gate}>
      <span class="quiet">${isOn ? 'At its beginning' : 'Before the next one'}:</span> ${toldPicture(gate)} ${of.gate.text}, ${word} ${wait}
    </p>`;
  }

  /** Each run before the last, newest first, with what was measured in it. */
  #earlier({ dropped, earlier }: SequenceView): TemplateResult | typeof nothing {
    if (earlier.length + dropped === 0) return nothing;
    const numbers = ({ measures, gate }: SequenceRunView): string =>
      [
        ...(gate === 'outside' ? ['begun although what must hold did not'] : []),
        ...(gate === 'cannot tell' ? ['begun while it could not be told what must hold'] : []),
        ...measures.map(({ title, value, unit }) =>
          `${title} ${value === null ? 'cannot tell' : `${plainNumber(Number(value.toPrecision(4)))} ${unitText(unit)}`}`.trim(),
        ),
      ].join('; ');
    return html`<h3>Earlier in this flight</h3>
      <ul class="earlier">
        ${[...earlier].reverse().map((run, i) => {
          const late = run.steps
            .filter(({ state: how }) => how === 'late' || how === 'missing')
            .map(({ name, state: how }) => `${name} ${how}`);
          return html`<li data-earlier=${dropped + earlier.length - i}>
            <b>${dropped + earlier.length - i}.</b> began ${brief(run.began)}, ${run.state}${late.length > 0 ? `, ${late.join(', ')}` : ''}
            <span class="quiet small">${numbers(run)}</span>
          </li>`;
        })}
        ${dropped > 0 ? html`<li class="quiet">${dropped} before these are not kept here; the recording has them</li>` : nothing}
      </ul>`;
  }

  #one(view: SequenceView, of: Sequence): TemplateResult {
    const now = this.flight.aircraftAt(this.watch.clock.now());
    const isOn = isUnderWay(view);
    const due = dueFor(view, now);
    const { state: is, times, began, ended } = view;
    const when =
      times === 0
        ? html`<span class="quiet small">it begins by itself when the aircraft shows it</span>`
        : html`<span class="quiet small"
            >${times === 1 ? '' : `for the ${times}. time, `}began ${brief(began)}${ended > 0 ? `, ended ${brief(ended)}` : ''} aircraft time</span
          >`;
    const word =
      is === 'done' || is === 'waiting' ? sequenceWords[is] : html`<span class="word">${sequenceWords[is]}</span>`;
    return html`<p class="title" data-sequence=${view.id} data-state=${is}>
        ${readyPicture(sequenceShape[is])} <b>${of.title}</b> ${word} ${this.flight.silent ? html`<span class="word">AS LAST HEARD</span>` : nothing} ${when}
      </p>
      <ol aria-label="Steps of ${of.title}">
        ${view.steps.map((step) => this.#step(step, due))}
      </ol>
      ${this.#gate(view, of, isOn)} ${this.#measures(view, of)} ${this.#earlier(view)}`;
  }

  override render(): TemplateResult {
    const { conduct, mission } = this.flight;
    const declared = mission?.sequences ?? [];
    if (declared.length === 0)
      return html`<p class="empty">The mission declares no sequence: start, run-up, pick-up and set-down stand in sequences.yaml of the mission folder.</p>`;
    const views = conduct?.sequences ?? [];
    const view = views.find(({ id }) => id === this.chosen) ?? sequenceInView(conduct);
    const of = declared.find(({ id }) => id === view?.id);
    return html`<div class="choose" role="group" aria-label="Sequences">
        ${declared.map(({ id, title }) => {
          const one = views.find((each) => each.id === id);
          return html`<button type="button" aria-pressed=${id === view?.id ? 'true' : 'false'} @click=${() => {
            this.chosen = id;
          }}>${readyPicture(one ? sequenceShape[one.state] : 'cannot tell')} ${title}</button>`;
        })}
        ${
          this.chosen === ''
            ? nothing
            : html`<button type="button" @click=${() => {
                this.chosen = '';
              }}>Follow what runs</button>`
        }
      </div>
      ${view && of ? this.#one(view, of) : html`<p class="told">${cannotTell()} The station does not tell where the sequences are.</p>`}`;
  }
}
