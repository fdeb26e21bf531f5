import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { groundchase } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';

const mapping = `name: Climb
files:
  - file: log.csv
    group: air
    time: {column: t, unit: s}
    columns:
      - {column: p, id: P, name: Static pressure, unit: hPa}
      - {column: v, id: V, name: Airspeed, unit: m/s}
derived:
  - {id: TWICE, name: Twice the airspeed, unit: m/s, driven by: V, formula: "2 * V"}
limits:
  - id: slow
    parameter: TWICE
    below: {warning: 20}
    persistence: 2 s
    first action: "Airspeed low: nose down"
    watcher: flight control
    source: test
`;
/** 100 samples, ten a second; slow (8 m/s) from the 40th to the 80th; line 12 cannot be read. */
const log = (): string => {
  const rows = Array.from({ length: 100 }, (_, i) => {
    const speed = i >= 40 && i < 80 ? 8 : 15;
    return `${1_795_600_000 + i / 10},${i === 10 ? 'oops' : 1000 - i},${speed}`;
  });
  return `t,p,v\n${rows.join('\n')}\n`;
};

describe('groundchase import and info', () => {
  let folder: string;
  let file: string;
  beforeAll(async () => {
    folder = temporaryFolder();
    writeFileSync(join(folder, 'climb.yaml'), mapping);
    writeFileSync(join(folder, 'log.csv'), log());
    const { code, stdout, stderr } = await groundchase('import', join(folder, 'climb.yaml'), '--recordings', folder);
    file = stdout.trim();
    expect([code, stderr]).toEqual([
      1,
      expect.stringContaining('log.csv:12: import-line: found "oops", expected a number in p'),
    ]);
    expect(stderr).toContain('99 lines imported, 1 refused');
  });

  it('names the recording after the day and the mapping', () => {
    expect(file).toBe(join(folder, '2026-11-25-climb-1.flight'));
  });

  it('has an alarm list: raised when twice the airspeed was low for two seconds, cleared when it came back', async () => {
    const { code, stdout } = await groundchase('info', file, '--alarms', '--verify', '--json');
    expect(code).toBe(0);
    const told = JSON.parse(stdout);
    expect(
      told.alarms.map((line: Record<string, unknown>) => [line.event, line.level, line.value, line.aircraft]),
    ).toEqual([
      ['raised', 'warning', 16, 1_795_600_006_000_000],
      ['cleared', 'warning', 30, 1_795_600_008_000_000],
    ]);
    expect(told.verification).toMatchObject({ intact: true, closed: true, changes: [] });
    expect(told).toMatchObject({ state: 'closed', origin: 'import', mission: 'Climb', 'lost entries': 0 });
  });

  it('replays to the same list', async () => {
    const { code, stdout } = await groundchase('replay', file, '--alarms');
    expect([code, stdout]).toEqual([0, expect.stringContaining('no difference')]);
  });

  it('finds a changed byte, and exits 1', async () => {
    const bytes = readFileSync(file);
    const at = bytes.indexOf('name: Climb');
    bytes[at] = 'N'.charCodeAt(0);
    const changed = join(folder, 'changed.flight');
    writeFileSync(changed, bytes);
    const { code, stdout } = await groundchase('info', changed, '--verify');
    expect(code).toBe(1);
    expect(stdout).toMatch(/^changed: baseline 2: changed$/m);
  });

  it('tells all that is wrong with a mapping, and writes nothing', async () => {
    const bad = join(folder, 'bad.yaml');
    writeFileSync(bad, mapping.replace('"2 * V"', '"V + P"'));
    const before = readdirSync(folder);
    const { code, stdout, stderr } = await groundchase('import', bad, '--recordings', folder);
    expect([code, stdout]).toEqual([1, '']);
    expect(stderr).toMatch(/bad\.yaml:10:\d+: unit-clash/);
    expect(stderr).toContain('nothing was imported');
    expect(readdirSync(folder)).toEqual(before);
  });

  it('imports an IGC file, with a mapping that adds to it', async () => {
    const igc = join(folder, 'flight.igc');
    const fixes = Array.from({ length: 20 }, (_, i) => `B1011${20 + i}5130000N00112345WA01${100 + i}01050`);
    writeFileSync(igc, ['AXXX', 'HFDTE251126', ...fixes, ''].join('\r\n'));
    const adds = join(folder, 'adds.yaml');
    const derived = '{id: ALT_FT, name: Altitude, unit: ft, driven by: PRESSURE_ALT, formula: PRESSURE_ALT}';
    writeFileSync(adds, `name: With feet\nderived: [${derived}]\n`);
    const { code, stdout, stderr } = await groundchase(
      'import',
      igc,
      '--mapping',
      adds,
      '--recordings',
      folder,
      '--json',
    );
    expect([code, stderr]).toEqual([0, '']);
    expect(JSON.parse(stdout)).toMatchObject({ kept: 20, refused: 0, alarms: 0, from: '2026-11-25T10:11:20.000000Z' });
  });

  it('says what it cannot take', async () => {
    expect(await groundchase('import', join(folder, 'log.csv'))).toMatchObject({
      code: 2,
      stderr: expect.stringContaining('imported by the mapping that names them'),
    });
    expect(await groundchase('import', join(folder, 'none.igc'))).toMatchObject({ code: 1, stdout: '' });
    writeFileSync(join(folder, 'empty.igc'), 'AXXX\n');
    const { code, stderr } = await groundchase('import', join(folder, 'empty.igc'), '--recordings', folder);
    expect([code, stderr]).toEqual([1, expect.stringContaining('found no B record, expected at least one fix')]);
    expect(await groundchase('info', join(folder, 'log.csv'))).toMatchObject({
      code: 1,
      stderr: expect.stringContaining('not a recording (not an SQLite file)'),
    });
  });
});
