/**
 * Kind `vortex ring`: descent through the air measured by the induced velocity in the hover, vh = sqrt(T / (2 rho A)). The
 * watched parameter is the vertical speed through the air, up positive; thrust is the weight.
 *
 * `descent ratio`: descent over vh; 0 where the forward speed is beyond the region of unstable descent. `margin`: how far the
 * state is from that region (W. Johnson, NASA/TP-2005-213477), in vh, in descent or in forward speed. `time to region`: seconds until
 * it, at the rate at which the margin has shrunk over a window.
 */
import { Validity } from '../../../protocol/validity.ts';
import { G0, standardDensity } from '../../compute/air-data.ts';
import { LONGEST_TIME } from '../../compute/geometry.ts';
import { descentRatio, hoverInducedVelocity, RING_SPEED, vortexRingMargin } from '../../compute/rotor.ts';
import { SlopeWindow } from '../../compute/window.ts';
import type { MeasureInput } from '../held.ts';
import type { CompileMeasure, Measure, MeasureOutput, MeasureSpan } from '../measured.ts';
import { OfOneSample, type Scale, Scaled, scalesOf } from '../scaled.ts';
import { slopeFits } from '../window-setting.ts';

export const compileVortexRing: CompileMeasure<'vortex ring'> = ({ parameter, settings }, context) => {
  const wanted = [
    [parameter, 'm/s', 'parameter'],
    [settings['forward speed'], 'm/s', 'forward speed'],
    [settings.mass, 'kg', 'mass'],
    [settings['density altitude'], 'm', 'density altitude'],
  ] as const;
  const scales = scalesOf(context, wanted);
  const isTimed = settings.measure === 'time to region';
  const fits = !isTimed || slopeFits('window', settings.window, context);
  if (!scales || !fits) return undefined;
  const { radius } = settings;
  const of = settings.measure === 'descent ratio' ? descentOf(radius) : marginOf(radius);
  const measure = isTimed ? new TimeToRegion(scales, of, settings.window) : new OfOneSample(scales, of);
  return { measure, inputs: wanted.map(([id]) => id) };
};

/** Of vertical and forward speed (m/s), mass (kg) and density altitude (m). */
type OfState = (values: Float64Array) => number;

const hoverOf = (values: Float64Array, radius: number): number =>
  hoverInducedVelocity((values[2] as number) * G0, standardDensity(values[3] as number), radius);

const descentOf =
  (radius: number): OfState =>
  (values) => {
    const hover = hoverOf(values, radius);
    const ratio = -descentRatio(values[0] as number, hover);
    const isBeyond = Math.abs((values[1] as number) / hover) > RING_SPEED;
    return isBeyond ? Math.min(ratio, 0) : ratio;
  };

/** Above the region or faster than it: the larger of both distances, so that it shrinks towards the region from anywhere. */
const marginOf =
  (radius: number): OfState =>
  (values) => {
    const [vertical, forward] = values as unknown as [number, number];
    const hover = hoverOf(values, radius);
    return Math.max(vortexRingMargin(forward, vertical, hover), Math.abs(forward / hover) - RING_SPEED);
  };

class TimeToRegion implements Measure {
  private readonly scaled: Scaled;
  private readonly margin: OfState;
  private readonly slope: SlopeWindow;

  constructor(scales: readonly Scale[], margin: OfState, window: number) {
    this.scaled = new Scaled(scales);
    this.margin = margin;
    this.slope = new SlopeWindow(window);
  }

  run({ time, length }: MeasureSpan, inputs: readonly MeasureInput[], out: MeasureOutput): void {
    const { scaled, slope } = this;
    for (let i = 0; i < length; i++) {
      const margin = scaled.read(inputs, i) ? this.margin(scaled.values) : Number.NaN;
      if (margin === margin) slope.push(time[i] as number, margin, 0);
      const seconds = margin <= 0 ? 0 : margin / -slope.result();
      out.values[i] = seconds >= 0 ? Math.min(seconds, LONGEST_TIME) : LONGEST_TIME;
      // without a slope yet there is no time; away from the region it is the longest
      if (margin !== margin || seconds !== seconds) out.validity[i] = Validity.input;
    }
  }

  save(): unknown {
    return this.slope.save();
  }

  restore(state: unknown): void {
    this.slope.restore(state);
  }
}
