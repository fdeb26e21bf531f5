/**
 * The report as one file of HTML that needs nothing else: no scripts, style and plots inside, made for paper too. All text
 * comes from missions and people, and is escaped. Its own policy lets nothing run and nothing load, also where the file is
 * opened without a station.
 */
import { createHash } from 'node:crypto';
import type { FlightReport } from '../../protocol/report.ts';
import { visible } from '../../protocol/visible-text.ts';
import { type Block, type Cell, cellText, type ReportDocument } from './document.ts';
import { faceBytes } from './face.ts';
import { inks, isFilled, levelInk, levelPath, type Picture, type Shape } from './picture.ts';
import { layOut } from './quick-look.ts';

export interface ReportPage {
  html: string;
  /** Content-Security-Policy that it may be served with */
  policy: string;
}

export const reportHtml = (report: FlightReport): string => reportPage(report).html;

export const reportPage = (report: FlightReport): ReportPage => documentPage(layOut(report));

export function documentPage(document: ReportDocument): ReportPage {
  const style = styleOf(document);
  const hash = createHash('sha256').update(style).digest('base64');
  const own = `default-src 'none'; style-src 'sha256-${hash}'; font-src data:; base-uri 'none'; form-action 'none'`;
  const sections = document.sections.map(
    ({ id, title, blocks }) =>
      `<section id="${escaped(id)}"><h2>${escaped(title)}</h2>\n${blocks.map(blockHtml).join('\n')}\n</section>`,
  );
  const contents = document.sections.map(({ id, title }) => `<a href="#${escaped(id)}">${escaped(title)}</a>`);
  const html = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${own}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="referrer" content="no-referrer">
<title>${escaped(document.title)}</title>
<style>${style}</style>
</head>
<body>
<header><h1>${escaped(document.title)}</h1><p>${escaped(document.subtitle)}</p></header>
<nav aria-label="Sections">${contents.join('\n')}</nav>
<main>
${sections.join('\n')}
</main>
<footer>${document.foot.map((line) => `<p>${escaped(line)}</p>`).join('')}</footer>
</body>
</html>
`;
  return { html, policy: `${own}; frame-ancestors 'none'` };
}

/** Every character that means something to HTML, inside and outside of quotes; what is not seen is written out. */
export const escaped = (text: string): string =>
  visible(text).replace(/[&<>"'`]/g, (character) => `&#${character.charCodeAt(0)};`);

/** Text inside a string of CSS: all but letters, digits and spaces by their code points (CSS Syntax, section 4.3.7). */
const cssText = (text: string): string =>
  [...visible(text)]
    .map((one) => (/[A-Za-z0-9 .,:_-]/.test(one) ? one : `\\${(one.codePointAt(0) as number).toString(16)} `))
    .join('');

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
      return `<h3>${escaped(block.text)}</h3>`;
    case 'paragraph':
      return `<p${block.strong ? ' class="strong"' : ''}>${escaped(block.text)}</p>`;
    case 'facts':
      return `<dl>${block.rows
        .map(
          ({ name, value, strong }) =>
            `<div><dt>${escaped(name)}</dt><dd${strong ? ' class="strong"' : ''}>${escaped(value)}</dd></div>`,
        )
        .join('\n')}</dl>`;
    case 'list':
      return `<ul${block.strong ? ' class="strong"' : ''}>${block.items.map((item) => `<li>${escaped(item)}</li>`).join('\n')}</ul>`;
    case 'picture':
      return `<figure>${pictureSvg(block.picture)}<figcaption>${escaped(block.caption)}</figcaption></figure>`;
    case 'table':
      return tableHtml(block);
  }
}

function tableHtml({ columns, rows }: Extract<Block, { kind: 'table' }>): string {
  const end = (index: number): string => (columns[index]?.align === 'end' ? ' class="end"' : '');
  const head = columns.map((column, index) => `<th scope="col"${end(index)}>${escaped(column.head)}</th>`).join('');
  const body = rows
    .map((row) => `<tr>${row.map((cell, index) => `<td${end(index)}>${cellHtml(cell)}</td>`).join('')}</tr>`)
    .join('\n');
  const all = columns.reduce((sum, { share }) => sum + share, 0);
  const widths = columns.map(({ share }) => `<col width="${((100 * share) / all).toFixed(1)}%">`).join('');
  return `<div class="wide"><table><colgroup>${widths}</colgroup><thead><tr>${head}</tr></thead><tbody>\n${body}\n</tbody></table></div>`;
}

function cellHtml(cell: Cell): string {
  const text = escaped(cellText(cell));
  if (typeof cell === 'string') return text;
  const { level } = cell;
  const mark = level
    ? `<svg class="mark" viewBox="-1 -1 12 12" aria-hidden="true"><path d="${levelPath(level, 10)}" fill="${isFilled(level) ? inks[levelInk[level]] : 'none'}" stroke="${inks[levelInk[level]]}" stroke-width="1.6"/></svg>`
    : '';
  return mark + (cell.strong ? `<b>${text}</b>` : text);
}

export function pictureSvg({ width, height, alt, shapes }: Picture): string {
  const inside = shapes.map(shapeSvg).join('');
  return `<svg viewBox="0 0 ${width} ${height}" role="img" aria-label="${escaped(alt)}">${inside}</svg>`;
}

function shapeSvg(shape: Shape): string {
  if (shape.draw === 'text') {
    const { x, y, text, anchor, size, ink, bold } = shape;
    const weight = bold ? ' font-weight="700"' : '';
    return `<text x="${round(x)}" y="${round(y)}" text-anchor="${anchor}" font-size="${size}" fill="${inks[ink]}"${weight}>${escaped(text)}</text>`;
  }
  const { path, stroke, fill, width, dash } = shape;
  const line = stroke ? ` stroke="${inks[stroke]}" stroke-width="${width ?? 1}"` : '';
  const dashes = dash && dash.length > 0 ? ` stroke-dasharray="${dash.join(' ')}"` : '';
  return `<path d="${path}" fill="${fill ? inks[fill] : 'none'}"${line}${dashes}/>`;
}

const round = (value: number): number => Number(value.toFixed(2));

const face = (weight: 400 | 700): string =>
  `@font-face{font-family:B612;font-weight:${weight};src:url(data:font/woff;base64,${faceBytes(weight).toString('base64')}) format('woff')}`;

/** The foot of every printed page says which flight, baseline and chain it belongs to, and where it stands. */
function styleOf({ foot }: ReportDocument): string {
  const [first = '', ...rest] = foot.map(cssText);
  const lines = rest.map((line) => `"\\a ${line}"`).join(' ');
  return `${face(400)}${face(700)}
@page{size:A4;margin:14mm 13mm 20mm;
@bottom-left{content:"${first}" ${lines};font:6.5pt/1.4 B612,sans-serif;white-space:pre;vertical-align:top;padding-top:2mm}
@bottom-right{content:"page " counter(page) " of " counter(pages);font:6.5pt/1.4 B612,sans-serif;vertical-align:top;padding-top:2mm}}
html{font:15px/1.45 B612,system-ui,sans-serif;color:${inks.ink};background:#fff;print-color-adjust:exact;-webkit-print-color-adjust:exact}
body{max-width:64rem;margin:0 auto;padding:1.5rem}
h1{font-size:1.6rem;line-height:1.2;margin:0 0 .2rem}
h2{font-size:1.15rem;margin:2rem 0 .6rem;padding-bottom:.2rem;border-bottom:2px solid ${inks.ink};break-after:avoid}
h3{font-size:1rem;margin:1.3rem 0 .4rem;break-after:avoid}
p,li,figcaption,dd,td,th{overflow-wrap:anywhere}
p{margin:.4rem 0}
header p{color:${inks.quiet};margin:0}
nav{display:flex;flex-wrap:wrap;gap:.2rem 1rem;margin:1rem 0;font-size:.85rem}
a{color:${inks.trace}}
.strong{font-weight:700}
dl{margin:0;font-size:.9rem}
dl div{display:flex;gap:1rem;padding:.15rem 0;border-bottom:1px solid ${inks.grid};break-inside:avoid}
dt{flex:0 0 9rem;color:${inks.quiet}}
dd{margin:0;flex:1;min-width:0}
.wide{overflow-x:auto;margin:.5rem 0 1rem}
table{border-collapse:collapse;table-layout:fixed;width:100%;min-width:44rem;font-size:.82rem}
th{text-align:left;font-weight:700;border-bottom:1.5px solid ${inks.ink};padding:.25rem .9rem .25rem 0;vertical-align:bottom;overflow-wrap:normal}
td{border-bottom:1px solid ${inks.grid};padding:.25rem .9rem .25rem 0;vertical-align:top}
.end{text-align:right}
tr{break-inside:avoid}
thead{display:table-header-group}
.mark{width:.75em;height:.75em;margin-right:.35em}
figure{margin:.8rem 0;break-inside:avoid}
figure svg{display:block;width:100%;height:auto;font-family:B612,sans-serif}
figcaption{font-size:.8rem;color:${inks.quiet}}
ul{margin:.4rem 0;padding-left:1.2rem}
footer{margin-top:2rem;border-top:1px solid ${inks.frame};font-size:.75rem;color:${inks.quiet}}
@media print{html{font-size:8.6pt}body{max-width:none;padding:0}nav,footer{display:none}.wide{overflow:visible}table{min-width:0}h2{margin-top:1.4rem}}
`;
}
