/** How the window is laid out: head, tabs, alarm line, banners, page, foot. */
import { css } from 'lit';
import { tone } from '../elements/common.ts';

export const roomStyle = css`
  :host {
    display: grid;
    grid-template-rows: auto auto auto auto minmax(0, 1fr) auto;
    grid-template-columns: minmax(0, 1fr);
    height: 100vh;
    background: ${tone.page};
    /* nothing scrolls the window as a whole, the cursor in a field neither */
    overflow: clip;
    overflow-wrap: break-word;
  }
  .banners {
    min-width: 0;
  }
  gc-alarm-line {
    border-bottom: 1px solid ${tone.frame};
  }
  .second {
    display: flex;
    align-items: center;
    border-bottom: 1px solid ${tone.frame};
    padding: 0 18px;
  }
  nav {
    flex: 1;
    min-width: 0;
    display: flex;
    align-self: flex-end;
    align-items: flex-end;
    gap: 4px;
  }
  nav button {
    border: 1px solid transparent;
    border-bottom: none;
    border-radius: 0;
    background: none;
    height: 33px;
    min-height: 0;
    margin-top: 3px;
    padding: 0 14px;
    white-space: nowrap;
  }
  @media (max-width: 1500px) {
    /* still read aloud */
    nav .more {
      position: absolute;
      clip-path: inset(50%);
      width: 1px;
      height: 1px;
      overflow: hidden;
    }
    nav {
      gap: 0;
    }
    nav button {
      padding: 0 9px;
      font-size: 14px;
    }
  }
  nav button[aria-current='page'] {
    background: ${tone.plot};
    border-color: ${tone.frame};
    box-shadow: inset 0 3px 0 ${tone.ink};
    font-weight: 700;
  }
  nav kbd {
    border-color: ${tone.frame};
    color: ${tone.quiet};
  }
  main {
    position: relative;
    min-height: 0;
    min-width: 0;
  }
  .canvas {
    position: absolute;
    inset: 0;
    overflow: hidden;
    pointer-events: none;
  }
  .canvas > canvas {
    position: absolute;
    inset: 0;
    width: 100%;
    height: 100%;
  }
  .content {
    position: absolute;
    inset: 0;
  }
  footer {
    display: flex;
    align-items: center;
    gap: 14px;
    height: 56px;
    padding: 0 18px;
    border-top: 1px solid ${tone.frame};
    background: ${tone.panel};
  }
  .room {
    flex: 1;
  }
  /* over everything, and whole: it says why something was not done */
  .answer {
    position: fixed;
    right: 18px;
    bottom: 64px;
    max-width: min(760px, 60vw);
    z-index: 50;
    /* it is only read: what lies under it can be pressed */
    pointer-events: none;
  }
  .answer b {
    display: block;
    border: 2px solid ${tone.ink};
    background: ${tone.plot};
    padding: 6px 12px;
  }
  .wait {
    padding: 40px;
    font-size: 18px;
  }
`;
