/**
 * Slow, obvious referees for what limits measure: whole lists of samples, looked at anew for each one, written from the
 * words of each kind and sharing no arithmetic with the station (a duplicate on purpose).
 */
import type { MeasureSample } from '../support/run-measure.ts';

/** What a referee says of one sample: NaN = cannot tell. */
export interface Said {
  value: number;
  detail: string;
}

const nothing: Said = { value: Number.NaN, detail: '' };
const usable = (sample: MeasureSample, k = 0): boolean => sample.inputs[k]?.usable === true;
const valueOf = (sample: MeasureSample, k = 0): number => sample.inputs[k]?.value as number;

/** Those of the list that came after the last step back in time. */
function sinceStepBack<T extends { time: number }>(list: readonly T[]): T[] {
  let from = 0;
  list.forEach((one, i) => {
    if (i > 0 && one.time < (list[i - 1] as T).time) from = i;
  });
  return list.slice(from);
}

/** Slope a second of the line with the least squares; NaN without three samples over half the window. */
function slopeOf(samples: readonly { time: number; value: number }[], window: number): number {
  const newest = samples.at(-1)?.time as number;
  const within = sinceStepBack(samples).filter(({ time }) => time >= newest - window);
  if (within.length < 3 || newest - (within[0]?.time as number) < window / 2) return Number.NaN;
  const mean = (numbers: number[]) => numbers.reduce((sum, x) => sum + x, 0) / numbers.length;
  const t = within.map(({ time }) => (time - newest) / 1e6);
  const x = within.map(({ value }) => value);
  const [tMean, xMean] = [mean(t), mean(x)];
  const top = t.reduce((sum, one, i) => sum + (one - tMean) * ((x[i] as number) - xMean), 0);
  const bottom = t.reduce((sum, one) => sum + (one - tMean) ** 2, 0);
  return top / bottom;
}

const plain = (samples: readonly MeasureSample[]) =>
  samples.filter((one) => usable(one)).map((one) => ({ time: one.time, value: valueOf(one) }));

export function slowRate(samples: readonly MeasureSample[], window: number): Said[] {
  return samples.map((sample, i) =>
    usable(sample) ? { value: slopeOf(plain(samples.slice(0, i + 1)), window), detail: '' } : nothing,
  );
}

export interface SlowBand {
  over: number;
  upTo: number;
  margin: number;
  eachTime: boolean;
  /** lowest level, seconds */
  first: number;
  staleAfter: number;
  period: number;
}

/** Gate codes: 1 = not in force. */
export function slowTimeAtLevel(samples: readonly MeasureSample[], band: SlowBand): Said[] {
  // what each sample says of the time until the next one
  let wasIn = false;
  const states = samples.map((sample): 'in' | 'out' | 'in, lost' | 'out, lost' | 'not in force' => {
    if (sample.gate === 1) {
      wasIn = false;
      return 'not in force';
    }
    if (!usable(sample)) return wasIn ? 'in, lost' : 'out, lost';
    const wider = wasIn ? band.margin : 0;
    wasIn = valueOf(sample) > band.over - wider && valueOf(sample) <= band.upTo + wider;
    return wasIn ? 'in' : 'out';
  });
  return samples.map((sample, n) => {
    let total = 0;
    let unknown = 0;
    for (let i = 1; i <= n; i++) {
      const before = states[i - 1];
      const gap = (samples[i] as MeasureSample).time - (samples[i - 1] as MeasureSample).time;
      const startsAnew = band.eachTime && (before === 'out' || before === 'not in force');
      if (startsAnew) [total, unknown] = [0, 0];
      if (gap <= 0 || before === 'not in force') continue;
      const guessed = before?.endsWith('lost') ? gap : gap > band.staleAfter ? gap - band.period : 0;
      total += before?.startsWith('in') ? gap : guessed;
      unknown += guessed;
    }
    if (band.eachTime && sample.gate === 1) [total, unknown] = [0, 0];
    const value = total / 1e6;
    return usable(sample) || value > band.first
      ? { value, detail: unknown > 0 ? 'gaps counted' : '' }
      : { ...nothing, detail: unknown > 0 ? 'gaps counted' : '' };
  });
}

export function slowPeak(samples: readonly MeasureSample[], of: 'highest' | 'lowest', first: number): Said[] {
  return samples.map((sample, n) => {
    let begin = 0;
    for (let i = 0; i <= n; i++) {
      // it came in force here
      if (samples[i]?.gate !== 1 && (i === 0 || samples[i - 1]?.gate === 1)) begin = i;
    }
    const seen = samples.slice(begin, n + 1).filter((one) => usable(one) && one.gate !== 1);
    if (seen.length === 0) return nothing;
    const values = seen.map((one) => valueOf(one));
    const value = of === 'highest' ? Math.max(...values) : Math.min(...values);
    const beyond = of === 'highest' ? value > first : value < first;
    return usable(sample) || beyond ? { value, detail: '' } : nothing;
  });
}

/** The shorter way from one direction to another, or the plain difference. */
function apart(a: number, b: number, turn: number | undefined): number {
  if (turn === undefined) return a - b;
  const round = (((a - b) % turn) + turn) % turn;
  return round > turn / 2 ? round - turn : round;
}

function medianOf(values: readonly number[], turn: number | undefined): number {
  const away = values.map((a) => values.reduce((sum, b) => sum + Math.abs(apart(b, a, turn)), 0));
  const centre = values[away.indexOf(Math.min(...away))] as number;
  const sorted = values.map((value) => apart(value, centre, turn)).sort((a, b) => a - b);
  const half = sorted.length / 2;
  const middle = Number.isInteger(half)
    ? ((sorted[half - 1] as number) + (sorted[half] as number)) / 2
    : (sorted[Math.floor(half)] as number);
  return centre + middle;
}

export function slowMiscompare(
  samples: readonly MeasureSample[],
  ids: readonly string[],
  { turn, filter, voted }: { turn?: number; filter?: number; voted?: boolean },
): Said[] {
  const past = new Map<number, { time: number; value: number }[]>();
  const smooth = (channel: number, time: number, value: number): number => {
    if (filter === undefined) return value;
    const list = past.get(channel) ?? [];
    past.set(channel, list);
    list.push({ time, value });
    const within = sinceStepBack(list).filter((one) => one.time >= time - filter);
    return within.reduce((sum, one) => sum + one.value, 0) / within.length;
  };
  return samples.map((sample) => {
    const valid = ids.flatMap((_, k) => (usable(sample, k) ? [k] : []));
    if (valid.length < 2) return nothing;
    const values = valid.map((k) => valueOf(sample, k));
    const median = medianOf(values, turn);
    if (voted) {
      if (!usable(sample, ids.length)) return nothing;
      const off = apart(valueOf(sample, ids.length), median, turn);
      return { value: Math.abs(smooth(ids.length, sample.time, off)), detail: '' };
    }
    const whole = valid.length === 2 ? 2 : 1;
    const off = values.map((value, i) =>
      Math.abs(smooth(valid[i] as number, sample.time, whole * apart(value, median, turn))),
    );
    const value = Math.max(...off);
    const names = valid.map((k) => ids[k] as string);
    return { value, detail: valid.length === 2 ? names.join(' against ') : (names[off.indexOf(value)] as string) };
  });
}

export function slowMargin(
  samples: readonly MeasureSample[],
  ids: readonly string[],
  stops: readonly (readonly [number, number])[],
  first: number,
): Said[] {
  return samples.map((sample) => {
    const ways = ids.flatMap((id, k) => {
      const [low, high] = stops[k] as [number, number];
      const percent = (way: number) => (100 * way) / (high - low);
      if (!usable(sample, k)) return [];
      return [
        { way: percent(valueOf(sample, k) - low), detail: `${id} to its low stop` },
        { way: percent(high - valueOf(sample, k)), detail: `${id} to its high stop` },
      ];
    });
    const least = Math.min(...ways.map(({ way }) => way));
    const isWhole = ids.every((_, k) => usable(sample, k));
    if (!isWhole && !(least < first)) return nothing;
    return { value: least, detail: ways.find(({ way }) => way === least)?.detail as string };
  });
}

export interface SlowActuator {
  omega: number;
  damping: number;
  rateLimit: number;
  low: number;
  high: number;
  staleAfter: number;
}

/** Position less model, the model stepped 20 microseconds at a time. Inputs: position, command. */
export function slowTracking(samples: readonly MeasureSample[], actuator: SlowActuator): Said[] {
  const { omega, damping, rateLimit, low, high, staleAfter } = actuator;
  const within = (x: number) => Math.min(high, Math.max(low, x));
  let running: { time: number; command: number; y: number; v: number } | undefined;
  return samples.map((sample) => {
    if (!usable(sample, 1)) return nothing;
    const { time } = sample;
    const command = within(valueOf(sample, 1));
    const gap = running ? time - running.time : Number.NaN;
    if (running && gap >= 0 && gap <= staleAfter) {
      const steps = Math.ceil(gap / 20);
      const h = gap / 1e6 / steps;
      for (let i = 0; i < steps; i++) {
        const u = running.command + ((command - running.command) * (i + 0.5)) / steps;
        const pull = omega ** 2 * (u - running.y) - 2 * damping * omega * running.v;
        running.v = Math.min(rateLimit, Math.max(-rateLimit, running.v + h * pull));
        running.y += h * running.v;
      }
      running = { ...running, time, command };
    } else running = usable(sample, 0) ? { time, command, y: valueOf(sample, 0), v: 0 } : undefined;
    if (!running || !usable(sample, 0)) return nothing;
    const modelled = gap >= 0 && gap <= staleAfter ? within(running.y) : running.y;
    return { value: Math.abs(valueOf(sample, 0) - modelled), detail: '' };
  });
}

export function slowRateShare(
  samples: readonly MeasureSample[],
  { fast, slopeOver, window, staleAfter }: { fast: number; slopeOver: number; window: number; staleAfter: number },
): Said[] {
  const known: { time: number; isFast: boolean }[] = [];
  let since = 0;
  return samples.map((sample, i) => {
    if (!usable(sample)) return nothing;
    const slope = Math.abs(slopeOf(plain(samples.slice(0, i + 1)), slopeOver));
    if (Number.isNaN(slope)) return nothing;
    const { time } = sample;
    const gap = time - (known.at(-1)?.time ?? Number.NaN);
    if (!(gap >= 0 && gap <= staleAfter)) since = time;
    known.push({ time, isFast: slope >= fast });
    if (time - since < window) return nothing;
    const within = sinceStepBack(known).filter((one) => one.time > time - window);
    return { value: (100 * within.filter(({ isFast }) => isFast).length) / within.length, detail: '' };
  });
}

/** Band-pass of a whole list: two second-order Butterworth ends, as one difference equation of fourth order. */
function bandPassed(x: readonly number[], low: number, high: number, rate: number): number[] {
  const end = (f: number, isHigh: boolean) => {
    const k = Math.tan((Math.PI * f) / rate);
    const a0 = 1 + Math.sqrt(2) * k + k ** 2;
    const b = isHigh ? [1, -2, 1] : [k ** 2, 2 * k ** 2, k ** 2];
    return { b: b.map((one) => one / a0), a: [1, (2 * k ** 2 - 2) / a0, (1 - Math.sqrt(2) * k + k ** 2) / a0] };
  };
  const times = (p: number[], q: number[]) => {
    const result = new Array<number>(p.length + q.length - 1).fill(0);
    p.forEach((one, i) => {
      q.forEach((other, j) => {
        result[i + j] = (result[i + j] as number) + one * other;
      });
    });
    return result;
  };
  const [first, second] = [end(low, true), end(high, false)];
  const b = times(first.b, second.b);
  const a = times(first.a, second.a);
  // as if the first value had always been there: what passes is that of the difference from it
  const from = x.map((one) => one - (x[0] as number));
  const y: number[] = [];
  from.forEach((_, n) => {
    let sum = 0;
    for (let k = 0; k < b.length; k++) sum += (b[k] as number) * (from[n - k] ?? 0);
    for (let k = 1; k < a.length; k++) sum -= (a[k] as number) * (y[n - k] ?? 0);
    y.push(n === 0 ? 0 : sum);
  });
  return y;
}

/** Amplitude of the watched value in the band; inputs: watched, command. Gives the lag, degrees, as detail where known. */
export function slowBand(
  samples: readonly MeasureSample[],
  { low, high, rate, count, staleAfter }: Record<'low' | 'high' | 'rate' | 'count' | 'staleAfter', number>,
): Said[] {
  let list: { value: number; command: number; isKnown: boolean }[] = [];
  let newest = Number.NaN;
  let command = 0;
  return samples.map((sample) => {
    if (!usable(sample)) return nothing;
    const isKnown = usable(sample, 1);
    if (isKnown) command = valueOf(sample, 1);
    const now = { value: valueOf(sample), command, isKnown };
    const gap = sample.time - newest;
    newest = sample.time;
    const before = list.at(-1);
    if (before && gap >= 0 && gap <= staleAfter) {
      const steps = Math.max(1, Math.round((gap * rate) / 1e6));
      for (let k = 1; k <= steps; k++) {
        const between = (a: number, b: number) => a + ((b - a) * k) / steps;
        list.push({
          value: between(before.value, now.value),
          command: between(before.command, now.command),
          isKnown: k < steps || isKnown,
        });
      }
    } else list = [now];
    if (list.length <= count) return nothing;
    const r = bandPassed(
      list.map((one) => one.value),
      low,
      high,
      rate,
    ).slice(-count - 1);
    const c = bandPassed(
      list.map((one) => one.command),
      low,
      high,
      rate,
    ).slice(-count - 1);
    const value = Math.sqrt((2 * r.slice(1).reduce((sum, one) => sum + one * one, 0)) / count);
    if (list.slice(-count - 1).some((one) => !one.isKnown)) return { value, detail: 'not known' };
    const sums = { cc: 0, cr: 0, dd: 0, dr: 0, rr: 0 };
    for (let i = 1; i <= count; i++) {
      const [r0, r1, c0, c1] = [r[i - 1], r[i], c[i - 1], c[i]] as [number, number, number, number];
      const [rm, cm, d] = [(r0 + r1) / 2, (c0 + c1) / 2, c1 - c0];
      sums.cc += cm * cm;
      sums.cr += cm * rm;
      sums.dd += d * d;
      sums.dr += d * rm;
      sums.rr += rm * rm;
    }
    // the command a quarter of a cycle later, as large as itself
    const quarter = sums.dd > 0 ? -Math.sqrt(sums.cc / sums.dd) * sums.dr : 0;
    const coherence = sums.cc * sums.rr > 0 ? (sums.cr ** 2 + quarter ** 2) / (sums.cc * sums.rr) : 0;
    const lag = (Math.atan2(quarter, sums.cr) * 180) / Math.PI;
    return { value, detail: `${coherence} ${lag}` };
  });
}
