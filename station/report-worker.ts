/** Folds a recording and lays out its report, in a thread of its own. */
import { parentPort, workerData } from 'node:worker_threads';
import { RecordingError } from '../replay/recording/open.ts';
import { Recording } from '../replay/recording/recording.ts';
import { reportPage } from '../replay/report/html.ts';
import { reportPdf } from '../replay/report/pdf.ts';
import { reportOf } from './report.ts';
import { type ReportWork, reportName } from './report-thread.ts';
import type { ReportAnswer } from './serve/front.ts';

async function answer({ file, form, growing }: ReportWork): Promise<ReportAnswer> {
  const recording = Recording.open(file);
  try {
    const report = reportOf(recording, { growing });
    const name = reportName(file);
    if (form === 'pdf') return { body: await reportPdf(report), name, policy: '' };
    if (form === 'json') return { body: Buffer.from(JSON.stringify(report)), name, policy: '' };
    const { html, policy } = reportPage(report);
    return { body: Buffer.from(html), name, policy };
  } finally {
    recording.close();
  }
}

try {
  parentPort?.postMessage(await answer(workerData as ReportWork));
} catch (error) {
  if (!(error instanceof RecordingError)) throw error;
  parentPort?.postMessage({ status: 500, error: 'the recording cannot be read to its end' } satisfies ReportAnswer);
}
