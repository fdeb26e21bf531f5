/** Styles that elements share. */
import { css, unsafeCSS } from 'lit';
import { colour, fontFamily } from '../style/tokens.ts';

const c = Object.fromEntries(Object.entries(colour).map(([name, hex]) => [name, unsafeCSS(hex)])) as Record<
  keyof typeof colour,
  ReturnType<typeof unsafeCSS>
>;

/** Colours for `css` templates. */
export const tone = c;

export const common = css`
  :host {
    box-sizing: border-box;
    color: ${c.ink};
    font-family: ${unsafeCSS(fontFamily)};
    font-size: 15px;
    line-height: 1.25;
    font-variant-numeric: tabular-nums;
  }
  * {
    box-sizing: border-box;
  }
  h2,
  p,
  ul,
  ol,
  dl,
  dd {
    margin: 0;
    padding: 0;
  }
  ul,
  ol {
    list-style: none;
  }
  h2 {
    font-size: 14px;
    font-weight: 700;
  }
  .quiet {
    color: ${c.quiet};
  }
  .small {
    font-size: 13px;
  }
  button,
  select,
  input {
    font: inherit;
    color: inherit;
    border: 1px solid ${c.frame};
    border-radius: 3px;
    background: ${c.plot};
    padding: 5px 10px;
    min-height: 32px;
  }
  button {
    cursor: pointer;
  }
  button:disabled,
  button[aria-disabled='true'] {
    color: ${c.quiet};
    background: ${c.page};
    cursor: default;
  }
  button:not(:disabled):not([aria-disabled='true']):hover {
    border-color: ${c.ink};
  }
  :focus-visible {
    outline: 3px solid ${c.ink};
    outline-offset: 2px;
  }
  kbd {
    font: inherit;
    font-size: 12px;
    border: 1px solid currentColor;
    border-radius: 3px;
    padding: 0 5px;
    margin-left: 6px;
  }
  .shape {
    width: 1.1em;
    height: 1.1em;
    flex: none;
    fill: currentColor;
    stroke: currentColor;
    stroke-width: 1.5;
    vertical-align: -0.18em;
  }
  .shape .hollow {
    fill: none;
    stroke-width: 2;
  }
  .shape .dashed {
    stroke-dasharray: 4 4;
  }
  .shape .cut {
    stroke: ${c.panel};
    stroke-width: 4;
  }
  .level {
    display: inline-flex;
    align-items: center;
    gap: 6px;
    font-weight: 700;
    padding: 2px 8px 2px 6px;
    border-radius: 2px;
    border: 2px solid ${c.ink};
    white-space: nowrap;
  }
  .level.caution {
    background: ${c.caution};
    color: ${c.cautionText};
    border-color: ${c.caution};
  }
  .level.warning,
  .level.stop {
    background: ${c.warning};
    color: ${c.warningText};
    border-color: ${c.warning};
  }
  .level.stop {
    outline: 2px solid ${c.warning};
    outline-offset: 2px;
  }
  .level.past {
    background: none;
    color: ${c.ink};
    border-style: dotted;
    border-color: ${c.quiet};
    outline: none;
  }
  .hatched {
    background: repeating-linear-gradient(
      135deg,
      ${c.panel} 0 6px,
      ${c.grid} 6px 7px,
      ${c.frame} 7px 8px
    );
  }
  .word {
    font-weight: 700;
    font-size: 12px;
    letter-spacing: 0.03em;
    border: 1.5px solid ${c.ink};
    background: ${c.panel};
    padding: 0 4px;
    white-space: nowrap;
  }
  .unseen {
    position: absolute;
    clip-path: inset(50%);
    width: 1px;
    height: 1px;
    overflow: hidden;
  }
  .struck {
    text-decoration: line-through;
    text-decoration-thickness: 2px;
    color: ${c.quiet};
  }
`;
