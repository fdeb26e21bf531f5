/** `groundchase listen`: what arrives, before any mission exists, or as a mission reads it. */
import { clockText, groundTime } from '../../protocol/time.ts';
import { Arrivals, type ArrivalsReport } from '../receive/arrivals.ts';
import { openInput } from '../receive/receive.ts';
import { ArrivedValues, type ValuesReport, valuesText } from './arrived-values.ts';
import { type Command, exitCode, jsonOption, print, printJson, say } from './command.ts';
import { started, untilStopped, usableMission } from './running.ts';

/** Milliseconds between reports for a person. */
const REPORT = 2000;

export const command: Command = {
  name: 'listen',
  summary: 'describe what arrives at an address; needs no mission',
  usage: 'ADDRESS',
  details: `Says who sends how much, whether it reads as our envelope and frame, and which streams, receivers, rate groups and
counter gaps are in it; with --mission also the latest value of every parameter, of a stream of your own .proto too. Runs until Ctrl-C, --seconds or --messages; with --json one report at the end.

Example: groundchase listen udp://0.0.0.0:47010 --seconds 10`,
  options: [
    { name: 'seconds', kind: 'number', value: 'S', min: 0.1, max: 86_400, unit: 's', summary: 'listen for this long' },
    { name: 'messages', kind: 'number', value: 'N', min: 1, whole: true, summary: 'listen until this many have come' },
    { name: 'mission', kind: 'text', value: 'DIR', summary: 'mission folder to read the messages by' },
    jsonOption,
  ],
  async run(args) {
    const json = args.flag('json');
    const loaded = args.given('mission') ? usableMission(args.text('mission')) : undefined;
    if (args.given('mission') && loaded === undefined) return exitCode.finding;
    const values = loaded && new ArrivedValues(loaded.mission);
    const stopped = untilStopped();
    const arrivals = new Arrivals();
    const most = args.optionalNumber('messages') ?? Number.POSITIVE_INFINITY;
    let enough = (): void => undefined;
    const complete = new Promise<void>((resolve) => {
      enough = resolve;
    });
    let taken = 0;
    const take = (bytes: Uint8Array, from: string) => {
      if (taken >= most) return;
      arrivals.take(bytes, from);
      values?.take(bytes, groundTime(Date.now() * 1000));
      if (++taken >= most) enough();
    };
    const input = await started(openInput(args.operand, take));
    say(`listening on ${input.address}`);
    for (const notice of input.notices) say(notice);
    const began = performance.now();
    const report = () => ({
      address: input.address,
      ...arrivals.report((performance.now() - began) / 1000),
      ...(values && { mission: values.report() }),
      refused: Object.fromEntries(input.counts.refused),
    });
    const timer = json ? undefined : setInterval(() => print(reportText(report())), REPORT);
    const seconds = args.optionalNumber('seconds');
    const end = seconds === undefined ? undefined : setTimeout(() => enough(), seconds * 1000);
    await Promise.race([stopped, complete]);
    clearTimeout(end);
    clearInterval(timer);
    await input.close();
    if (json) printJson(report());
    else print(reportText(report()));
    return exitCode.success;
  },
};

const rate = (value: number): string => (value >= 100 ? value.toFixed(0) : value.toFixed(1));

export function reportText(
  report: ArrivalsReport & { refused: Record<string, number>; mission?: ValuesReport },
): string {
  const { seconds, messages, messagesPerSecond, bytesPerSecond, sources, streams, foreign } = report;
  const lines = [
    `${seconds.toFixed(1)} s: ${messages} messages, ${rate(messagesPerSecond)} a second, ${rate(bytesPerSecond)} bytes a second`,
    ...sources.map(
      (source) => `  from ${source.from || 'unknown'}: ${source.messages} messages, ${source.bytes} bytes`,
    ),
  ];
  for (const stream of streams) {
    const readable = stream.readable ? '' : ' (this build does not read it)';
    lines.push(
      `  stream ${stream.stream || '(no id)'}, schema version ${stream.schemaVersion}${readable}: ${rate(stream.framesPerSecond)} frames a second, aircraft time ${clockText(stream.aircraftUs)}, software ${stream.softwareId || '(none)'}, configuration ${stream.configurationId || '(none)'}`,
    );
    for (const receiver of stream.receivers) {
      lines.push(
        `    receiver ${receiver.name || '(none named)'}: ${receiver.frames} frames, ${receiver.missed} missed in ${receiver.gaps} gaps, ${receiver.repeated} repeated, ${receiver.damaged} damaged, quality ${receiver.quality}`,
      );
    }
    for (const group of stream.groups) {
      const own = group.ownTimes ? ', each with its own time' : '';
      lines.push(
        `    group ${group.group}: ${rate(group.samplesPerSecond)} samples a second of ${rate(group.bytesPerSample)} bytes, ${rate(group.bytesPerSecond)} bytes a second${own}`,
      );
    }
  }
  if (report.damaged > 0) lines.push(`  ${report.damaged} frames with a wrong checksum`);
  if (report.withoutEnvelope > 0) lines.push(`  ${report.withoutEnvelope} frames without a receiver envelope`);
  for (const kind of foreign) {
    const size = kind.shortest === kind.longest ? `${kind.shortest}` : `${kind.shortest} to ${kind.longest}`;
    lines.push(`  not ours: ${kind.messages} messages of ${size} bytes that begin ${kind.begins} (${kind.why})`);
  }
  if (report.unlisted > 0) lines.push(`  ${report.unlisted} more of kinds not listed`);
  for (const [reason, count] of Object.entries(report.refused)) lines.push(`  refused: ${reason}: ${count}`);
  if (report.mission) lines.push(...valuesText(report.mission));
  if (messages === 0) lines.push('  nothing has arrived');
  return lines.join('\n');
}
