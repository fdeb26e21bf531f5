/**
 * The stop sheet: what a room needs to call a stop and to keep the record by hand when the tool is dead. One page, unless
 * the day has more criteria or checklists than a page holds; nothing of them is left out.
 */
import { cautions } from '../../protocol/cautions.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { isAllowed, positions } from '../../protocol/role.ts';
import { ABORT_THRICE, heard, stopDecisions } from '../../protocol/stop-call.ts';
import { boxes, html, lines, type Markup, nothing, type Sheet, sheet, table, whole } from './sheet.ts';
import { classMeanings, criterionRule, Words } from './sheet-words.ts';

/** Lines to fill in by hand. */
const CALLS = 4;

export function stopSheet(mission: Mission): Sheet {
  const words = new Words(mission);
  const body = html`
${wordTable(mission)}
<p><b>Anyone</b> may call class 1. Class 2: ${class2Callers(mission)}; others through the test conductor. The word goes out by
voice, through the test conductor unless briefed otherwise. If a word is unclear, it counts as the more severe class. The
wrong word is better than none.</p>
<h2>Stop criteria <small>(named by every point, where nothing else is said)</small></h2>
${table(
  ['Criterion', 'Value', 'First action', 'Class', 'Watched by'],
  words.criteria().map((limit) => criterion(limit, words)),
  'None is declared: every warning is reported to the test conductor.',
)}
<p>${criterionRule}</p>
<h2>Order of a stop call</h2>
<p>Called, with the reason → acknowledged by the aircraft → recovering → the pilot declares safe → review → closed by
decision: ${stopDecisions.join(', ')}. No clock closes it. No point is cleared while it is open. To resume: test director and
pilot agree, reason found or accepted, limits and data looked at again.</p>
<h2>By hand, when the tool is dead</h2>
${byHand()}
${checklists(mission, words)}
<p class="small">${cautions.join(' ')}</p>`;
  return sheet(mission, 'Stop sheet', body, style);
}

/** The day's words, each class with its meaning; the range's words locked. Both sheets have it. */
export function wordTable({ words }: Mission): Markup {
  const { class1, class2, start = [], range = [] } = words;
  const always = class1.some((word) => heard(word) === heard(ABORT_THRICE)) ? [] : [ABORT_THRICE];
  const said = (list: readonly string[]) => lines(list.map((word) => html`<span class="word">${word}</span>`));
  const rows = [
    ['Class 1', said([...class1, ...always]), classMeanings.class1],
    ['Class 2', said(class2), classMeanings.class2],
    ...(start.length > 0 ? [['Start', said(start), classMeanings.start]] : []),
  ];
  const locked =
    range.length === 0
      ? nothing
      : html`<p class="locked"><b>Locked:</b> ${range.map((word) => html`<span class="word">${word}</span> `)}
belongs to the range alone. Nobody in this room says it, in any other meaning.</p>`;
  return html`${table(['Class', 'Words of the day', 'Meaning'], rows)}${locked}`;
}

export function class2Callers({ mayCallClass2 }: Mission): string {
  const briefed = { briefed: mayCallClass2 ?? [] };
  const those = positions.filter((position) => isAllowed(position, 'call stop class 2', briefed));
  return ['pilot', ...those].join(', ');
}

function criterion(limit: Limit, words: Words) {
  return [
    html`<b>${words.text(limit)}</b> <span class="small">${words.criterionOf(limit.id)}</span>`,
    words.levels(limit).join('; '),
    limit.firstAction,
    String(limit.stopClass ?? 1),
    whole(limit.watcher),
  ];
}

function byHand(): Markup {
  const heads = [
    'Ground time',
    'Caller',
    'Word',
    'Reason: item, value, limit',
    'Aircraft answered',
    'Safe',
    'Decision, who',
  ];
  const rows = Array.from({ length: CALLS }, () => html`<tr class="blank">${heads.map(() => html`<td></td>`)}</tr>`);
  return html`<table class="hand"><thead><tr>${heads.map((head) => html`<th scope="col">${head}</th>`)}</tr></thead>
<tbody>${rows}</tbody></table>`;
}

/** Those of lost voice and lost link; the others are on the brief sheet. */
function checklists(mission: Mission, words: Words): Markup {
  const lists = (mission.checklists ?? []).filter(({ shown }) => shown !== 'condition');
  if (lists.length === 0) return html`<h2>Voice or link lost</h2><p class="none">No checklist is declared.</p>`;
  return html`<div class="lists">${lists.map(
    (list) => html`<section class="keep"><h3>${list.title} <small>(${words.shownWhen(list)})</small></h3>
${boxes(list.steps)}</section>`,
  )}</div>`;
}

const style = `
:root { font-size: 8.4pt; line-height: 1.22; }
@page { margin: 9mm 12mm 12mm; }
h2 { margin-top: 2mm; }
.blank td { height: 7mm; }
table:not(.hand) td:first-child { width: 21%; }
.hand { table-layout: fixed; }
.hand th:nth-child(4) { width: 26%; }
.lists { columns: 3; column-gap: 5mm; margin-top: 3mm; }
.lists h3 { margin-top: 0; }
.lists section { margin-bottom: 2mm; }
.small { font-size: 7.5pt; }
small { font-weight: 400; font-size: 8.4pt; }
`;
