/** Sets style properties of an element one by one: a style attribute would be refused by the page's content policy. */
import { noChange } from 'lit';
import { Directive, directive, type ElementPart, type PartInfo, PartType } from 'lit/directive.js';

class PlaceAt extends Directive {
  constructor(part: PartInfo) {
    super(part);
    if (part.type !== PartType.ELEMENT) throw new Error('placeAt stands in the tag of an element');
  }

  render(_style: Record<string, string>): typeof noChange {
    return noChange;
  }

  override update(part: ElementPart, [style]: [Record<string, string>]): typeof noChange {
    const target = (part.element as HTMLElement).style;
    for (const name of Object.keys(style)) target.setProperty(name, style[name] as string);
    return noChange;
  }
}

export const placeAt = directive(PlaceAt);
export const px = (pixels: number): string => `${Math.round(pixels * 10) / 10}px`;
