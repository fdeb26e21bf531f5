import { expect, it } from 'vitest';
import { groundchase } from '../../test/support/groundchase.ts';

it('explains a formula of the rehearsal with units, conversions and code', async () => {
  const { code, stdout } = await groundchase('derive', '--explain', 'VH');
  expect(code).toBe(0);
  for (const part of ['driven by P_STATIC', 'convert hPa to Pa: x 100', 'momentum theory', 'generated function 1'])
    expect(stdout).toContain(part);
});

it('lists every function with its unit, range and source', async () => {
  const { code, stdout } = await groundchase('derive', '--functions', '--json');
  expect(code).toBe(0);
  const { functions } = JSON.parse(stdout) as { functions: Record<string, string>[] };
  expect(functions.length).toBeGreaterThan(90);
  for (const one of functions) expect([one.call, one.unit, one.gives, one.source]).not.toContain('');
  expect(functions.find(({ call }) => call?.startsWith('integral('))).toMatchObject({ unit: 'the unit of x, times s' });
  expect(functions.find(({ call }) => call?.startsWith('rate('))).toMatchObject({ unit: 'the unit of x, a second' });
  const text = await groundchase('derive', '--functions');
  expect(text.stdout).toContain(
    'thrust_coefficient(thrust [N], density [kg/m^3], rotor speed [rad/s], radius [m]) -> 1',
  );
});

it('names the nearest derived parameter, and wants one thing asked for', async () => {
  const wrong = await groundchase('derive', '--explain', 'DENSITY_ALTT');
  expect(wrong.code).toBe(1);
  expect(wrong.stderr).toContain('did you mean DENSITY_ALT?');
  for (const words of [[], ['--functions', '--explain', 'VH']])
    expect((await groundchase('derive', ...words)).code).toBe(2);
});
