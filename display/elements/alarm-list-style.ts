/** Style of the alarm list: narrow beside a page, in columns where it has the room. */
import { css } from 'lit';
import { tone } from './common.ts';

export const alarmListStyle = css`
  :host {
    display: flex;
    flex-direction: column;
    min-height: 0;
    padding: 10px 14px;
    container-type: inline-size;
  }
  ul {
    overflow-y: auto;
    min-height: 0;
    margin-top: 8px;
    scrollbar-width: thin;
  }
  li {
    display: grid;
    grid-template-columns: 1fr auto;
    gap: 3px 8px;
    padding: 8px 4px 9px;
    border-top: 1px solid ${tone.frame};
  }
  li > * {
    min-width: 0;
  }
  .name {
    font-weight: 700;
    overflow-wrap: anywhere;
  }
  .phrase {
    font-size: 13px;
    align-self: center;
    text-align: right;
  }
  .wide {
    grid-column: 1 / -1;
  }
  .numbers:empty {
    display: none;
  }
  .time {
    color: ${tone.quiet};
    font-size: 13px;
    align-self: center;
    text-align: right;
  }
  .foot {
    display: flex;
    flex-wrap: wrap;
    justify-content: space-between;
    gap: 5px 8px;
  }
  .who {
    align-self: center;
    flex: 1 1 100%;
    min-width: 0;
    overflow-wrap: anywhere;
  }
  .do {
    flex: none;
    margin-left: auto;
    display: flex;
    gap: 6px;
    align-items: center;
    justify-content: flex-end;
    align-self: center;
  }
  li.past {
    padding: 5px 4px;
    color: ${tone.quiet};
    font-size: 13px;
  }
  li.past .name {
    font-weight: 400;
  }
  li.heading {
    margin-top: 10px;
    font-weight: 700;
  }
  li.aside {
    border-left: 4px double ${tone.frame};
    padding-left: 8px;
  }
  li.aside .name {
    font-weight: 400;
  }
  /* two words side by side, each whole: under each other where there is no room */
  li.aside .phrase.unknown {
    grid-column: 1 / -1;
    justify-self: start;
  }
  .none {
    margin-top: 8px;
    color: ${tone.quiet};
  }
  button {
    font-weight: 700;
  }
  button.light {
    font-weight: 400;
  }
  .fold > button {
    width: 100%;
    text-align: left;
    border: 1px dashed ${tone.ink};
  }
  .folded {
    margin: 6px 0 0 6px;
    padding-left: 8px;
    border-left: 3px solid ${tone.ink};
    overflow: visible;
  }
  @container (min-width: 460px) {
    .foot {
      flex-wrap: nowrap;
    }
    .who {
      flex: 1 1 0;
      min-width: 0;
    }
  }
  @container (min-width: 620px) {
    ul > li:not(.past) {
      grid-template-columns: 178px minmax(0, 1fr) auto 78px;
      gap: 3px 14px;
    }
    .sort {
      order: 1;
    }
    li:not(.past) .name {
      order: 2;
      grid-column: auto;
      align-self: center;
    }
    .phrase {
      order: 3;
    }
    li.aside .phrase.unknown {
      grid-column: auto;
      justify-self: end;
    }
    .time {
      order: 4;
    }
    .numbers,
    .first-action,
    .foot {
      grid-column: 2 / -1;
    }
    .numbers,
    .first-action {
      order: 5;
    }
    .foot {
      order: 6;
    }
    .fold,
    gc-aside-form {
      order: 8;
      grid-column: 2 / -1;
    }
    li.flood .name {
      grid-column: 1 / -1;
    }
    li.past {
      grid-template-columns: 1fr auto;
    }
  }
`;
