import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import type { FlightReport } from '../../protocol/report.ts';
import { emptyReport } from '../../test/support/empty-report.ts';
import { fullReport } from '../../test/support/flight-report.ts';
import { reportHtml, reportPage } from './html.ts';

/** The same report with every leaf of one type changed. */
function mapped<T>(value: T, change: (leaf: unknown, key: string) => unknown, key = ''): T {
  if (Array.isArray(value)) return value.map((one) => mapped(one as unknown, change, key)) as T;
  if (value !== null && typeof value === 'object') {
    return Object.fromEntries(
      Object.entries(value).map(([name, one]) => [name, mapped(one as unknown, change, name)]),
    ) as T;
  }
  return change(value, key) as T;
}

const hostile = `</style><script>alert(1)</script><img src=x onerror='alert(2)'>"&\`\u0000`;
/** Words that decide what is printed, and are the program's own. */
const ownWords = new Set([
  'level',
  'state',
  'side',
  'gate',
  'advice',
  'decision',
  'judgement',
  'kind',
  'step',
  'alarm',
]);

/** Without printing all of the page when it fails. */
const expectIn = (html: string, part: string): void => expect(html.includes(part), part).toBe(true);

describe('the page of the report', () => {
  it('is the same, byte for byte, for the same flight', () => {
    expect(reportHtml(fullReport()) === reportHtml(structuredClone(fullReport()))).toBe(true);
  });

  it('lets nothing run and loads nothing, whatever names and notes say', () => {
    const report = mapped(fullReport(), (leaf, key) =>
      typeof leaf === 'string' && leaf !== '' && !ownWords.has(key) ? hostile : leaf,
    );
    const html = reportHtml(report);
    const tags = new Set([...html.matchAll(/<\/?([a-z][a-z0-9]*)/gi)].map(([, name]) => name));
    const known =
      'a b body br col colgroup dd div dl dt figcaption figure footer h1 h2 h3 head header html li main meta nav p path section style svg table tbody td text th thead title tr ul';
    expect([...tags].filter((name) => !known.split(' ').includes(name as string))).toEqual([]);
    expect(html.replace(/"[^"]*"/g, '""').match(/<[^>]*\s(on\w+|style|src)\s*=/i)).toBeNull();
    expect(html.match(/<\/style>/g)).toHaveLength(1);
    expect(html.includes('\u0000')).toBe(false);
    expectIn(html, '&#60;script&#62;alert(1)');
    expect(html.match(/(src|href|url)\s*[=(]\s*["']?(https?:|\/\/)/i)).toBeNull();
  });

  it('writes out what turns words round, so that nobody reads another word than was recorded', () => {
    const html = reportHtml(
      fullReport({ flight: { number: '7', crew: 'x', note: '\u202etaeper\u202c', closed: true } }),
    );
    expectIn(html, '7: [U+202E]taeper[U+202C]');
    expect(/[\u202a-\u202e\u2066-\u2069]/.test(html)).toBe(false);
    const { mission } = fullReport();
    const named = reportHtml(fullReport({ mission: { ...mission, aircraft: '\u202eenod' } }));
    // nor at the foot of a printed page, which is text of the style
    expect(/202e/i.test(named.replaceAll('U+202E', '').replaceAll('U\\2b 202E', ''))).toBe(false);
  });

  it('says at a glance how far it goes and what it has not seen, before any count', () => {
    const { chain, sight } = fullReport();
    const html = reportHtml(
      fullReport({
        chain: { ...chain, closed: false, whole: null },
        lostEntries: 3,
        ids: { match: false, softwareId: '', configurationId: '' },
        sight: sight.map((one, i) => (i === 0 ? { ...one, seen: 0, unseen: one.seen } : one)),
      }),
    );
    const glance = html.slice(html.indexOf('<section id="glance">'), html.indexOf('<section id="exceedances">'));
    const notes = glance.slice(0, glance.indexOf('<table'));
    expectIn(notes, 'covers the flight to 10:15:00.000 aircraft time, 2026-11-25 10:15:05 UTC ground time');
    expectIn(notes, 'the recording is still being written');
    const cut = fullReport({ chain: { ...chain, closed: false, whole: true } });
    expectIn(reportHtml(cut), 'ground time: the recording was not closed');
    expectIn(notes, 'could not keep 3 entries');
    expectIn(notes, 'not known to be those of the baseline');
    expectIn(glance, '<td>limits that saw nothing</td><td><b>1</b></td><td>Torque</td>');
    expect(reportHtml(fullReport()).includes('covers the flight to')).toBe(false);
  });

  it('tells a limit that was not in force from one that was blind, and what speaks of the data from what speaks of the aircraft', () => {
    const { sight, names, exceedances } = fullReport();
    const limits = names.limits.map((one, i) => (i === 0 ? { ...one, family: 'data' as const } : one));
    const data = exceedances.filter(({ limit }) => limit === limits[0]?.id).length;
    expect(data).toBeGreaterThan(0);
    const html = reportHtml(
      fullReport({
        names: { ...names, limits },
        sight: sight.map((one, i) => (i === 1 ? { ...one, seen: 0, unseen: 60_000, off: 280_000_000 } : one)),
      }),
    );
    const glance = html.slice(html.indexOf('<section id="glance">'), html.indexOf('<section id="exceedances">'));
    expectIn(glance, `<td>alarms of the data</td><td><b>${data}</b></td><td>Torque</td>`);
    expectIn(glance, '<td>limits that saw nothing</td><td>none</td>');
    expectIn(html, 'at most it could not be told whether), and so compared with nothing: Rotor');
  });

  it('does not call a recording closed because the flight was', () => {
    const { chain, flight } = fullReport();
    const html = reportHtml(fullReport({ chain: { ...chain, closed: false }, flight: { ...flight, closed: true } }));
    expectIn(html, 'NOT CLOSED: the flight so far; the flight was closed in the room');
  });

  it('prints so many rows of what may come by thousands, and says how many it leaves out', () => {
    const report = fullReport();
    const [one] = report.exceedances as [FlightReport['exceedances'][number]];
    const [phase] = report.phases as [FlightReport['phases'][number]];
    const html = reportHtml({
      ...report,
      exceedances: Array.from({ length: 5000 }, () => one),
      unannounced: [],
      announcedMore: [{ limit: one.limit, crossings: 9000, listed: 5000 }],
      phases: Array.from({ length: 5000 }, () => phase),
    });
    expectIn(html, '4700 exceedances of no higher level');
    expectIn(html, 'Torque (tq-high): 9000, 5000 kept');
    expectIn(html, '4800 phases more, not printed');
    expectIn(html, '4000 not listed');
    expect(html.split('<tr>').length).toBeLessThan(1500);
  });

  it('calls points, families, measures and parameters by their names, with units', () => {
    const html = reportHtml(fullReport());
    expectIn(html, 'Family: Level flight, vibration (speed-build-up)');
    expectIn(html, '>airspeed, kt</text>');
    expectIn(html, 'Vibration at the seat (seat-two-per-rev), g: ');
    expectIn(html, 'Level at 90 kt (S2-090)');
    expectIn(html, '<td>Torque (TQ), %</td>');
    expectIn(html, 'On Card 2: level flight.');
  });

  it('does not say of a check that was not made that it found no fault', () => {
    const report = fullReport();
    const { readiness } = report.conduct;
    if (!readiness?.morning) throw new Error('no morning check');
    readiness.morning = { ...readiness.morning, complete: false, channels: [], timeFaults: [] };
    const html = reportHtml(report);
    expectIn(html, 'NOT COMPLETE; no fault in what was looked at');
    expect(html.includes('no fault found on')).toBe(false);
  });

  it('cannot tell of what nothing was compared with, or looked for', () => {
    const { names } = fullReport();
    const html = reportHtml({ ...emptyReport(), sight: [], names: { ...names, limits: [], maintenance: [] } });
    expectIn(html, '<td>exceedances</td><td><b>cannot tell</b></td>');
    expectIn(
      html,
      '<td>maintenance candidates</td><td><b>cannot tell</b></td><td>The mission has no maintenance table',
    );
    expectIn(html, 'The mission declares no limits: that nothing was exceeded cannot be told');
    expectIn(reportHtml(emptyReport()), '<td>exceedances</td><td><b>cannot tell</b></td>');
    const quiet = reportHtml(fullReport({ exceedances: [], unannounced: [], announcedMore: [], maintenance: [] }));
    expectIn(quiet, '<td>exceedances</td><td>none recorded</td>');
    expectIn(quiet, '<td>maintenance candidates</td><td>none recorded</td>');
  });

  it('lists each limit that was blind once: in a row where it matters, else in the count', () => {
    const { sight } = fullReport();
    const blind = [0.5, 0.002, 0.0005, 0.0002];
    const html = reportHtml(
      fullReport({
        sight: sight.map((one, i) => {
          const unseen = Math.round(one.seen * (blind[i] as number));
          return { ...one, seen: one.seen - unseen, unseen };
        }),
      }),
    );
    const part = html.slice(html.indexOf('What the limits could not see'), html.indexOf('<section id="maintenance">'));
    expect(part.match(/<tr>/g)).toHaveLength(3);
    expectIn(part, '2 other limits could not tell for 450\u00a0ms at most, 0.05\u00a0% of the time in force or less.');
  });

  it('has a policy that allows its own style alone', () => {
    const { html, policy } = reportPage(fullReport());
    const style = /<style>([^]*)<\/style>/.exec(html)?.[1] as string;
    const hash = createHash('sha256').update(style).digest('base64');
    expect(policy).toContain(`style-src 'sha256-${hash}'`);
    expect(policy).toContain("default-src 'none'");
    expect(policy.match(/script-src|unsafe/)).toBeNull();
    expectIn(html, `content="default-src 'none'; style-src 'sha256-${hash}'`);
  });

  it('says "cannot tell" for numbers that are missing, and never shows a number that is none', () => {
    // numbers that name a thing are no quantities
    const names = ['number', 'run'];
    const all = (instead: number | null): string =>
      reportHtml(
        mapped(fullReport(), (leaf, key) => (typeof leaf === 'number' && !names.includes(key) ? instead : leaf)),
      );
    for (const html of [all(null), all(Number.NaN)]) {
      const shown = html.replace(/<style>[^]*<\/style>/, '');
      expect(shown.includes('cannot tell')).toBe(true);
      expect(shown.match(/NaN|\bnull\b|undefined|Infinity|Invalid|\[object/)).toBeNull();
    }
  });

  it('tells absence as "none recorded", with what could be seen, and calls nothing safe or OK', () => {
    for (const report of [emptyReport(), fullReport()]) {
      const shown = reportHtml(report).replace(/<style>[^]*<\/style>/, '');
      expect(shown.match(/\bsafe\b(?!<)|\bOK\b|\bgo\b|all clear/i)).toBeNull();
    }
    const html = reportHtml(emptyReport());
    for (const id of ['exceedances', 'maintenance']) {
      const section = new RegExp(`<section id="${id}">([^]*?)</section>`).exec(html)?.[1];
      expect(section).toContain('None recorded. What could be seen: no frame was received');
    }
  });

  it('says loudly that the recording is not intact, and quietly that this was not looked at', () => {
    const of = (whole: boolean | null): string =>
      reportHtml(fullReport({ chain: { value: 'ab', blocks: 3, whole, closed: true } }));
    expectIn(of(false), 'class="strong">The recording is not intact');
    expectIn(of(null), '3 blocks: not looked at');
    expect(of(null).includes('NOT INTACT')).toBe(false);
    expectIn(of(true), '3 blocks: every block is as it was written');
  });

  it('puts first what stands against flying again: sections in the order of a reader in a hurry', () => {
    const ids = [...reportHtml(fullReport()).matchAll(/<section id="([a-z]+)"/g)].map(([, id]) => id);
    expect(ids).toEqual([
      ...['flight', 'glance', 'exceedances', 'maintenance', 'open', 'points', 'steps', 'margins', 'alarms', 'changes'],
      ...['phases', 'plots', 'sequences', 'readiness', 'link', 'marks', 'states', 'list', 'cautions'],
    ]);
  });

  it('has every run of a sequence, each with its own measures', () => {
    const html = reportHtml(fullReport());
    expectIn(html, 'start, run 1 of 2, broken off');
    expectIn(html, 'start, run 2 of 2, done');
    expectIn(html, 'start, run 1 of 2, from 10:00:20.000 to 10:00:29.000: peak TOT 871.3\u00a0degC');
    expectIn(html, 'start, run 2 of 2, from 10:01:00.000 to 10:02:04.000: peak TOT 812.4\u00a0degC');
    const report = fullReport();
    const [sequence] = report.conduct.sequences as [FlightReport['conduct']['sequences'][number]];
    report.conduct.sequences = [{ ...sequence, times: 5, dropped: 3 }];
    expectIn(reportHtml(report), 'start: the first 3 runs of the flight, not kept any more');
    expectIn(reportHtml(report), 'start, run 4 of 5, broken off');
  });

  it('says of a stop call on which point and at which gate it was made', () => {
    const report = fullReport();
    const [call] = report.calls as [FlightReport['calls'][number]];
    const of = (point: string, gate: '' | 'manoeuvre') =>
      reportHtml({ ...report, calls: [{ ...call, facts: { ...call.facts, point, gate } }] });
    expectIn(of('S2-080', 'manoeuvre'), '; point S2-080, at manoeuvre');
    expect(of('', '').includes('at manoeuvre')).toBe(false);
  });

  it('prints numbers of the report as they are', () => {
    const report: FlightReport = fullReport();
    const html = reportHtml(report);
    const [first] = report.exceedances;
    expectIn(html, `<b>${first?.peak}\u00a0% at 10:05:02.020</b>`);
    expectIn(html, '102.5\u00a0%');
    for (const caution of report.cautions) expectIn(html, caution);
    expectIn(html, report.chain.value);
    expectIn(html, report.mission.baselineId);
  });
});
