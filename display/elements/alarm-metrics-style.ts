/** Style of the alarm metrics. */
import { css } from 'lit';
import { tone } from './common.ts';

export const alarmMetricsStyle = css`
  :host {
    display: flex;
    flex-direction: column;
    min-height: 0;
    min-width: 0;
    gap: 10px;
    container-type: inline-size;
  }
  .all {
    overflow-y: auto;
    min-height: 0;
    display: grid;
    gap: 20px;
    grid-template-columns: minmax(0, 1fr);
    align-content: start;
    padding-right: 10px;
    scrollbar-width: thin;
  }
  small {
    font-size: 13px;
    font-weight: 400;
    color: ${tone.quiet};
  }
  table {
    border-collapse: collapse;
    width: 100%;
  }
  caption {
    text-align: left;
    font-size: 13px;
    color: ${tone.quiet};
    padding-bottom: 6px;
  }
  th,
  td {
    text-align: left;
    padding: 4px 12px 4px 0;
    border-bottom: 1px solid ${tone.frame};
    white-space: nowrap;
  }
  td:last-child {
    white-space: normal;
  }
  li.told {
    display: block;
  }
  li.told small {
    display: block;
  }
  thead th {
    font-size: 13px;
    font-weight: 400;
    color: ${tone.quiet};
    white-space: normal;
    vertical-align: bottom;
  }
  tbody th {
    font-weight: 700;
  }
  th.number,
  td.number,
  li .number {
    text-align: right;
    white-space: nowrap;
  }
  .lists {
    display: grid;
    grid-template-columns: repeat(auto-fill, minmax(270px, 1fr));
    gap: 18px 28px;
    align-items: start;
  }
  h3 {
    margin: 0 0 4px;
    font-size: 14px;
    border-bottom: 1px solid ${tone.frame};
    padding-bottom: 3px;
  }
  li {
    display: flex;
    justify-content: space-between;
    gap: 12px;
    padding: 3px 0;
  }
  li > span:first-child {
    min-width: 0;
    overflow-wrap: anywhere;
  }
  .trouble {
    border: 2px solid ${tone.ink};
    padding: 5px 10px;
  }
`;
