/** The functions that remember, from scratch: each answer from all samples so far, gone through from the first one. */
import { alike, type Answer, type Expression, from, remembered, usable, type World } from './slow-answer.ts';

interface Step {
  time: number;
  /** answers of the arguments */
  all: Answer[];
}

/** Goes over all samples so far of which every argument is usable; the last one gives the answer. */
function over(
  text: string,
  args: Expression[],
  unit: string,
  answer: (usableSteps: Step[], world: World) => Answer,
): Expression {
  return remembered({
    text,
    unit,
    at(n, world) {
      const last = args.map((arg) => arg.at(n, world));
      if (!last.every(usable)) return from(last, () => 0);
      const steps: Step[] = [];
      for (let i = 0; i <= n; i++) {
        const all = args.map((arg) => arg.at(i, world));
        if (all.every(usable)) steps.push({ time: world.times[i] as number, all });
      }
      return answer(steps, world);
    },
  });
}

const values = ({ all }: Step): number[] => all.map(({ value }) => value);
const lastOf = (steps: Step[]): Step => steps.at(-1) as Step;
const truth = (step: Step, i: number): boolean => (step.all[i] as Answer).value !== 0;

export function moment(name: 'moving_mean' | 'moving_rms', a: Expression, width: number): Expression {
  const text = `${name}(${a.text}, ${width}[s])`;
  return over(text, [a], a.unit, (steps) => {
    const inside = steps.filter(({ time }) => lastOf(steps).time - time <= width * 1e6);
    const numbers = inside.map((step) => values(step)[0] as number);
    const sum = numbers.reduce((total, x) => total + (name === 'moving_rms' ? x * x : x), 0);
    const mean = sum / numbers.length;
    return from(
      inside.flatMap(({ all }) => all),
      () => (name === 'moving_rms' ? Math.sqrt(mean) : mean),
    );
  });
}

export function integral(a: Expression, reset: Expression, gap: number): Expression {
  const text = `(integral(${a.text}, ${reset.text}, ${gap}[s]) / 1[s])`;
  return over(text, [a, reset], a.unit, (steps) => {
    const start = Math.max(
      0,
      steps.findLastIndex((step) => truth(step, 1)),
    );
    const used = steps.slice(start);
    let sum = 0;
    for (let i = 1; i < used.length; i++) {
      const [one, two] = [used[i - 1], used[i]] as [Step, Step];
      if (two.time - one.time > gap * 1e6) return { value: Number.NaN, code: 15 };
      sum += (((values(one)[0] as number) + (values(two)[0] as number)) / 2) * ((two.time - one.time) / 1e6);
    }
    return from(
      used.flatMap(({ all }) => all),
      () => sum,
    );
  });
}

/** The part since the last usable sample that came after a gap. */
function unbroken(steps: Step[], staleAfter: number): Step[] {
  const start = steps.findLastIndex(({ time }, i) => i === 0 || time - (steps[i - 1] as Step).time > staleAfter);
  return steps.slice(start);
}

const perSecond: Record<string, string> = { '1': '1/s', kt: 'kt/s', 'm/s': 'm/s^2', 'ft/min': 'ft/(min s)' };

export const rateLimit = (a: Expression, limit: number): Expression =>
  over(`rate_limit(${a.text}, ${limit}[${perSecond[a.unit]}])`, [a], a.unit, (steps, world) => {
    const [first, ...rest] = unbroken(steps, world.staleAfter) as [Step, ...Step[]];
    let time = first.time;
    let y = values(first)[0] as number;
    for (const step of rest) {
      const [x, most] = [values(step)[0] as number, limit * ((step.time - time) / 1e6)];
      y = Math.min(Math.max(x, y - most), y + most);
      time = step.time;
    }
    return from(lastOf(steps).all, () => y);
  });

export function actuator(compares: boolean, args: Expression[], f: number, z: number, limit: number): Expression {
  const { unit } = args[0] as Expression;
  const name = compares ? 'actuator_error' : 'actuator';
  const text = `${name}(${args.map((arg) => arg.text).join(', ')}, ${f}[Hz], ${z}, ${limit}[${perSecond[unit]}])`;
  const w = 2 * Math.PI * f;
  const bounded = (v: number) => Math.min(limit, Math.max(-limit, v));
  const pull = (y: number, v: number, u: number) => w * w * (u - y) - 2 * z * w * v;
  return over(text, alike(args), unit, (steps, world) => {
    const [first, ...rest] = unbroken(steps, world.staleAfter) as [Step, ...Step[]];
    let [y, v, before]: [number, number, Step] = [values(first)[0] as number, 0, first];
    for (const step of rest) {
      // a model that ran out of numbers starts again
      if (!Number.isFinite(y)) {
        [y, v, before] = [values(step)[0] as number, 0, step];
        continue;
      }
      const dt = (step.time - before.time) / 1e6;
      const count = Math.min(1000, Math.max(1, Math.ceil((dt * w) / 0.2)));
      const h = dt / count;
      const [u0, u1] = [values(before).at(-1), values(step).at(-1)] as [number, number];
      for (let i = 0; i < count; i++) {
        const [a, b] = [u0 + ((u1 - u0) * i) / count, u0 + ((u1 - u0) * (i + 1)) / count];
        const k1 = [bounded(v), 0] as [number, number];
        k1[1] = pull(y, k1[0], a);
        const k2 = [bounded(v + (h / 2) * k1[1]), 0] as [number, number];
        k2[1] = pull(y + (h / 2) * k1[0], k2[0], (a + b) / 2);
        const k3 = [bounded(v + (h / 2) * k2[1]), 0] as [number, number];
        k3[1] = pull(y + (h / 2) * k2[0], k3[0], (a + b) / 2);
        const k4 = [bounded(v + h * k3[1]), 0] as [number, number];
        k4[1] = pull(y + h * k3[0], k4[0], b);
        y += (h / 6) * (k1[0] + 2 * k2[0] + 2 * k3[0] + k4[0]);
        v = bounded(v + (h / 6) * (k1[1] + 2 * k2[1] + 2 * k3[1] + k4[1]));
      }
      before = step;
    }
    const last = lastOf(steps);
    return from(last.all, () => (compares ? (values(last)[0] as number) - y : y));
  });
}

export const delay = (a: Expression, by: number): Expression =>
  remembered({
    text: `delay(${a.text}, ${by}[s])`,
    unit: a.unit,
    at(n, world) {
      const time = (i: number) => world.times[i] as number;
      const i = world.times.findLastIndex((_, k) => k <= n && time(n) - time(k) >= by * 1e6);
      if (i < 0 || time(n) - time(i) > by * 1e6 + world.staleAfter) return { value: Number.NaN, code: 15 };
      return a.at(i, world);
    },
  });

export const holdWhile = (a: Expression, condition: Expression): Expression =>
  remembered({
    text: `hold_while(${a.text}, ${condition.text})`,
    unit: a.unit,
    at(n, world) {
      const now = condition.at(n, world);
      if (!usable(now)) return now;
      if (now.value === 0) return from([a.at(n, world), now], () => a.at(n, world).value);
      for (let i = n - 1; i >= 0; i--) {
        const [x, was] = [a.at(i, world), condition.at(i, world)];
        if (usable(x) && usable(was) && was.value === 0) return from([x, now], () => x.value);
      }
      return { value: Number.NaN, code: 15 };
    },
  });

const rises = (steps: Step[], i: number): boolean =>
  i > 0 && truth(steps[i] as Step, 0) && !truth(steps[i - 1] as Step, 0);

export const edge = (c: Expression): Expression =>
  over(`edge(${c.text})`, [c], '1', (steps) => from(lastOf(steps).all, () => Number(rises(steps, steps.length - 1))));

export const count = (c: Expression, reset: Expression): Expression =>
  over(`count(${c.text}, ${reset.text})`, [c, reset], '1', (steps) => {
    const start = steps.findLastIndex((step) => truth(step, 1));
    return from(lastOf(steps).all, () => steps.filter((_, i) => i > start && rises(steps, i)).length);
  });

export const timer = (c: Expression): Expression =>
  over(`(timer(${c.text}) / 1[s])`, [c], '1', (steps) => {
    const since = steps.slice(steps.findLastIndex((step) => !truth(step, 0)) + 1)[0];
    return from(lastOf(steps).all, () => (since ? (lastOf(steps).time - since.time) / 1e6 : 0));
  });

export const latch = (set: Expression, reset: Expression): Expression =>
  over(`latch(${set.text}, ${reset.text})`, [set, reset], '1', (steps) => {
    const on = steps.findLastIndex((step) => truth(step, 0) && !truth(step, 1));
    return from(lastOf(steps).all, () => Number(on > steps.findLastIndex((step) => truth(step, 1))));
  });
