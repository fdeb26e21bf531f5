import PDFDocument from 'pdfkit';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { emptyReport } from '../../test/support/empty-report.ts';
import { fullReport } from '../../test/support/flight-report.ts';
import type { ReportDocument } from './document.ts';
import { faceBytes, isInFace } from './face.ts';
import { margins } from './paper.ts';
import { documentPdf, reportPdf } from './pdf.ts';

/** Every text that is drawn: on which page, where, and how wide. */
interface Drawn {
  page: object;
  text: string;
  x: number;
  y: number;
  width: number;
  size: number;
}

let drawn: Drawn[];
beforeEach(() => {
  drawn = [];
  const text = PDFDocument.prototype.text;
  vi.spyOn(PDFDocument.prototype, 'text').mockImplementation(function (
    this: PDFKit.PDFDocument,
    ...words: Parameters<PDFKit.PDFDocument['text']>
  ) {
    const [written, ...rest] = words as [string, ...(number | PDFKit.Mixins.TextOptions | undefined)[]];
    const options = rest.find((one) => typeof one === 'object');
    const [x = this.x, y = this.y] = rest.filter((one) => typeof one === 'number');
    const place = { x, y };
    const isLine = options?.lineBreak === false;
    const size = (this as unknown as { _fontSize: number })._fontSize;
    const { page } = this;
    const width = isLine ? this.widthOfString(written) : (options?.width ?? 0);
    drawn.push({ page, text: written, ...place, width, size });
    return text.apply(this, words);
  } as typeof text);
});
afterEach(() => vi.restoreAllMocks());

const pages = (): object[] => [...new Set(drawn.map(({ page }) => page))];

describe('the report on paper', () => {
  it('is the same, byte for byte, for the same flight', async () => {
    const [one, two] = [await reportPdf(fullReport()), await reportPdf(structuredClone(fullReport()))];
    expect(Buffer.compare(one, two)).toBe(0);
    expect(Buffer.from(one.subarray(0, 5)).toString()).toBe('%PDF-');
  });

  it.each([
    ['of a full flight', fullReport()],
    ['of a flight of which nothing was seen', emptyReport()],
  ])('%s bears flight, baseline, chain value and number on every page, each page once', async (_, report) => {
    await reportPdf(report);
    const all = pages();
    expect(all.length).toBeGreaterThan(1);
    for (const [index, page] of all.entries()) {
      const texts = drawn.filter((one) => one.page === page).map(({ text }) => text);
      expect(texts).toContain(`page ${index + 1} of ${all.length}`);
      expect(texts).toContain(`baseline ${report.mission.baselineId}`);
      expect(texts).toContain(`chain ${report.chain.value || 'no value yet'}`);
      // more than a foot: no page is empty
      expect(texts.length).toBeGreaterThan(6);
    }
  });

  it('draws nothing beyond the edges of a page', async () => {
    await reportPdf(fullReport());
    for (const { text, x, y, width, size } of drawn) {
      expect(x, text).toBeGreaterThanOrEqual(0);
      expect(x + width, text).toBeLessThanOrEqual(595.28 - margins.right + 0.5);
      expect(y + size, text).toBeLessThanOrEqual(841.89);
    }
  });

  it('uses characters of its face alone, and the face has them', async () => {
    const fonts = [400, 700] as const;
    for (const weight of fonts) {
      const paper = new PDFDocument();
      paper.registerFont('face', faceBytes(weight)).font('face');
      const { font } = (paper as unknown as { _font: { font: { hasGlyphForCodePoint(code: number): boolean } } })._font;
      for (let code = 0x20; code < 0x3000; code++) {
        if (isInFace(code)) expect(font.hasGlyphForCodePoint(code), code.toString(16)).toBe(true);
      }
    }
    await reportPdf(fullReport({ flight: { number: 'Ж7', crew: '', note: '≥', closed: true } }));
    for (const { text } of drawn) {
      for (const one of text) expect(isInFace(one.codePointAt(0) as number), text).toBe(true);
    }
    expect(drawn.some(({ text }) => text.startsWith('Flight [U+0416]7'))).toBe(true);
  });
});

describe('tables on paper', () => {
  const sheet = (rows: string[][]): ReportDocument => ({
    title: 'Title',
    subtitle: 'subtitle',
    foot: ['foot'],
    date: 0,
    sections: [
      {
        id: 'a',
        title: 'Section',
        blocks: [
          {
            kind: 'table',
            columns: [
              { head: 'HEAD', share: 1 },
              { head: 'OTHER', share: 3, align: 'end' },
            ],
            rows,
          },
        ],
      },
    ],
  });

  it('say their heads again on every page, and cut no row in two', async () => {
    await documentPdf(sheet(Array.from({ length: 150 }, (_, row) => [`row ${row}`, `${'word '.repeat(60)}end${row}`])));
    const all = pages();
    expect(all.length).toBeGreaterThan(3);
    for (const page of all) {
      const on = drawn.filter((one) => one.page === page);
      expect(on.filter(({ text }) => text === 'HEAD')).toHaveLength(1);
      const begun = on.filter(({ text }) => /^row \d+$/.test(text)).map(({ text }) => text.slice(4));
      const ended = on.flatMap(({ text }) => [...text.matchAll(/end(\d+)/g)].map(([, row]) => row));
      expect(ended).toEqual(begun);
    }
  });

  it('go on over pages where a row is longer than one, and break words wider than their column', async () => {
    await documentPdf(
      sheet([
        ['x', `${'word '.repeat(9000)}end`],
        ['y'.repeat(300), 'z'],
      ]),
    );
    expect(pages().length).toBeGreaterThan(3);
    expect(drawn.flatMap(({ text }) => text.match(/word/g) ?? [])).toHaveLength(9000);
    const wide = drawn.filter(({ text }) => /^y+$/.test(text));
    expect(wide.map(({ text }) => text).join('')).toBe('y'.repeat(300));
    for (const { width } of wide) expect(width).toBeLessThanOrEqual(130);
    for (const { y, size, text } of drawn.filter(({ text: one }) => /word|^y+$/.test(one))) {
      expect(y + size, text).toBeLessThanOrEqual(841.89 - margins.bottom);
    }
  });

  it('break a note without a blank, however long it is, in a time that grows with its length', async () => {
    await documentPdf(sheet([['x', 'W'.repeat(20_000)]]));
    const wide = drawn.filter(({ text }) => /^W+$/.test(text));
    expect(wide.map(({ text }) => text).join('')).toHaveLength(20_000);
    expect(wide.length).toBeLessThan(700);
  }, 20_000);

  it('leave no heading alone at the foot of a page', async () => {
    const rows = Array.from({ length: 10 }, () => ['a', 'b']);
    const one = sheet(rows).sections[0] as ReportDocument['sections'][number];
    const sections = Array.from({ length: 30 }, (_, index) => ({ ...one, title: `Section ${index}` }));
    await documentPdf({ ...sheet([]), sections });
    for (const title of drawn.filter(({ text }) => /^Section \d+$/.test(text))) {
      const below = drawn.filter(({ page, y, text }) => page === title.page && y > title.y && /^[ab]$/.test(text));
      expect(below.length).toBeGreaterThanOrEqual(2);
    }
  });
});
