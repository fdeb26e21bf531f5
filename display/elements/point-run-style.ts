/** Style of the run in the middle of the page of cards. */
import { css } from 'lit';
import { tone } from './common.ts';

export const pointRunStyle = css`
  :host {
    display: block;
    container-type: inline-size;
  }
  section,
  header {
    margin-bottom: 14px;
  }
  header {
    display: flex;
    justify-content: space-between;
    gap: 4px 16px;
    align-items: baseline;
    flex-wrap: wrap;
  }
  h2 {
    font-size: 18px;
  }
  h3 {
    margin: 0 0 4px;
    font-size: 13px;
    font-weight: 400;
    color: ${tone.quiet};
    border-bottom: 1px solid ${tone.frame};
    padding-bottom: 3px;
    display: flex;
    justify-content: space-between;
    gap: 12px;
  }
  .gates {
    display: grid;
    grid-template-columns: repeat(5, minmax(0, 1fr));
    margin-bottom: 12px;
  }
  .gates li {
    position: relative;
    display: grid;
    grid-template-columns: auto minmax(0, 1fr);
    gap: 0 7px;
    align-items: center;
    align-content: start;
    min-height: 48px;
    padding: 6px 4px 6px 10px;
    border-top: 3px solid ${tone.frame};
    font-size: 14px;
  }
  .gates li.said,
  .gates li.now {
    border-top-color: ${tone.ink};
  }
  .gates li.now {
    font-weight: 700;
    background: ${tone.plot};
  }
  .gates .said-at {
    grid-column: 2;
    font-size: 13px;
    color: ${tone.quiet};
    font-weight: 400;
  }
  .next {
    display: flex;
    gap: 8px 16px;
    align-items: center;
    flex-wrap: wrap;
    min-height: 42px;
  }
  button.main {
    font-weight: 700;
    border: 2px solid ${tone.ink};
    min-height: 42px;
    padding: 0 16px;
    font-size: 16px;
  }
  button.main[aria-disabled='true'] {
    border-color: ${tone.frame};
  }
  .offer {
    flex: 1;
    min-width: 190px;
  }
  /* in a row of their own: what is offered comes and goes, and moves nothing */
  .others {
    flex-basis: 100%;
    display: flex;
    flex-wrap: wrap;
    gap: 8px;
  }
  .next button:not(.main) {
    font-size: 14px;
    padding: 4px 9px;
  }
  .refused {
    flex-basis: 100%;
    border: 2px solid ${tone.ink};
    background: ${tone.plot};
    padding: 5px 10px;
    margin: 6px 0;
    font-weight: 700;
    overflow-wrap: anywhere;
  }
  .bands li {
    display: grid;
    grid-template-columns: 108px minmax(118px, 1.25fr) minmax(116px, 0.9fr) minmax(120px, 2fr) minmax(96px, 0.8fr);
    gap: 0 12px;
    align-items: center;
    padding: 4px 0;
    border-bottom: 1px solid ${tone.grid};
    min-height: 40px;
    --digits: 18px;
  }
  .bands small {
    display: block;
    color: ${tone.quiet};
    font-size: 13px;
    overflow: hidden;
    text-overflow: ellipsis;
    white-space: nowrap;
  }
  .told {
    display: flex;
    gap: 6px;
    align-items: center;
    white-space: nowrap;
  }
  .said-text {
    overflow-wrap: anywhere;
  }
  .settings li {
    display: grid;
    grid-template-columns: 108px minmax(0, 1fr);
    gap: 12px;
    align-items: center;
    padding: 3px 0;
    min-height: 28px;
  }
  .words {
    display: grid;
    grid-template-columns: 108px minmax(0, 1fr);
    gap: 4px 12px;
    overflow-wrap: anywhere;
  }
  .words dt {
    color: ${tone.quiet};
    font-size: 13px;
    padding-top: 1px;
  }
  .record {
    display: grid;
    grid-template-columns: 108px minmax(0, 1fr);
    gap: 6px 12px;
    align-items: center;
  }
  .progress {
    display: block;
    width: 100%;
    height: 10px;
  }
  .progress .track {
    fill: ${tone.plot};
    stroke: ${tone.frame};
  }
  .progress .done {
    fill: ${tone.quiet};
  }
  @container (max-width: 560px) {
    .bands li {
      grid-template-columns: 104px minmax(0, 1fr) minmax(104px, 1fr);
    }
    .bands .ruled {
      grid-column: 2 / -1;
      grid-row: 2;
    }
    .bands .asked {
      grid-column: 1;
      grid-row: 2;
    }
  }
`;
