/**
 * A report as it is laid out, before it is drawn: sections of paragraphs, facts, tables and pictures. Plain data, so that
 * paper (pdf.ts) and page (html.ts) show the same.
 */
import type { Level } from '../../protocol/limit.ts';
import type { Picture } from './picture.ts';

/** Text of a cell; a level is drawn as its shape before the word, so that it is told without colour. */
export type Cell = string | { text: string; level?: Level; strong?: boolean };

export interface Column {
  head: string;
  /** numbers stand at the right */
  align?: 'end';
  /** share of the width on paper, relative to the others */
  share: number;
}

export type Block =
  | { kind: 'heading'; text: string }
  /** `strong`: must not be missed */
  | { kind: 'paragraph'; text: string; strong?: boolean }
  | { kind: 'facts'; rows: { name: string; value: string; strong?: boolean }[] }
  | { kind: 'table'; columns: Column[]; rows: Cell[][] }
  | { kind: 'list'; items: string[]; strong?: boolean }
  | { kind: 'picture'; picture: Picture; caption: string };

export interface Section {
  id: string;
  title: string;
  blocks: Block[];
}

export interface ReportDocument {
  title: string;
  /** one line under the title */
  subtitle: string;
  /** what every page bears at its foot, line by line; the first one is followed by the number of the page */
  foot: string[];
  /** ground time of the newest entry, microseconds: the date of the file, so that the same flight gives the same bytes */
  date: number;
  sections: Section[];
}

export const cellText = (cell: Cell): string => (typeof cell === 'string' ? cell : cell.text);
