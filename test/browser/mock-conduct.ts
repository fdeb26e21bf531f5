/** What the stand-in station does on an act of test conduct: enough of the real one for a display to be tried on it. */
import {
  type ConductAction,
  type ConductView,
  conductActs,
  type Done,
  type PointGate,
  type PointRun,
  type ReadinessView,
} from '../../protocol/conduct.ts';
import type { Action } from '../../protocol/entry.ts';
import type { ActedBy } from './mock-acts.ts';

export const emptyConduct = (): ConductView => ({
  points: [],
  steps: [],
  anomalies: [],
  readiness: null,
  sequences: [],
  checklists: [],
  stopwatches: [],
  voiceLost: null,
  evidence: null,
  faults: [],
});

/** A run as the station would tell it, from what matters to a test. */
export const runOf = (more: Partial<PointRun> & { point: string }): PointRun => ({
  number: 1,
  attempt: 1,
  gate: 'setup',
  gates: [],
  offer: '',
  offered: 0,
  bands: [],
  configuration: [],
  recordFrom: 0,
  recordTo: 0,
  recorded: 0,
  statistics: [],
  ...more,
});

const isConduct = (action: Action): action is ConductAction => Object.hasOwn(conductActs, action.act);

export function doConduct(view: ConductView, acted: Action, by: ActedBy): void {
  if (!isConduct(acted)) return;
  // of a display that knew no aircraft time, the newest there is
  const action = { ...acted, aircraft: acted.aircraft || by.aircraftUs };
  const done = { person: by.person, position: by.position, aircraft: by.aircraftUs, ground: by.groundUs };
  switch (action.act) {
    case 'begin point':
      begin(view, action.subject, done);
      return;
    case 'enter gate':
      enter(view, action, done);
      return;
    case 'judge point': {
      const run = view.points.find(({ number }) => number === action.number);
      if (!run) return;
      run.judged = { judgement: action.choice as 'good' | 'repeat' | 'skip', note: action.text, ...done };
      return;
    }
    case 'decide step': {
      const gate = view.steps.find(({ family }) => family === action.subject);
      const decision = action.choice as 'clear' | 'reduce' | 'hold';
      gate?.decisions.push({ step: action.value, decision, advice: gate.advice, note: action.text, ...done });
      if (gate) gate.cleared = decision === 'hold' ? null : action.value;
      return;
    }
    case 'open anomaly':
      view.anomalies.push({
        number: view.anomalies.length + 1,
        text: action.text,
        point: action.subject,
        opened: done,
      });
      return;
    case 'close anomaly': {
      const anomaly = view.anomalies.find(({ number }) => number === action.number);
      if (anomaly) anomaly.closed = { text: action.text, ...done };
      return;
    }
    case 'press stopwatch':
      press(view, action);
      return;
    default:
      before(view, action, done);
  }
}

/** Acts before a flight, of voice, checklists and evidence. */
function before(view: ConductView, { act, choice, number, subject, text, value }: ConductAction, done: Done): void {
  const { readiness } = view;
  const { ground, person, position } = done;
  if (act === 'report voice') report(view, choice, text, done);
  if (act === 'hold evidence') view.evidence = { reason: text, ...done };
  const list = view.checklists.find(({ id }) => id === subject);
  if (act === 'tick checklist' && list)
    list.ticks =
      choice === 'done'
        ? [...list.ticks, { step: number, person, ground }]
        : list.ticks.filter(({ step }) => step !== number);
  if (!readiness) return;
  const mine = readiness.poll.answers.find((one) => one.position === position);
  if (act === 'answer poll' && mine)
    Object.assign(mine, { answer: choice === 'ready' ? 'ready' : 'not ready', text, person, ground });
  if (act === 'open poll') readiness.poll.opened = done;
  if (act === 'acknowledge notice')
    readiness.notices.find(({ id }) => id === subject)?.acknowledged.push({ person, position, ground });
  if (act === 'begin check' && readiness.morning)
    readiness.morning.gathering = choice === 'zero' ? 'zero' : `shunt of ${subject}`;
  if (act === 'end check' && readiness.morning) Object.assign(readiness.morning, { gathering: '', ended: done });
  if (readiness.sweep && (act === 'begin sweep' || act === 'end sweep'))
    Object.assign(readiness.sweep, { running: act === 'begin sweep', done: act === 'end sweep' });
  const load = readiness.weight?.loads.find(({ id }) => id === subject);
  if (act === 'set load' && load) Object.assign(load, { massKg: value, changedBy: person });
  if (act === 'assign watch') assign(readiness, subject, choice);
}

function assign(readiness: ReadinessView, limit: string, to: string): void {
  for (const one of readiness.watch) one.limits = one.limits.filter((id) => id !== limit);
  readiness.unwatched = readiness.unwatched.filter((id) => id !== limit);
  readiness.watch.find(({ position }) => position === to)?.limits.push(limit);
}

function report(view: ConductView, choice: string, loop: string, { ground, person }: Done): void {
  view.voiceLost = choice === 'lost' ? { since: ground, person, loop } : null;
  const list = view.checklists.find(({ id }) => id === 'lost-voice');
  if (list) Object.assign(list, { shownSince: choice === 'lost' ? ground : 0, ticks: [] });
}

function begin(view: ConductView, point: string, done: Done): void {
  const attempt = view.points.filter((run) => run.point === point).length + 1;
  const gates = [{ gate: 'setup' as const, ...done }];
  view.points.push(runOf({ number: view.points.length + 1, point, attempt, gates }));
}

function enter(view: ConductView, { number, choice, aircraft }: ConductAction, done: Done): void {
  const run = view.points.find((one) => one.number === number);
  if (!run) return;
  run.gate = choice as PointGate;
  run.gates.push({ gate: run.gate, ...done, aircraft });
  run.offer = '';
  run.offered = 0;
  if (run.gate === 'on condition') run.recordFrom = aircraft;
  if (run.gate === 'recover') run.recordTo = aircraft;
}

function press(view: ConductView, { subject, choice, aircraft }: ConductAction): void {
  const watch = view.stopwatches.find(({ name }) => name === subject);
  if (!watch) {
    view.stopwatches.push({ name: subject, running: choice === 'start', from: aircraft, counted: 0 });
    return;
  }
  if (choice === 'stop') watch.counted += Math.max(0, aircraft - watch.from);
  if (choice === 'reset') watch.counted = 0;
  else watch.running = choice === 'start';
  watch.from = aircraft;
}
