/**
 * A control that may not be used here stays where it is, is grey, and says why: on a pointer's rest, to a screen reader,
 * and in the window when it is pressed all the same.
 */
import { html, nothing, type TemplateResult } from 'lit';
import type { WatchElement } from './watch.ts';

export interface Pressed {
  label: unknown;
  /** '' = it may be used */
  refusal: string;
  press: () => void;
  kind?: string;
  /** for a label that does not say enough by itself */
  name?: string;
}

export const pressButton = (host: WatchElement, { label, refusal, press, kind = '', name }: Pressed): TemplateResult =>
  html`<button
    type="button"
    class=${kind}
    aria-label=${name ?? nothing}
    aria-disabled=${refusal === '' ? 'false' : 'true'}
    title=${refusal || nothing}
    aria-description=${refusal || nothing}
    @click=${() => (refusal === '' ? press() : host.notDone(refusal))}
  >
    ${label}
  </button>`;
