/** The brief sheet: everything the day is flown by, generated from the baseline, to be read aloud and to be signed for. */
import type { Card, TestPoint } from '../../protocol/card.ts';
import { cautions } from '../../protocol/cautions.ts';
import type { Limit } from '../../protocol/limit.ts';
import type { Mission } from '../../protocol/mission.ts';
import { sheetId } from '../../protocol/sheet-id.ts';
import { boxes, html, lines, type Markup, nothing, type Sheet, sheet, table, whole } from './sheet.ts';
import { criterionRule, number, seconds, Words } from './sheet-words.ts';
import { class2Callers, wordTable } from './stop-sheet.ts';
import { weightSection } from './weight-section.ts';

export function briefSheet(mission: Mission): Sheet {
  const words = new Words(mission);
  const body = html`
${identity(mission)}
<h2>People</h2>
${table(
  ['Position', 'Name'],
  mission.people.map(({ position, name }) => [position, name]),
)}
<h2>Words of the day</h2>
${wordTable(mission)}
<p>Anyone may call class 1. Class 2: ${class2Callers(mission)}; others through the test conductor. Every call says its reason.
If a word is unclear, it counts as the more severe class.</p>
${notices(mission)}
${cards(mission, words)}
${watch(mission, words)}
${limits(mission, words)}
${hazards(mission, words)}
${sequences(mission)}
${checklists(mission, words)}
${weightSection(mission)}
<h2>Cautions</h2>
<ul>${cautions.map((caution) => html`<li>${caution}</li>`)}</ul>`;
  return sheet(mission, 'Brief sheet', body, style);
}

function identity({ aircraft, baselineId, stream, receivers, name }: Mission): Markup {
  const termination =
    aircraft.terminationSystem === undefined
      ? 'not said: counts as fitted'
      : aircraft.terminationSystem
        ? 'fitted'
        : 'none';
  const rows = [
    ['Mission', name],
    ['Aircraft', aircraft.name],
    ['Aircraft software id', aircraft.softwareId],
    ['Aircraft configuration id', aircraft.configurationId],
    ['Termination system', termination],
    ['Stream', stream],
    ['Receivers', receivers.map((one) => one.name).join(', ')],
    ['Baseline id', baselineId],
    ['Sheet id', `${sheetId(baselineId)}: the same as on every screen, or this paper is out of date`],
  ] as const;
  return html`<dl class="identity">${rows.map(([term, text]) => html`<dt>${term}</dt><dd>${text}</dd>`)}</dl>`;
}

function notices({ readiness }: Mission): Markup {
  const list = readiness?.notices ?? [];
  if (list.length === 0) return nothing;
  return html`<h2>Configuration notices</h2>
<p>Every position acknowledges each of them before it is ready.</p>
${table(
  ['Notice', 'What has changed'],
  list.map(({ title, text }) => [html`<b>${title}</b>`, text]),
)}`;
}

function cards(mission: Mission, words: Words): Markup {
  const list = mission.cards ?? [];
  if (list.length === 0) return html`<h2>Cards and points</h2><p class="none">No cards are declared.</p>`;
  return html`<h2>Stop criteria of points</h2><p>${criterionRule}</p>
${list.map((card) => cardSection(card, words))}${openAnomalies(mission)}`;
}

function openAnomalies({ anomalies = [] }: Mission): Markup {
  if (anomalies.length === 0) return nothing;
  return html`<h2>Open anomalies of earlier flights</h2><p>No point is cleared while one is open.</p>
${table(
  ['Anomaly', 'From'],
  anomalies.map(({ text, source }) => [text, source]),
)}`;
}

const cardSection = ({ id, title, points }: Card, words: Words): Markup =>
  html`<h2>${title} <small>(card ${id})</small></h2>${points.map((point) => pointSection(point, words))}`;

function pointSection(point: TestPoint, words: Words): Markup {
  const { configuration, tolerance, data, dwell, hold, required, dropout, mayBeOutside, predicted, stops } = point;
  const share = mayBeOutside > 0 ? `; outside at most ${number(mayBeOutside * 100)} % of the record` : '';
  const rows: [string, Markup | string][] = [
    ['Builds up from', point.parent ?? 'nothing: first of its build-up'],
    ['Configuration', lines(configuration.map(({ text }) => text))],
    ['On condition', lines([...tolerance.map((band) => words.band(band)), `all of it for ${seconds(dwell)}`])],
    ['Manoeuvre', point.manoeuvre],
    ['Record', `${seconds(hold)}, from ${point.recordFrom}`],
    [
      'Must stay inside',
      lines([...data.map((band) => words.band(band)), ...(data.length > 0 && share ? [share.slice(2)] : [])]),
    ],
    ['Recover', point.recover],
    ['Stop criteria', lines(stops.map((id) => stopLine(words.limit(id), id, words)))],
    ['Required', `${required.map((id) => words.parameter(id)).join(', ')}; dropout at most ${seconds(dropout)} in all`],
    ['Flown again', point.repeatRule],
    [
      'Predicted',
      lines(
        predicted.map(
          ({ parameter, statistic, value, scatter }) =>
            `${statistic} of ${words.parameter(parameter)}: ${number(value)} ± ${words.quantity(scatter, parameter)}`,
        ),
      ),
    ],
  ];
  const step = point.step === undefined ? '' : ` (step ${number(point.step)} of ${point.family ?? ''})`;
  return html`<section class="keep"><h3>Point ${point.id}: ${point.title}${step}</h3>
<dl>${rows.map(([term, what]) => html`<dt>${term}</dt><dd>${what}</dd>`)}</dl></section>`;
}

const stopLine = (limit: Limit | undefined, id: string, words: Words): string =>
  limit === undefined ? id : `${words.text(limit)}: ${words.levels(limit).join('; ')} (class ${limit.stopClass ?? 1})`;

function watch(mission: Mission, words: Words): Markup {
  const assigned = mission.readiness?.watch ?? [];
  const rows = assigned.map(({ position, limits: ids }) => [
    position,
    mission.people
      .filter((one) => one.position === position)
      .map(({ name }) => name)
      .join(', ') || 'nobody',
    lines(ids.map((id) => words.limit(id)).map((limit, i) => (limit ? words.text(limit) : (ids[i] as string)))),
  ]);
  return html`<h2>Watch</h2><p>At most four limits a person.</p>
${table(['Position', 'Who', 'Watches'], rows, 'No assignment is declared: each limit has the watcher of the table below.')}`;
}

function limits(mission: Mission, words: Words): Markup {
  const rows = mission.limits
    .filter(({ id }) => !id.includes('.'))
    .map((limit) => [
      html`<b>${words.text(limit)}</b><div class="minor">${limit.id}${inForce(limit, mission)}</div>`,
      lines(words.levels(limit)),
      limit.firstAction,
      whole(limit.watcher),
      words.hasStop(limit) ? String(limit.stopClass ?? 1) : '',
      limit.source,
    ]);
  return html`<h2>Limits</h2>
${table(['Limit', 'Values', 'First action', 'Watcher', 'Stop class', 'Source'], rows)}`;
}

function inForce({ while: gate, phases }: Limit, mission: Mission): string {
  const names = (phases ?? []).map((id) => mission.phases?.phases.find((phase) => phase.id === id)?.name ?? id);
  const when = [...(gate ? [`while ${gate}`] : []), ...(names.length > 0 ? [`in ${names.join(', ')}`] : [])];
  return when.length > 0 ? `; ${when.join(', ')}` : '';
}

function hazards(mission: Mission, words: Words): Markup {
  const list = mission.hazards ?? [];
  if (list.length === 0) return nothing;
  const title = (id: string, of: readonly { id: string; title: string }[]) =>
    of.find((one) => one.id === id)?.title ?? id;
  const rows = list.map(({ title: hazard, severity, owner, mitigations }) => [
    html`<b>${hazard}</b>`,
    whole(severity),
    whole(owner),
    lines(
      mitigations.map((one) => {
        const limitTexts = one.limits
          .map((id) => words.limit(id))
          .map((limit, i) => (limit ? words.text(limit) : (one.limits[i] as string)));
        const by = [
          ...limitTexts.map((text) => `limit ${text}`),
          ...one.checklists.map((id) => `checklist ${title(id, mission.checklists ?? [])}`),
          ...one.cards.map((id) => `card ${title(id, mission.cards ?? [])}`),
          ...(one.procedure === '' ? [] : [one.procedure]),
        ];
        return html`${one.text}<div class="minor">held up by ${by.join('; ') || 'nothing'}</div>`;
      }),
    ),
  ]);
  return html`<h2>Hazards and mitigations</h2>${table(['Hazard', 'Severity', 'Owner', 'Mitigations'], rows)}`;
}

function sequences({ sequences: list = [] }: Mission): Markup {
  if (list.length === 0) return nothing;
  const rows = list.map(({ title, steps, gate }) => [
    html`<b>${title}</b>${gate ? html`<div class="minor">before it may begin: ${gate.text}</div>` : ''}`,
    lines(steps.map(({ name, within }, i) => `${i + 1}. ${name}, within ${seconds(within)}`)),
  ]);
  return html`<h2>Sequences</h2>${table(['Sequence', 'Steps, each timed from the one before'], rows)}`;
}

function checklists({ checklists: list = [] }: Mission, words: Words): Markup {
  if (list.length === 0) return nothing;
  return html`<h2>Checklists</h2>${list.map(
    (one) => html`<section class="keep"><h3>${one.title}</h3><p>Shown ${words.shownWhen(one)}.</p>
${boxes(one.steps)}</section>`,
  )}`;
}

const style = `
small { font-weight: 400; font-size: 9pt; }
.minor { font-size: 8pt; }
.identity dd { font-variant-numeric: tabular-nums; }
`;
