// A station's recorder with a made-up stream, to be killed. Goes on with an unclosed recording of the folder.
// Prints `committed N` whenever more entries are safe; entry i is `crashEntry(i)` but for its ground time.
import { groundTime } from '../../protocol/time.ts';
import { Recording } from '../../replay/recording/recording.ts';
import { openRecorder } from '../../station/record/record.ts';
import { crashEntry } from './crash-entry.ts';

const dir = process.argv[2] as string;
const now = (): number => Math.floor(Date.now() * 1000);
const [unfinished] = Recording.unfinished(dir);
let next = 0;
let resume: { file: string; entries: number; ground: ReturnType<typeof groundTime>; rows: [] } | undefined;
if (unfinished) {
  const recording = Recording.open(unfinished);
  next = recording.length;
  resume = { file: unfinished, entries: next, ground: recording.span.to, rows: [] };
  recording.close();
}
let told = -1;
const recorder = openRecorder({
  dir,
  name: 'crash',
  station: 'A',
  origin: 'live',
  started: groundTime(now()),
  ...(resume ? { resume } : {}),
  changed: () => {
    const { committed } = recorder.state();
    if (committed !== told) process.stdout.write(`committed ${committed}\n`);
    told = committed;
  },
});
await recorder.ready;
setInterval(() => {
  for (let k = 0; k < 20; k++) {
    recorder.append(crashEntry(next, now()));
    if (next % 50 === 0) recorder.snapshot({ next, column: new Float64Array(500).fill(next) });
    next++;
  }
}, 10);
