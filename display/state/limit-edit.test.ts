import { describe, expect, it } from 'vitest';
import type { Limit } from '../../protocol/limit.ts';
import { edited, editFields, typedNumber, valueDifferences } from './limit-edit.ts';

const limit: Limit = {
  id: 'nr',
  kind: 'level',
  parameter: 'NR',
  above: { caution: 104, warning: 107 },
  below: { warning: 95 },
  persistence: 500_000,
  hysteresis: 0.1 + 0.2,
  firstAction: '',
  watcher: 'engine',
  source: '',
};
const fields = editFields(limit, false);
const edit = (typed: Record<string, string>) => edited(limit, fields, typed, [0, 130]);

describe('limit editor', () => {
  it('has a field for each level of the limit, its persistence in seconds and its hysteresis', () => {
    expect(fields.map(({ key, now }) => [key, now])).toEqual([
      ['above warning', 107],
      ['above caution', 104],
      ['below warning', 95],
      ['persistence', 0.5],
      ['hysteresis', 0.1 + 0.2],
    ]);
    expect(editFields(limit, true).map(({ key }) => key)).toEqual(['persistence']);
    expect(editFields({ ...limit, byPhase: {} }, false).map(({ key }) => key)).toEqual(['persistence', 'hysteresis']);
  });

  it('says that nothing is changed while the values are the same, however they are typed', () => {
    expect(edit({})).toMatchObject({ changed: false, trouble: '' });
    expect(edit({ 'above caution': '104,0', persistence: '.5' })).toMatchObject({ changed: false, trouble: '' });
  });

  it('tells a tightening from a loosening at once', () => {
    expect(edit({ 'above caution': '103' })).toMatchObject({ changed: true, tightens: true, trouble: '' });
    expect(edit({ 'below warning': '94' })).toMatchObject({ changed: true, tightens: false, trouble: '' });
    // one value in, another out: that is a loosening
    expect(edit({ 'above caution': '103', persistence: '2' }).tightens).toBe(false);
  });

  it('keeps what was not touched to the last bit', () => {
    expect(edit({ 'above caution': '103' }).values.hysteresis).toBe(0.1 + 0.2);
    expect(limit.above?.caution).toBe(104);
  });

  it('says in words what cannot be', () => {
    expect(edit({ 'above caution': 'x' }).trouble).toBe('caution above: a number is expected, found x');
    expect(edit({ persistence: '' }).trouble).toContain('persistence: a number is expected');
    expect(edit({ 'above caution': '108' }).trouble).not.toBe('');
    expect(edit({ 'above warning': '131' }).trouble).toContain('130');
  });

  it('reads a number as people type it, and nothing else as one', () => {
    expect(['1', ' −2,5 ', '+3', '.5', '1e3'].map(typedNumber)).toEqual([1, -2.5, 3, 0.5, 1000]);
    expect(['', 'x', '1 2', '0x10', 'Infinity', '1..2'].map(typedNumber).every(Number.isNaN)).toBe(true);
  });

  it('lists what differs between two sets of values', () => {
    const after = edit({ 'above caution': '103', persistence: '2' }).values;
    expect(valueDifferences(limit, after)).toEqual([
      { what: 'caution above', unit: 'measure', was: 104, is: 103 },
      { what: 'persistence', unit: 's', was: 0.5, is: 2 },
    ]);
  });
});
