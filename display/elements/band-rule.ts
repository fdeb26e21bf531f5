/** A band as a horizontal rule: where its ends and its target are, and where the value stands now. */
import { css, html, nothing, svg, type TemplateResult } from 'lit';
import { tone } from './common.ts';

export const bandRuleStyle = css`
  .rule {
    display: block;
    width: 100%;
    height: 24px;
    overflow: visible;
  }
  .rule .base {
    stroke: ${tone.frame};
    stroke-width: 1;
  }
  .rule .band {
    fill: ${tone.plot};
    stroke: ${tone.frame};
  }
  .rule .target {
    stroke: ${tone.quiet};
    stroke-width: 2;
    stroke-dasharray: 3 2;
  }
  .rule .value {
    fill: ${tone.ink};
    stroke: ${tone.plot};
    stroke-width: 1;
  }
`;

export interface BandRule {
  low: number;
  high: number;
  target: number;
  /** null: nothing that can be believed, so that nothing points at the rule */
  value: number | null;
}

const percent = (share: number): string => `${(share * 100).toFixed(2)}%`;

/** The band takes the middle half; a value further out than half its width stands at the end, as an arrow outwards. */
export function bandRule({ low, high, target, value }: BandRule): TemplateResult {
  const width = high - low || Math.abs(target) || 1;
  const from = low - width / 2;
  const place = (at: number): number => (at - from) / (2 * width);
  const at = value === null ? 0 : place(value);
  const mark = at < 0 ? 'M0 12l9-6v12z' : at > 1 ? 'M0 12l-9-6v12z' : 'M0 13l-6-11h12z';
  return html`<svg class="rule" aria-hidden="true" focusable="false">
    <line class="base" x1="0%" x2="100%" y1="12" y2="12"></line>
    <rect class="band" x="25%" width="50%" y="6" height="12"></rect>
    <line class="target" x1=${percent(place(target))} x2=${percent(place(target))} y1="3" y2="21"></line>
    ${
      value === null
        ? nothing
        : svg`<svg x=${percent(Math.min(1, Math.max(0, at)))} y="0" overflow="visible"><path class="value" d=${mark} /></svg>`
    }
  </svg>`;
}
