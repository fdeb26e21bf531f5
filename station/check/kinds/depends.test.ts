import { describe, expect, it } from 'vitest';
import { SECOND } from '../../../protocol/time.ts';
import { Validity } from '../../../protocol/validity.ts';
import { findingsOf } from '../../../test/support/kind-findings.ts';
import { fly, type LimitFlight, limitOf, lines } from '../../../test/support/limit-flight.ts';

describe('a limit that depends on other values', () => {
  it('cannot tell, which is an alarm of its own, when what it depends on is missing', () => {
    const flight = (more: Partial<LimitFlight>): LimitFlight => ({
      seconds: 4,
      groups: { main: 100, slow: 10 },
      signals: {
        IAS: { group: 'main', at: () => 90 },
        VNE: { group: 'slow', at: () => 100 },
      },
      limits: [limitOf('v', 'depends', 'IAS', { settings: { on: 'VNE' }, above: { caution: 0 } })],
      ...more,
    });
    const code = (t: number) => (t >= 1 && t < 2 ? Validity.undefined : Validity.good);
    const unusable = flight({});
    unusable.signals.VNE = { group: 'slow', at: () => 100, code };
    expect(lines(fly(unusable), unusable)).toEqual(['v inside 0', 'v cannot tell 1', 'v inside 2']);
    // one that stops coming holds until it is stale
    const silent = flight({ missing: (id, t) => id === 'slow' && t > 1 });
    expect(lines(fly(silent), silent)).toEqual(['v inside 0', 'v cannot tell 1.51']);
    const own = flight({});
    own.signals.IAS = { group: 'main', at: () => 90, code };
    expect(lines(fly(own), own)).toEqual(['v inside 0', 'v cannot tell 1', 'v inside 2']);
  });

  it('follows a limit that moves: the alarm is due where the two cross, and is told as they stand there', () => {
    const flight: LimitFlight = {
      seconds: 6,
      groups: { main: 100 },
      signals: {
        IAS: { group: 'main', at: (t) => 90 + 2 * t },
        VNE: { group: 'main', at: (t) => 105 - 3 * t },
      },
      limits: [
        limitOf('v', 'depends', 'IAS', {
          settings: { on: 'VNE' },
          above: { caution: -5, warning: 0 },
          persistence: SECOND / 2,
        }),
      ],
    };
    // 90 + 2 t > 100 - 3 t after 2 s, 90 + 2 t > 105 - 3 t after 3 s
    const changes = fly(flight);
    expect(lines(changes, flight)).toEqual([
      'v inside 0',
      'v pending 2.01',
      'v outside caution 2.51',
      'v outside warning 3.51',
    ]);
    expect(changes[2]?.value).toBeCloseTo(95.02, 9);
    expect(changes[2]?.limitValue).toBeCloseTo(105 - 7.53 - 5, 9);
  });

  it('takes what it depends on in the unit of the watched parameter', () => {
    const flight: LimitFlight = {
      seconds: 2,
      groups: { main: 100 },
      signals: {
        IAS: { group: 'main', unit: 'kt', at: (t) => 100 + 10 * t },
        // 111.12 km/h is 60 kt: 207.42 km/h is 112 kt
        VNE: { group: 'main', unit: 'km/h', at: () => 207.424 },
      },
      limits: [limitOf('v', 'depends', 'IAS', { settings: { on: 'VNE' }, above: { warning: 0 } })],
    };
    const changes = fly(flight);
    expect(lines(changes, flight)).toEqual(['v inside 0', 'v outside warning 1.21']);
    expect(changes[1]?.limitValue).toBeCloseTo(112, 9);
  });

  it('refuses a parameter that is not there', () => {
    const limit = limitOf('v', 'depends', 'A', { settings: { on: 'NONE' }, above: { caution: 0 } });
    expect(findingsOf(limit, ['A'])).toEqual([
      'unknown-name: limit v: NONE, expected the id of a parameter or derived parameter',
    ]);
  });
});
