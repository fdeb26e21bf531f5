/** `groundchase report` as it is called: what it prints, writes, and says of files that are not as they should be. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, it } from 'vitest';
import type { Entry } from '../../protocol/entry.ts';
import type { FlightReport } from '../../protocol/report.ts';
import { groundTime } from '../../protocol/time.ts';
import { recorded } from '../../test/support/flown.ts';
import { groundchase } from '../../test/support/groundchase.ts';
import { temporaryFolder } from '../../test/support/temporary-folder.ts';
import { frameBytes, frameEntry, group, levelLimit, mission, parameter } from '../../test/support/tiny-mission.ts';

const START = 1_795_600_000_000_000;
const tiny = mission({
  groups: [group('main', 100)],
  parameters: [parameter('A', 'main', { unit: 'bar' })],
  limits: [levelLimit('high', 'A', { above: { warning: 50 }, text: 'Pressure high' })],
});

/** A second of samples, 10 bar but for one of 70. */
function* entries(): Generator<Entry> {
  yield { kind: 'configuration', ground: groundTime(START), mission: tiny, files: [] };
  for (let n = 0; n < 50; n++) {
    const rows = [{ A: 10 }, { A: n === 20 ? 70 : 10 }];
    const time = START + n * 20_000;
    yield frameEntry(time + 30_000, frameBytes(tiny, n, time, [{ group: 'main', rows }]));
  }
}

it('prints a short table, and says how long it took', async () => {
  const { code, stdout: out, stderr: err } = await groundchase('report', recorded(entries()));
  expect(code).toBe(0);
  expect(out).toContain('exceedances: 1');
  expect(out).toMatch(/high {2}warning {2}peak 70 bar {2}for 0\.01 s/);
  expect(out).toMatch(/140 % {2}high {2}above warning 50 bar {2}70 at/);
  expect(out).toContain('maintenance candidates: none');
  expect(err).toMatch(/1 s of flight reported in \d/);
});

it('gives every number as JSON, and writes page, paper and data into a folder that it makes', async () => {
  const folder = join(temporaryFolder(), 'new', 'reports');
  const { code, stdout: out } = await groundchase('report', recorded(entries()), '--out', folder, '--json');
  expect(code).toBe(0);
  const report = JSON.parse(out) as FlightReport;
  expect(report.exceedances).toMatchObject([{ limit: 'high', peak: 70, alarm: 'warning', peakAt: START + 410_000 }]);
  expect(JSON.parse(readFileSync(join(folder, 'report.json'), 'utf8'))).toEqual(report);
  expect(readFileSync(join(folder, 'report.html'), 'utf8')).toContain('Pressure high');
  expect(readFileSync(join(folder, 'report.pdf')).subarray(0, 5).toString()).toBe('%PDF-');
});

it('reports a flight that was never closed as far as it was kept, and says so', async () => {
  const {
    code,
    stdout: out,
    stderr: err,
  } = await groundchase('report', recorded(entries(), { close: false }), '--json');
  expect(code).toBe(0);
  expect(JSON.parse(out)).toMatchObject({ chain: { closed: false, whole: true }, exceedances: [{ peak: 70 }] });
  expect(err).toContain('was not closed');
});

it('says of a recording that something was changed, and exits with 1', async () => {
  const file = recorded(entries());
  const db = new Database(file);
  db.prepare("UPDATE about SET value = 'somebody else' WHERE key = 'station'").run();
  db.close();
  const { code, stdout: out, stderr: err } = await groundchase('report', file, '--json');
  expect(code).toBe(1);
  expect(JSON.parse(out)).toMatchObject({ chain: { whole: false } });
  expect(err).toContain('something of the recording was changed');
});

it('writes nothing of a recording that cannot be read to its end', async () => {
  const file = recorded(entries());
  const db = new Database(file);
  db.prepare("UPDATE block SET bytes = x'00' WHERE number = 1").run();
  db.close();
  const folder = join(temporaryFolder(), 'reports');
  const { code, stdout: out, stderr: err } = await groundchase('report', file, '--out', folder);
  expect({ code, out }).toEqual({ code: 1, out: '' });
  expect(err).toContain('damaged: block 1');
  expect(existsSync(folder)).toBe(false);
});

it('tells a file that is no recording, that is not there, and a recording without a mission', async () => {
  const text = join(temporaryFolder(), 'notes.flight');
  writeFileSync(text, 'only words');
  const empty = recorded([{ kind: 'clock', ground: groundTime(START), difference: 0 } as Entry]);
  for (const [file, words] of [
    [text, 'not a recording'],
    [join(temporaryFolder(), 'gone.flight'), 'gone.flight'],
    [empty, 'holds no mission'],
  ] as const) {
    const { code, stdout: out, stderr: err } = await groundchase('report', file);
    expect({ code, out }, file).toEqual({ code: 1, out: '' });
    expect(err).toContain(words);
  }
});

it('tells a folder that cannot be written to', async () => {
  const blocked = join(temporaryFolder(), 'a-file');
  writeFileSync(blocked, '');
  const { code, stderr: err } = await groundchase('report', recorded(entries()), '--out', blocked);
  expect(code).toBe(1);
  expect(err).toContain(`nothing can be written to ${blocked}`);
});

it('asks for a file', async () => {
  const { code } = await groundchase('report');
  expect(code).toBe(2);
});

it('lets no name of a mission steer the terminal, and tells which limits saw nothing', async () => {
  const dark = mission({
    ...tiny,
    aircraft: { ...tiny.aircraft, name: '\u001b[2J\u202eafe' },
    parameters: [parameter('A', 'main', { unit: 'bar', physicalRange: [0, 5] })],
  });
  const all = [...entries()].slice(1);
  const file = recorded([{ kind: 'configuration', ground: groundTime(START), mission: dark, files: [] }, ...all]);
  const { code, stdout: out } = await groundchase('report', file);
  expect(code).toBe(0);
  expect(out.startsWith('\ufffd[2J[U+202E]afe, flight')).toBe(true);
  expect(out).toMatch(/limits that saw nothing: 1\n {2}high {2}cannot tell for 1\.0 s/);
});
