/** The sheet: where text may stand on it. Points. */

/** From the edges; the foot lies in the lower margin. */
export const margins = { left: 40, right: 40, top: 38, bottom: 62 };

type Sheet = Pick<PDFKit.PDFDocument, 'page' | 'y' | 'addPage'>;

export const bottomOf = (paper: Sheet): number => paper.page.height - margins.bottom;
export const widthOf = (paper: Sheet): number => paper.page.width - margins.left - margins.right;

/** A new page where less than this is left. */
export function keepTogether(paper: Sheet, height: number): void {
  if (paper.y + height > bottomOf(paper) && paper.y > margins.top + 1) paper.addPage();
}
