import { expect, test } from 'vitest';
import { findingText } from '../../protocol/finding.ts';
import { scenarioFile } from '../../test/support/rehearsal.ts';
import { readScenario } from './scenario.ts';

const good = {
  name: 'short',
  title: 'Short',
  seed: 4,
  duration: 20,
  day: { 'pressure hPa': 1000, 'temperature degC': 10, 'wind from': 90, 'wind m/s': 3, 'gusts m/s': 0.2 },
  'fuel forward kg': 100,
  'fuel aft kg': 0,
  'gearbox oil degC': 20,
  script: [{ do: 'wait', for: 3 }, { do: 'start' }],
  injections: [{ do: 'jam actuator', at: 12, actuator: 2 }],
  links: [{ receiver: 'North', 'delay ms': 25, loss: 0.1, outages: [{ from: 2, to: 3.5 }] }],
};

test('a whole scenario is read into SI units and microseconds', () => {
  const { value } = readScenario(good, 'short.yaml');
  expect(value).toMatchObject({
    durationUs: 20_000_000,
    day: { pressurePa: 100_000, temperatureK: 283.15, windFromDeg: 90, windMps: 3 },
    gearboxOilK: 293.15,
    script: [{ do: 'wait', for: 3 }, { do: 'start' }],
    injections: [{ do: 'jam actuator', at: 12, actuator: 2 }],
  });
  expect(value!.links[0]).toEqual({
    receiver: 'North',
    loss: 0.1,
    delayUs: 25_000,
    jitterUs: 0,
    duplicates: 0,
    reordered: 0,
    bitErrors: 0,
    honestQuality: true,
    outages: [{ fromUs: 2_000_000, toUs: 3_500_000 }],
  });
});

test('all that is wrong is told at once, with what was expected', () => {
  const { value, findings } = readScenario(
    { ...good, seed: 'one', script: [{ do: 'loop the loop' }], links: [{ loss: 3 }], title: undefined, sede: 2 },
    'bad.yaml',
  );
  expect(value).toBeUndefined();
  expect(findings.map(findingText).join('\n')).toMatchInlineSnapshot(`
    "bad.yaml: wrong-shape: found the key "sede", expected one of name, title, seed, duration, day, fuel forward kg, fuel aft kg, gearbox oil degC, script, injections, links (did you mean seed?)
    bad.yaml: wrong-shape: found title missing, expected a text
    bad.yaml: wrong-shape: found seed: "one", expected a number from 0 to 9007199254740991
    bad.yaml: wrong-shape: found script 1: do: "loop the loop", expected one of wait, zero, shunt, sweep, start, run up, pick up, hover, turn, fly, autorotate, set down, cool down, shut down
    bad.yaml: wrong-shape: found links 1: receiver missing, expected a text
    bad.yaml: wrong-shape: found links 1: loss: 3, expected a number from 0 to 1"
  `);
});

test('what is no scenario at all gives findings and no exception', () => {
  for (const data of [undefined, null, 7, 'text', [], { script: {}, links: 'North', day: [] }])
    expect(readScenario(data, 'x.yaml').findings.length).toBeGreaterThan(0);
});

test('the scenarios that come with the product can be read', () => {
  expect(scenarioFile('first-flight').script.length).toBeGreaterThan(10);
});

test('a shunt names a channel that has one, a sweep its reach, a fault of a sensor its parameter', () => {
  const script = [
    { do: 'zero', for: 6 },
    { do: 'shunt', channel: 'MAST_BEND', for: 4 },
    { do: 'sweep', reach: 0.9 },
  ];
  const injections = [
    { do: 'scale sensor', at: 0, parameter: 'NX', by: 1.1 },
    { do: 'swap sensors', at: 2, parameter: 'NX', with: 'NY' },
  ];
  expect(readScenario({ ...good, script, injections }, 'short.yaml').value).toMatchObject({ script, injections });
  const wrong = { ...good, script: [{ do: 'shunt', channel: 'NX' }], injections: [{ do: 'shift sensor', at: 0 }] };
  expect(readScenario(wrong, 'bad.yaml').findings.map(({ found }) => found)).toEqual([
    'script 1: channel: "NX"',
    'injections 1: parameter missing',
    'injections 1: by missing',
  ]);
});
