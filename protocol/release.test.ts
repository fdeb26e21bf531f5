import { describe, expect, it } from 'vitest';
import type { Limit } from './limit.ts';
import { limitValues, releaseDifferences } from './release.ts';

const limit = (id: string, more: Partial<Limit>): Limit => ({
  ...{ id, kind: 'level', parameter: 'A', persistence: 0, hysteresis: 0 },
  ...{ firstAction: 'say it', watcher: 'engine', source: 'test' },
  ...more,
});
const release = (limits: Record<string, Record<string, number>>) => ({
  ...{ softwareId: 'S', configurationId: 'C', baselineId: 'b', limits },
});

const limits = [
  limit('link', {
    above: { caution: 1600, warning: 2000 },
    below: { caution: -1600 },
    persistence: 500_000,
    hysteresis: 3,
  }),
  limit('link.blind', { above: { caution: 0.5 } }),
  limit('phased', { byPhase: { hover: { above: { stop: 5 } }, ground: { below: { advisory: 0 } } } }),
];

describe('the values of a pack', () => {
  it('bear the names that releases give them', () => {
    expect(limitValues(limits)).toEqual({
      link: { 'below caution': -1600, 'above caution': 1600, 'above warning': 2000, persistence: 0.5, hysteresis: 3 },
      phased: { 'above stop in hover': 5, 'below advisory in ground': 0 },
    });
  });
});

describe('the differences from a release', () => {
  it('are none from the pack itself', () => {
    expect(releaseDifferences(limits, release(limitValues(limits)), 'R')).toEqual([]);
  });

  it('are told value by value: other, here only, there only', () => {
    const { link, phased } = limitValues(limits) as Record<'link' | 'phased', Record<string, number>>;
    const { 'above caution': _, ...rest } = link;
    const other = { link: { ...rest, 'above warning': 1800, 'above stop': 2500, persistence: 1 }, newer: {} };
    expect(releaseDifferences(limits, release(other), 'R')).toEqual([
      'link above caution: this pack has 1600, R has none',
      'link above warning: this pack has 2000, R has 1800',
      'link persistence: this pack has 0.5, R has 1',
      'link above stop: this pack has none, R has 2500',
      'phased: in this pack, but not in R',
      'newer: not in this pack, but in R',
    ]);
    expect(phased['above stop in hover']).toBe(5);
  });
});
