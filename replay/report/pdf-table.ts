/** Tables on paper: heads again on every page, no row cut in two unless it is longer than a page. */
import { type Cell, cellText, type Column } from './document.ts';
import { inFace } from './face.ts';
import { inks, isFilled, levelInk, levelPath } from './picture.ts';
import { bottomOf, margins, widthOf } from './paper.ts';

type Paper = PDFKit.PDFDocument;

const SIZE = 7;
const PAD = 2.5;
const BETWEEN = 9;
const MARK = 6;

interface Grid {
  columns: readonly Column[];
  /** left edge and width of each, in points */
  places: { x: number; width: number }[];
}

export function drawTable(
  paper: Paper,
  { columns, rows }: { columns: readonly Column[]; rows: readonly Cell[][] },
): void {
  const grid: Grid = { columns, places: placesOf(paper, columns) };
  const hasHead = columns.some(({ head }) => head !== '');
  const headCells = columns.map(({ head }): Cell => ({ text: head, strong: true }));
  const headHeight = hasHead ? rowHeight(paper, grid, headCells) : 0;
  const head = (): void => {
    if (hasHead) drawRow(paper, grid, headCells, headHeight, true);
  };
  const first = rows[0] ? rowHeight(paper, grid, rows[0]) : 0;
  if (paper.y + headHeight + first > bottomOf(paper) && paper.y > margins.top + 1) paper.addPage();
  head();
  for (const row of rows) {
    const height = rowHeight(paper, grid, row);
    if (paper.y + height > bottomOf(paper)) {
      paper.addPage();
      head();
    }
    if (paper.y + height > bottomOf(paper)) drawInParts(paper, grid, row, head);
    else drawRow(paper, grid, row, height, false);
  }
  paper.y += 5;
}

function placesOf(paper: Paper, columns: readonly Column[]): Grid['places'] {
  const all = columns.reduce((sum, { share }) => sum + share, 0);
  const room = widthOf(paper) - BETWEEN * (columns.length - 1);
  let x = margins.left;
  return columns.map(({ share }) => {
    const width = (room * share) / all;
    const place = { x, width };
    x += width + BETWEEN;
    return place;
  });
}

const isStrong = (cell: Cell): boolean => typeof cell !== 'string' && cell.strong === true;
const indent = (cell: Cell): number => (typeof cell !== 'string' && cell.level ? MARK + 3 : 0);

/** How many characters of a text fit into this width, at least one; looked for near its beginning, however long it is. */
export function lengthWithin(paper: Paper, text: string, width: number): number {
  // no figure or letter is narrower than a point at these sizes; a narrower one only breaks the line sooner
  let most = Math.min(text.length, Math.max(1, Math.ceil(width)));
  if (paper.widthOfString(text.slice(0, most)) <= width) return most;
  let length = 1;
  while (most - length > 1) {
    const middle = (length + most) >> 1;
    if (paper.widthOfString(text.slice(0, middle)) <= width) length = middle;
    else most = middle;
  }
  return length;
}

/** Text broken by hand where a word is wider than its column: pdfkit would let it run over. */
function cellLines(paper: Paper, cell: Cell, width: number): string[] {
  paper.font(isStrong(cell) ? 'bold' : 'plain').fontSize(SIZE);
  const lines: string[] = [];
  let line = '';
  for (const word of inFace(cellText(cell)).split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (paper.widthOfString(longer) <= width) {
      line = longer;
      continue;
    }
    if (line !== '') lines.push(line);
    line = word;
    for (let length = lengthWithin(paper, line, width); length < line.length; ) {
      lines.push(line.slice(0, length));
      line = line.slice(length);
      length = lengthWithin(paper, line, width);
    }
  }
  lines.push(line);
  return lines;
}

const LINE = SIZE * 1.28;

function rowLines(paper: Paper, { places }: Grid, row: readonly Cell[]): string[][] {
  return row.map((cell, index) => cellLines(paper, cell, (places[index]?.width ?? 0) - indent(cell)));
}

const rowHeight = (paper: Paper, grid: Grid, row: readonly Cell[]): number =>
  Math.max(1, ...rowLines(paper, grid, row).map(({ length }) => length)) * LINE + 2 * PAD;

function drawRow(paper: Paper, grid: Grid, row: readonly Cell[], height: number, isHead: boolean): void {
  drawLines(paper, grid, row, rowLines(paper, grid, row));
  const y = paper.y + height;
  paper
    .moveTo(margins.left, y)
    .lineTo(margins.left + widthOf(paper), y)
    .lineWidth(isHead ? 0.9 : 0.4)
    .strokeColor(isHead ? inks.ink : inks.grid)
    .stroke();
  paper.y = y;
}

function drawLines(paper: Paper, { columns, places }: Grid, row: readonly Cell[], lines: readonly string[][]): void {
  const top = paper.y + PAD;
  row.forEach((cell, index) => {
    const { x, width } = places[index] as Grid['places'][number];
    paper
      .font(isStrong(cell) ? 'bold' : 'plain')
      .fontSize(SIZE)
      .fillColor(inks.ink);
    (lines[index] as string[]).forEach((text, number) => {
      const left = columns[index]?.align === 'end' ? x + width - paper.widthOfString(text) : x + indent(cell);
      paper.text(text, left, top + number * LINE, { lineBreak: false });
    });
    const level = typeof cell === 'string' ? undefined : cell.level;
    if (level === undefined) return;
    paper.save().translate(x, top).lineWidth(1);
    const ink = inks[levelInk[level]];
    paper.path(levelPath(level, MARK));
    if (isFilled(level)) paper.fillAndStroke(ink, ink);
    else paper.stroke(ink);
    paper.restore();
  });
  paper.y = top - PAD;
}

/** A row longer than a page: as many lines as the page holds, and the rest on the next. */
function drawInParts(paper: Paper, grid: Grid, row: readonly Cell[], head: () => void): void {
  let rest = rowLines(paper, grid, row);
  let cells = row;
  while (rest.some(({ length }) => length > 0)) {
    const room = Math.max(1, Math.floor((bottomOf(paper) - paper.y - 2 * PAD) / LINE));
    const now = rest.map((lines) => lines.slice(0, room));
    rest = rest.map((lines) => lines.slice(room));
    drawLines(paper, grid, cells, now);
    paper.y += Math.max(...now.map(({ length }) => length)) * LINE + 2 * PAD;
    // the mark of a level belongs to the beginning
    cells = cells.map((cell) =>
      typeof cell === 'string' ? cell : { text: cell.text, ...(cell.strong && { strong: true }) },
    );
    if (rest.some(({ length }) => length > 0)) {
      paper.addPage();
      head();
    }
  }
}
