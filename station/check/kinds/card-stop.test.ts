import { describe, expect, it } from 'vitest';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { group, mission, parameter } from '../../../test/support/tiny-mission.ts';
import type { Limit } from '../../../protocol/limit.ts';
import { Validity } from '../../../protocol/validity.ts';
import { SECOND } from '../../../protocol/time.ts';
import { measureContext } from '../../../test/support/run-measure.ts';
import { compileCheck } from '../check.ts';
import { compileCardStop } from './card-stop.ts';

const aircraft = limitOf('vne', 'level', 'IAS', { above: { caution: 110, warning: 120 } });
const stop = (more: Partial<Limit>) =>
  limitOf('card-stop', 'card stop', 'IAS', { settings: { inside: 'vne' }, ...more });

describe('the stop limit of a card', () => {
  it('is measured only when nothing is wrong with it', () => {
    const context = { ...measureContext(), finding: () => undefined };
    context.mission.limits = [aircraft];
    const compiled = (more: Partial<Limit>) =>
      compileCardStop(stop(more) as Parameters<typeof compileCardStop>[0], context);
    expect(compiled({ above: { stop: 108 } })?.inputs).toEqual(['IAS']);
    expect(compiled({ above: { warning: 108 } })).toBeUndefined();
    expect(compiled({ above: { stop: 108 }, settings: { inside: 'none' } })).toBeUndefined();
  });

  it('stands before the limit of the aircraft, at the very sample', () => {
    const of: LimitFlight = {
      seconds: 20,
      groups: { main: 50 },
      signals: {
        IAS: { group: 'main', at: (t) => 100 + t, code: (t) => (t >= 15 && t < 16 ? Validity.range : Validity.good) },
      },
      limits: [aircraft, stop({ above: { stop: 108 }, persistence: 0.2 * SECOND })],
    };
    expect(lines(fly(of), of)).toEqual([
      'vne inside 0',
      'card-stop inside 0',
      'card-stop pending 8.02',
      'card-stop outside stop 8.22',
      'vne outside caution 10.02',
      'vne cannot tell 15',
      'card-stop cannot tell 15',
      'vne outside caution 16',
      'card-stop outside stop 16',
    ]);
  });

  it('has the level stop alone', () => {
    for (const side of ['above', 'below'] as const) {
      const values = side === 'above' ? { warning: 105, stop: 108 } : { warning: 45, stop: 40 };
      const found = compileCheck(
        mission({
          groups: [group('main', 50)],
          parameters: [parameter('IAS', 'main')],
          limits: [aircraft, stop({ [side]: values })],
        }),
      ).findings.map(({ code, found: text }) => `${code}: ${text}`);
      expect(found).toEqual([`wrong-shape: limit card-stop: ${side} warning`]);
    }
  });

  it('names a limit of the aircraft that is there, and none of its own kind', () => {
    expect(findingsOf(stop({ above: { stop: 1 } }), ['IAS'])).toEqual([
      'unknown-name at inside: limit card-stop: inside vne, expected the id of a limit of the aircraft',
    ]);
    expect(findingsOf(stop({ above: { stop: 1 }, settings: { inside: 'card-stop' } }), ['IAS'])).toEqual([
      'bad-value at inside: limit card-stop: inside card-stop, a stop limit itself, expected a limit of the aircraft',
    ]);
  });
});
