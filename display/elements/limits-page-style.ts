/** Style of the limits page: the table, and beside it the editor and the change slips. */
import { css, unsafeCSS } from 'lit';
import { tone } from './common.ts';

/** Height of a row and of the head over the rows, pixels. */
export const ROW = 50;
export const HEAD = 40;

export const limitsPageStyle = css`
  :host {
    display: flex;
    height: 100%;
    min-height: 0;
  }
  .main {
    flex: 1;
    min-width: 0;
    display: flex;
    flex-direction: column;
    padding: 14px 18px 12px;
    gap: 12px;
    container-type: inline-size;
  }
  aside {
    flex: none;
    width: clamp(416px, 27vw, 500px);
    border-left: 1px solid ${tone.frame};
    background: ${tone.panel};
    padding: 14px;
    overflow-y: auto;
    display: flex;
    flex-direction: column;
    gap: 16px;
    scrollbar-width: thin;
  }
  .search {
    display: flex;
    gap: 14px;
    align-items: center;
    white-space: nowrap;
  }
  #limit-question {
    flex: 0 1 420px;
    min-width: 120px;
    font-size: 16px;
  }
  .baseline {
    margin-left: auto;
  }
  .list {
    flex: 1;
    min-height: 0;
    overflow-y: auto;
    background: ${tone.plot};
    border: 1px solid ${tone.frame};
    scrollbar-gutter: stable;
  }
  .list:focus-visible {
    outline-offset: 0;
  }
  .all {
    position: relative;
  }
  [role='row'] {
    display: grid;
    grid-template-columns:
      116px minmax(150px, 1.8fr) minmax(118px, 1.2fr) 74px minmax(148px, 1.2fr) minmax(172px, 1.6fr) 80px
      minmax(112px, 1fr) minmax(126px, 1.4fr);
    gap: 0 12px;
    align-items: center;
    padding: 0 12px;
  }
  .all [role='row'] {
    position: absolute;
    left: 0;
    right: 0;
    height: ${unsafeCSS(ROW)}px;
    border-bottom: 1px solid ${tone.grid};
    cursor: pointer;
  }
  .all [role='row']:hover {
    background: ${tone.panel};
  }
  .all [role='row'].opened {
    box-shadow: inset 5px 0 0 ${tone.ink};
  }
  .list:focus .at {
    outline: 3px solid ${tone.ink};
    outline-offset: -3px;
  }
  .blind {
    background: repeating-linear-gradient(135deg, transparent 0 9px, ${tone.grid} 9px 10px);
  }
  .head {
    font-size: 13px;
    line-height: 1.2;
    color: ${tone.quiet};
    position: sticky;
    top: 0;
    height: ${unsafeCSS(HEAD)}px;
    background: ${tone.panel};
    border-bottom: 1px solid ${tone.frame};
    z-index: 1;
  }
  [role='row'] > * {
    min-width: 0;
  }
  [role='gridcell'] > * {
    display: block;
    white-space: nowrap;
    overflow: hidden;
    text-overflow: ellipsis;
    line-height: 1.3;
  }
  [role='gridcell'].state > .level {
    display: inline-flex;
    font-size: 13px;
    padding: 0 6px 0 4px;
  }
  [role='gridcell'].state > .level.stop {
    outline: none;
    border-style: double;
    border-width: 3px;
    border-color: ${tone.plot};
  }
  [role='gridcell'].state > .word {
    display: inline-block;
  }
  small {
    font-size: 13px;
    color: ${tone.quiet};
  }
  .calm {
    color: ${tone.quiet};
  }
  .value {
    text-align: right;
  }
  .value b {
    font-size: 16px;
  }
  .name {
    line-height: 1.25;
  }
  [role='gridcell'].name > b {
    white-space: normal;
    display: -webkit-box;
    -webkit-box-orient: vertical;
    -webkit-line-clamp: 2;
  }
  .levels > span {
    font-size: 14px;
  }
  /* beside the editor what it says too goes first */
  @container (max-width: 1180px) {
    [role='row'] {
      grid-template-columns:
        116px minmax(150px, 1.9fr) minmax(110px, 1.2fr) 76px minmax(136px, 1.2fr) minmax(150px, 1.6fr)
        minmax(100px, 1fr);
    }
    .action,
    .times {
      display: none;
    }
  }
  @container (max-width: 980px) {
    [role='row'] {
      grid-template-columns: 116px minmax(160px, 1.8fr) 80px minmax(140px, 1.2fr) minmax(180px, 1.7fr);
    }
    .watcher,
    .kind,
    .baseline {
      display: none;
    }
  }
`;
