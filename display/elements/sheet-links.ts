/** Ways to what is printed: the day's sheets and the report of the flight. Each opens beside the room, never in its place. */
import { css, html, type TemplateResult } from 'lit';
import { tone } from './common.ts';

const link = (address: string, words: string): TemplateResult =>
  html`<a href=${address} target="_blank" rel="noopener">${words}<span class="unseen">, opens beside this window</span></a>`;

export const sheetLinks = (): TemplateResult =>
  html`${link('/sheets/brief', 'Brief sheet')} ${link('/sheets/stop', 'Stop sheet')}`;
export const reportLinks = (): TemplateResult =>
  html`${link('/report', 'Report')} ${link('/report.pdf', 'Report as PDF')}`;

export const sheetLinkStyle = css`
  a {
    display: inline-flex;
    align-items: center;
    min-height: 32px;
    color: ${tone.ink};
    border: 1px solid ${tone.frame};
    border-radius: 3px;
    background: ${tone.plot};
    padding: 5px 10px;
  }
  a:hover {
    border-color: ${tone.ink};
  }
`;
