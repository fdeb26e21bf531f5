/** The report on paper: A4 pages by pdfkit, from the same layout as the page of HTML. The same report gives the same bytes. */
import PDFDocument from 'pdfkit';
import type { FlightReport } from '../../protocol/report.ts';
import { MILLISECOND } from '../../protocol/time.ts';
import { visible } from '../../protocol/visible-text.ts';
import type { Block, ReportDocument } from './document.ts';
import { faceBytes, inFace } from './face.ts';
import { inks, type Picture } from './picture.ts';
import { keepTogether, margins, widthOf } from './paper.ts';
import { drawTable, lengthWithin } from './pdf-table.ts';
import { layOut } from './quick-look.ts';

type Paper = PDFKit.PDFDocument;

const FOOT_SIZE = 6;
const BODY = 8;

export const reportPdf = (report: FlightReport): Promise<Uint8Array> => documentPdf(layOut(report));

export async function documentPdf(document: ReportDocument): Promise<Uint8Array> {
  const written = new Date(document.date / MILLISECOND);
  const paper = new PDFDocument({
    size: 'A4',
    margins,
    bufferPages: true,
    lang: 'en',
    displayTitle: true,
    info: {
      Title: visible(document.title),
      Subject: visible(document.foot.join(', ')),
      CreationDate: written,
      ModDate: written,
    },
  });
  const bytes = gathered(paper);
  paper.registerFont('plain', faceBytes(400)).registerFont('bold', faceBytes(700));
  paper.font('bold').fontSize(16).fillColor(inks.ink).text(inFace(document.title), { lineGap: 1 });
  paper.font('plain').fontSize(BODY).fillColor(inks.quiet).text(inFace(document.subtitle));
  paper.moveDown(0.6);
  for (const { title, blocks } of document.sections) {
    keepTogether(paper, 16 + 22 + leastHeight(paper, blocks));
    sectionTitle(paper, title);
    blocks.forEach((block, index) => drawBlock(paper, block, blocks[index + 1]));
  }
  feet(paper, document);
  paper.end();
  return bytes;
}

function gathered(paper: Paper): Promise<Uint8Array> {
  const parts: Uint8Array[] = [];
  return new Promise((resolve, reject) => {
    paper.on('data', (part: Uint8Array) => parts.push(part));
    paper.on('end', () => resolve(new Uint8Array(Buffer.concat(parts))));
    paper.on('error', reject);
  });
}

function sectionTitle(paper: Paper, title: string): void {
  if (paper.y > margins.top + 1) paper.y += 12;
  paper.outline.addItem(inFace(title));
  paper
    .font('bold')
    .fontSize(11)
    .fillColor(inks.ink)
    .text(inFace(title), margins.left, paper.y, { width: widthOf(paper) });
  const y = paper.y + 1;
  paper
    .moveTo(margins.left, y)
    .lineTo(margins.left + widthOf(paper), y)
    .lineWidth(1.2)
    .strokeColor(inks.ink)
    .stroke();
  paper.y = y + 5;
}

/** What must stand below a heading, so that none is left alone at the foot of a page. */
function leastHeight(paper: Paper, blocks: readonly (Block | undefined)[]): number {
  const [block, next] = blocks;
  switch (block?.kind) {
    case undefined:
      return 0;
    case 'heading':
      return 22 + leastHeight(paper, [next]);
    case 'picture':
      return pictureHeight(paper, block);
    case 'table':
      return 54;
    case 'facts':
      return 40;
    case 'list':
      return 26;
    case 'paragraph':
      return Math.min(60, textHeight(paper, block.text) + 4) + (next?.kind === 'table' ? 54 : 0);
  }
}

const textHeight = (paper: Paper, text: string): number =>
  paper
    .font('plain')
    .fontSize(BODY)
    .heightOfString(inFace(text), { width: widthOf(paper), lineGap: 1 });

function drawBlock(paper: Paper, block: Block, next: Block | undefined): void {
  const width = widthOf(paper);
  switch (block.kind) {
    case 'heading':
      keepTogether(paper, 22 + leastHeight(paper, [next]));
      paper.y += 6;
      paper.font('bold').fontSize(9).fillColor(inks.ink).text(inFace(block.text), margins.left, paper.y, { width });
      paper.y += 3;
      break;
    case 'paragraph':
      keepTogether(paper, Math.min(60, textHeight(paper, block.text)));
      paper
        .font(block.strong ? 'bold' : 'plain')
        .fontSize(BODY)
        .fillColor(inks.ink)
        .text(inFace(block.text), margins.left, paper.y, { width, lineGap: 1 });
      paper.y += 4;
      break;
    case 'facts':
      drawTable(paper, {
        columns: [
          { head: '', share: 17 },
          { head: '', share: 83 },
        ],
        rows: block.rows.map(({ name, value, strong }) => [name, { text: value, ...(strong && { strong }) }]),
      });
      break;
    case 'list':
      for (const item of block.items) drawItem(paper, item, block.strong === true);
      break;
    case 'table':
      drawTable(paper, block);
      break;
    case 'picture':
      drawPicture(paper, block);
      break;
  }
}

function drawItem(paper: Paper, item: string, strong: boolean): void {
  keepTogether(paper, Math.min(60, textHeight(paper, item)));
  const { y } = paper;
  paper
    .font(strong ? 'bold' : 'plain')
    .fontSize(BODY)
    .fillColor(inks.ink)
    .text('•', margins.left, y, { lineBreak: false });
  paper.text(inFace(item), margins.left + 10, y, { width: widthOf(paper) - 10, lineGap: 1 });
  paper.y += 2;
}

type PictureBlock = Extract<Block, { kind: 'picture' }>;

const captionHeight = (paper: Paper, caption: string): number =>
  paper
    .font('plain')
    .fontSize(7)
    .heightOfString(inFace(caption), { width: widthOf(paper) });

const pictureHeight = (paper: Paper, { picture, caption }: PictureBlock): number =>
  picture.height * (widthOf(paper) / picture.width) + captionHeight(paper, caption) + 8;

function drawPicture(paper: Paper, block: PictureBlock): void {
  const height = pictureHeight(paper, block);
  keepTogether(paper, height);
  const { y } = paper;
  const scale = widthOf(paper) / block.picture.width;
  paper.save().translate(margins.left, y).scale(scale);
  drawShapes(paper, block.picture);
  paper.restore();
  const below = y + block.picture.height * scale;
  const width = widthOf(paper);
  paper.font('plain').fontSize(7).fillColor(inks.quiet).text(inFace(block.caption), margins.left, below, { width });
  paper.y = y + height;
}

function drawShapes(paper: Paper, { shapes }: Picture): void {
  for (const shape of shapes) {
    if (shape.draw === 'text') {
      const text = inFace(shape.text);
      paper
        .font(shape.bold ? 'bold' : 'plain')
        .fontSize(shape.size)
        .fillColor(inks[shape.ink]);
      const wide = paper.widthOfString(text);
      const x = shape.x - (shape.anchor === 'end' ? wide : shape.anchor === 'middle' ? wide / 2 : 0);
      paper.text(text, x, shape.y, { lineBreak: false, baseline: 'alphabetic' });
      continue;
    }
    const { path, stroke, fill, width, dash } = shape;
    paper.lineWidth(width ?? 1);
    if (dash && dash.length > 0) paper.dash(dash[0] as number, { space: dash[1] as number });
    paper.path(path);
    if (fill && stroke) paper.fillAndStroke(inks[fill], inks[stroke]);
    else if (fill) paper.fill(inks[fill]);
    else if (stroke) paper.stroke(inks[stroke]);
    paper.undash();
  }
}

/** Each page bears what it belongs to, and its number. */
function feet(paper: Paper, { foot }: ReportDocument): void {
  const { start, count } = paper.bufferedPageRange();
  for (let page = start; page < start + count; page++) {
    paper.switchToPage(page);
    // text below the lower margin would begin a new page
    paper.page.margins.bottom = 0;
    const width = widthOf(paper);
    const top = paper.page.height - margins.bottom + 14;
    paper
      .moveTo(margins.left, top - 4)
      .lineTo(margins.left + width, top - 4)
      .lineWidth(0.5)
      .strokeColor(inks.frame)
      .stroke();
    paper.font('plain').fontSize(FOOT_SIZE).fillColor(inks.quiet);
    const number = `page ${page - start + 1} of ${count}`;
    const room = width - paper.widthOfString(number) - 10;
    foot.forEach((line, index) => {
      const text = fitted(paper, inFace(line), index === 0 ? room : width);
      paper.text(text, margins.left, top + index * 9, { lineBreak: false });
    });
    paper.text(number, margins.left + width - paper.widthOfString(number), top, { lineBreak: false });
    paper.page.margins.bottom = margins.bottom;
  }
}

/** As much of a text as a line holds. */
function fitted(paper: Paper, text: string, width: number): string {
  const length = lengthWithin(paper, text, width);
  if (length === text.length) return text;
  return `${text.slice(0, lengthWithin(paper, text, width - paper.widthOfString('…')))}…`;
}
