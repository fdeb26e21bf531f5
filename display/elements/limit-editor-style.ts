/** Style of the limit editor. */
import { css } from 'lit';
import { tone } from './common.ts';

export const limitEditorStyle = css`
  section {
    display: grid;
    gap: 9px;
    padding: 12px 14px 14px;
    border: 2px solid ${tone.ink};
    background: ${tone.plot};
  }
  h2 {
    font-size: 17px;
  }
  .fields {
    display: grid;
    gap: 5px;
  }
  .field {
    display: grid;
    grid-template-columns: minmax(0, 1fr) 62px 88px 48px;
    gap: 0 10px;
    align-items: center;
  }
  .now {
    text-align: right;
  }
  .head > :nth-child(3) {
    text-align: right;
    padding-right: 8px;
  }
  .field input {
    width: 100%;
    text-align: right;
    padding: 3px 8px;
  }
  .field.touched input {
    border: 2px solid ${tone.ink};
    font-weight: 700;
  }
  .verdict {
    border-left: 5px solid ${tone.ink};
    padding: 4px 0 4px 10px;
  }
  .verdict.quiet {
    border-left-color: ${tone.frame};
  }
  .what-if {
    display: grid;
    gap: 8px;
    justify-items: start;
  }
  .what-if > gc-difference-list {
    width: 100%;
  }
  .reason {
    font-weight: 700;
    margin-bottom: -5px;
  }
  .statements {
    display: grid;
    gap: 5px;
  }
  .tick {
    display: flex;
    gap: 8px;
    align-items: center;
  }
  .tick input {
    min-height: 0;
    accent-color: ${tone.ink};
  }
  .do {
    display: flex;
    gap: 10px;
  }
  .main {
    font-weight: 700;
  }
  .main:not([aria-disabled='true']) {
    border: 2px solid ${tone.ink};
  }
  .said {
    border: 2px solid ${tone.ink};
    padding: 5px 10px;
  }
`;
