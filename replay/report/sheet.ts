/**
 * What the printed sheets are made of: one file of HTML that needs nothing else, no scripts, A4. Every text comes from the
 * mission and is escaped; the page's own policy lets nothing run and nothing load, also where it is opened from a disk.
 */
import { createHash } from 'node:crypto';
import type { Mission } from '../../protocol/mission.ts';
import { sheetId } from '../../protocol/sheet-id.ts';
import { visible } from '../../protocol/visible-text.ts';

export interface Sheet {
  html: string;
  /** Content-Security-Policy that it may be served with */
  policy: string;
}

/** Text that has been made safe for HTML, and what is built of it. */
export interface Markup {
  readonly markup: string;
}

type Part = string | number | Markup | readonly Part[];

const marked = (part: Part): string => {
  if (Array.isArray(part)) return (part as readonly Part[]).map(marked).join('');
  if (typeof part === 'object') return (part as Markup).markup;
  return escaped(String(part));
};

/** Every character that means something to HTML, inside and outside of quotes; what is not seen is written out. */
const escaped = (text: string): string =>
  visible(text).replace(/[&<>"'`]/g, (character) => `&#${character.charCodeAt(0)};`);

/** A template whose values are escaped unless they are markup; lists are joined. */
export function html(strings: TemplateStringsArray, ...parts: readonly Part[]): Markup {
  return { markup: strings.reduce((all, string, i) => `${all}${marked(parts[i - 1] as Part)}${string}`) };
}

export const nothing: Markup = { markup: '' };

/** A table with these heads; nothing where there are no rows. */
export function table(heads: readonly string[], rows: readonly (readonly Part[])[], empty = 'none'): Markup {
  if (rows.length === 0) return html`<p class="none">${empty}</p>`;
  return html`<table><thead><tr>${heads.map((head) => html`<th scope="col">${head}</th>`)}</tr></thead><tbody>
${rows.map((cells) => html`<tr>${cells.map((cell) => html`<td>${cell}</td>`)}</tr>\n`)}</tbody></table>`;
}

/** Lines of one cell. */
export const lines = (texts: readonly Part[]): Markup => html`${texts.map((text) => html`<div>${text}</div>`)}`;

/** A short word that is not broken, like the name of a position. */
export const whole = (text: string): Markup => html`<span class="whole">${text}</span>`;

/** Steps to tick with a pen. */
export const boxes = (steps: readonly string[]): Markup =>
  html`<ol class="boxes">${steps.map((step) => html`<li>${step}</li>`)}</ol>`;

export function sheet(mission: Mission, title: string, body: Markup, more = ''): Sheet {
  const id = sheetId(mission.baselineId);
  const style = `${common(id.replace(/[^0-9A-Z-]/g, ''))}${more}`;
  const hash = createHash('sha256').update(style).digest('base64');
  const own = `default-src 'none'; style-src 'sha256-${hash}'; base-uri 'none'; form-action 'none'`;
  const page = html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${own}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${title}: ${mission.name}, sheet ${id}</title>
<style>${{ markup: style }}</style>
</head>
<body>
<header><div><h1>${title}</h1><p>${mission.name}</p></div><p class="id">Sheet <b>${id}</b></p></header>
<main>
${body}
</main>
</body>
</html>
`;
  return { html: page.markup, policy: `${own}; frame-ancestors 'none'` };
}

/** Black on white, made for a printer; on a screen the same page, a little apart from the edge. */
const common = (id: string): string => `
@page { size: A4; margin: 12mm 12mm 15mm; @bottom-left { content: "Sheet ${id}"; font: 8pt sans-serif; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; } }
:root { color: #000; background: #fff; color-scheme: light; font: 9.5pt/1.35 system-ui, sans-serif; }
body { margin: 0 auto; max-width: 190mm; }
@media screen { body { padding: 8mm 5mm; } }
header { display: flex; justify-content: space-between; align-items: flex-start; border-bottom: 1.5pt solid; gap: 6mm; }
header p { margin: 0 0 2mm; }
h1 { font-size: 17pt; margin: 0; overflow-wrap: anywhere; }
.id { margin-right: 1px; border: 1.5pt solid; padding: 1mm 3mm; font-size: 11pt; white-space: nowrap; }
.id b { font: 700 13pt ui-monospace, monospace; }
h2 { font-size: 12.5pt; margin: 5mm 0 1.5mm; border-bottom: 0.5pt solid; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 3mm 0 1mm; break-after: avoid; overflow-wrap: anywhere; }
p { margin: 1mm 0; }
table { border-collapse: collapse; width: calc(100% - 1px); }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border: 0.5pt solid #555; padding: 0.6mm 1.4mm; text-align: left; vertical-align: top; overflow-wrap: anywhere; }
th { overflow-wrap: normal; font-weight: 700; background: #eee; print-color-adjust: exact; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 0.6mm 3mm; margin: 1mm 0; }
dt { font-weight: 700; }
dd { margin: 0; overflow-wrap: anywhere; }
.word { font-weight: 700; white-space: nowrap; }
.whole { overflow-wrap: normal; }
.keep { break-inside: avoid; }
.none { font-style: italic; }
.locked { border: 1.5pt solid; margin-right: 1px; padding: 1mm 2mm; }
.boxes { margin: 1mm 0; padding-left: 7mm; }
.boxes li::before { content: ""; display: inline-block; width: 2.6mm; height: 2.6mm; border: 0.8pt solid; margin-right: 2mm; }
.boxes li { break-inside: avoid; overflow-wrap: anywhere; }
`;
