/** One estimator's positions over many frames, and what they come to. */
import { kthSmallest } from '@holdfast/psf/numerics';
import {
  type EstimatorSetting,
  type MeasureStar,
  prepareEstimator,
  type Start,
  usesTemplate,
  windowMiddle,
} from './estimators.ts';
import { type AnyEstimator, type NameOf, nameOf } from './own-estimator.ts';
import type { LossReason, PositionError } from './position-error.ts';
import type { Scene } from './scene.ts';
import { phaseOf, phases, placeOf, places, type SimulatedFrame, stratum } from './simulated-frames.ts';
import {
  bothAxes,
  type Estimate,
  fractionOf,
  type Interval,
  meanOf,
  ratioOf,
  rmsPerAxis,
  Slope,
  scaled,
  scatterOf,
} from './statistics.ts';

/** Beyond this many robust sigmas a position is an outlier: of 100 000 normal errors less than one. */
const outlierSigmas = 5;

/**
 * A method that follows a displacement by less than this share leaves a loop without a grip (a choice of
 * ours).
 */
export const leastResponse = 0.2;

/** Displacements smaller than this tell little of the response, px. */
const leastDisplacementPx = 0.25;

/** One trial in so many is measured from both sides of the star: whole rounds of the places. */
const pairedEvery = stratum / places;

/** How the loop had the star before a frame: its true place less where it was looked for, px. */
export interface Displacement {
  readonly x: number;
  readonly y: number;
}

/**
 * Displacement of a paired trial: all four diagonals in turn, so that what crosses from axis to axis averages
 * out.
 */
function diagonal(trial: number, distance: number): Displacement {
  const round = Math.floor(trial / places / pairedEvery) + (trial % places);
  return { x: round & 1 ? distance : -distance, y: round & 2 ? distance : -distance };
}

/** Collects one estimator's positions. */
export class ErrorTally<Estimator extends AnyEstimator> {
  readonly #setting: EstimatorSetting<Estimator>;
  readonly #scene: Scene;
  readonly #backgroundSigma: number;
  readonly #displacementPx: number;
  readonly #errorX: Float64Array;
  readonly #errorY: Float64Array;
  readonly #displacedX: Float64Array;
  readonly #displacedY: Float64Array;
  readonly #trial: Uint32Array;
  readonly #pairsX = new Slope();
  readonly #pairsY = new Slope();
  readonly #lost = new Map<LossReason, number>();
  readonly #canSaturate: boolean;
  readonly #predicts: boolean;
  #measure: MeasureStar;
  #measureWithError: MeasureStar | undefined;
  #measureWider: MeasureStar | undefined;
  #located = 0;
  #saturated = 0;
  #predicted = 0;
  #predictions = 0;

  /**
   * @param motionPx  rms of one axis by which the loop has the star off its set point
   * @param predicts whether the error that the estimator states is wanted, too: it takes longer than a
   *   position
   */
  constructor(
    setting: EstimatorSetting<Estimator>,
    scene: Scene,
    backgroundSigma: number,
    limit: number,
    motionPx: number,
    predicts: boolean,
  ) {
    this.#predicts = predicts;
    this.#setting = setting;
    this.#scene = scene;
    this.#backgroundSigma = backgroundSigma;
    this.#displacementPx = Math.max(leastDisplacementPx, motionPx);
    this.#measure = this.#prepare(setting);
    this.#errorX = new Float64Array(limit);
    this.#errorY = new Float64Array(limit);
    this.#displacedX = new Float64Array(limit);
    this.#displacedY = new Float64Array(limit);
    this.#trial = new Uint32Array(limit);
    const { peakE, pixelNoiseE, saturationE } = scene;
    this.#canSaturate = peakE + 6 * Math.sqrt(peakE + pixelNoiseE * pixelNoiseE) >= saturationE;
  }

  /** Frames that the estimator must see before the first one of each run that counts. */
  get warmUp(): number {
    const { estimator, templateFrames = 0 } = this.#setting;
    return usesTemplate(estimator) ? templateFrames : 0;
  }

  /** Begin a run of frames: a template that remembers begins anew. */
  beginRun(): void {
    if (this.warmUp > 0) this.#measure = this.#prepare(this.#setting);
  }

  /** A frame before those that count. */
  see({ pixels, background, x, y }: SimulatedFrame, displaced: Displacement): void {
    if (this.warmUp > 0) this.#measure(pixels, background, { x: x - displaced.x, y: y - displaced.y });
  }

  /** One frame, measured from where the loop had the star. */
  add(frame: SimulatedFrame, trial: number, displaced: Displacement): void {
    const { pixels, background, x, y } = frame;
    if (this.#canSaturate && this.#isSaturated(frame)) this.#saturated++;
    // A template that remembers must not see a frame twice: all its trials are displaced by the full length.
    const remembers = this.warmUp > 0;
    const isPaired = Math.floor(trial / places) % pairedEvery === 0 && !remembers;
    const off = isPaired || remembers ? diagonal(trial, this.#displacementPx) : displaced;
    const start: Start = { x: x - off.x, y: y - off.y };
    if (this.#predicts && trial < places && !remembers) this.#predict(frame, start);
    const found = this.#measure(pixels, background, start);
    if (!found.ok) {
      const reason = this.#reasonOf(frame, start, found.reason);
      this.#lost.set(reason, (this.#lost.get(reason) ?? 0) + 1);
      return;
    }
    const n = this.#located++;
    const middle = this.#windowAt(start);
    this.#errorX[n] = found.x - x;
    this.#errorY[n] = found.y - y;
    this.#displacedX[n] = x - middle.x;
    this.#displacedY[n] = y - middle.y;
    this.#trial[n] = trial;
    if (!isPaired) return;
    // The same frame from the other side: as the star displaced the other way, with the noise in common.
    const from = { x: x + off.x, y: y + off.y };
    const other = this.#measure(pixels, background, from);
    if (!other.ok) return;
    const otherMiddle = this.#windowAt(from);
    this.#pairsX.add(otherMiddle.x - middle.x, found.x - other.x);
    this.#pairsY.add(otherMiddle.y - middle.y, found.y - other.y);
  }

  /**
   * Where the window stands: a loop leaves it on its set point's pixel while the star moves in it, so what
   * counts is how far the star is from its middle.
   */
  #windowAt(start: Start): Start {
    return windowMiddle(this.#scene, this.#setting.windowPx ?? this.#scene.windowPx, start);
  }

  /**
   * Whether the standard error of the noise-equivalent error is this small a part of it; a star never located
   * counts as known.
   */
  isKnownTo(relativePrecision: number): boolean {
    if (this.#located < 2) return relativePrecision > 0;
    const { noiseEquivalentPx, scatterPx } = this.#parts();
    const known = noiseEquivalentPx ?? scatterPx;
    return known.standardError <= relativePrecision * known.value;
  }

  result(trials: number, boundPx: number): PositionError<NameOf<Estimator>> {
    const n = this.#located;
    const { arcsecPerPx, windowPx, windowToHoldPx } = this.#scene;
    const common = {
      ...this.#setting,
      estimator: nameOf(this.#setting.estimator),
      trials,
      located: n,
      lostFraction: fractionOf(trials - n, trials),
      lostReasons: Object.fromEntries(this.#lost),
      saturatedFraction: fractionOf(this.#saturated, trials),
      windowPx: this.#setting.windowPx ?? windowPx,
      windowToHoldPx,
      displacementPx: this.#displacementPx,
      boundPx,
    };
    if (n < 2) return { ...common, followsStar: false };
    const { noiseEquivalentPx, ...parts } = this.#parts();
    const rms = rmsPerAxis(this.#errorX, this.#errorY, n);
    return {
      ...common,
      ...parts,
      ...(noiseEquivalentPx
        ? {
            noiseEquivalentPx,
            noiseEquivalentArcsec: scaled(noiseEquivalentPx, arcsecPerPx),
            ...(boundPx > 0 ? { boundRatio: scaled(noiseEquivalentPx, 1 / boundPx) } : {}),
          }
        : {}),
      rmsAgainstTruePx: rms,
      rmsAgainstTrueArcsec: scaled(rms, arcsecPerPx),
      outlierFraction: this.#outlierFraction(),
      errorByPhasePx: this.#errorByPhase(),
      ...(this.#predictions > 0 ? { predictedPx: this.#predicted / this.#predictions } : {}),
    };
  }

  /**
   * Response first, then what is left when it is taken off: by place the offset and its pixel phase, within a
   * place the scatter.
   */
  #parts() {
    const responses = {
      x: this.#response(this.#pairsX, this.#errorX, this.#displacedX),
      y: this.#response(this.#pairsY, this.#errorY, this.#displacedY),
    };
    const x = this.#partsOf('x', this.#errorX, this.#displacedX, responses.x);
    const y = this.#partsOf('y', this.#errorY, this.#displacedY, responses.y);
    const isUsable = ({ value, standardError }: Estimate) =>
      value >= leastResponse && value > 2 * standardError;
    const followsStar = isUsable(responses.x) && isUsable(responses.y);
    const parts = {
      offsetXPx: x.offset,
      offsetYPx: y.offset,
      pixelPhasePx: bothAxes(x.pixelPhase, y.pixelPhase),
      scatterXPx: x.scatter,
      scatterYPx: y.scatter,
      scatterPx: bothAxes(x.scatter, y.scatter),
      responseX: responses.x,
      responseY: responses.y,
      followsStar,
    };
    if (!followsStar) return { ...parts, noiseEquivalentPx: undefined };
    const noiseEquivalentXPx = ratioOf(x.scatter, responses.x);
    const noiseEquivalentYPx = ratioOf(y.scatter, responses.y);
    const noiseEquivalentPx = bothAxes(noiseEquivalentXPx, noiseEquivalentYPx);
    return { ...parts, noiseEquivalentXPx, noiseEquivalentYPx, noiseEquivalentPx };
  }

  /** From pairs; of a template that remembers from the regression of all its errors on the displacement. */
  #response(pairs: Slope, error: Float64Array, displaced: Float64Array): Estimate {
    let slope = pairs;
    if (this.warmUp > 0) {
      slope = new Slope();
      for (let i = 0; i < this.#located; i++) slope.add(displaced[i], error[i]);
    }
    if (slope.count < 2) return none;
    const { value, standardError } = slope.estimate();
    return { value: 1 + value, standardError };
  }

  #partsOf(axis: 'x' | 'y', error: Float64Array, displaced: Float64Array, { value: response }: Estimate) {
    const n = this.#located;
    const left = Float64Array.from({ length: n }, (_, i) => error[i] - (response - 1) * displaced[i]);
    const offset = meanOf(left);
    // The set point of a template is where its run began: what a run has in common is no scatter.
    const groups = this.warmUp > 0 ? this.#centered(left, stratum) : left;
    const sums = new Float64Array(places);
    const counts = new Float64Array(places);
    for (let i = 0; i < n; i++) {
      sums[this.#trial[i] % places] += groups[i];
      counts[this.#trial[i] % places]++;
    }
    let used = 0;
    const within = Float64Array.from({ length: n }, (_, i) => {
      const place = this.#trial[i] % places;
      return groups[i] - sums[place] / counts[place];
    });
    for (let place = 0; place < places; place++) if (counts[place] > 0) used++;
    const raw = scatterOf(within);
    // A mean was taken off at each place in use.
    const freedom = n > used ? Math.sqrt((n - 1) / (n - used)) : 0;
    const scatter = scaled(raw, freedom);
    // A star that stands still in its pixel stands off the middle of its window, too.
    const side = this.#setting.windowPx ?? this.#scene.windowPx;
    for (let place = 0; place < places; place++) {
      const fromMiddle = ((placeOf(place)[axis] + (side % 2 === 1 ? 0 : 0.5)) % 1) - 0.5;
      sums[place] += counts[place] * (response - 1) * fromMiddle;
    }
    return { offset, scatter, pixelPhase: pixelPhaseOf(sums, counts, scatter.value) };
  }

  /** Values less the mean of their run. */
  #centered(values: Float64Array, runLength: number): Float64Array {
    const sums = new Map<number, { sum: number; count: number }>();
    const runOf = (i: number) => Math.floor(this.#trial[i] / runLength);
    for (let i = 0; i < values.length; i++) {
      const run = sums.get(runOf(i)) ?? { sum: 0, count: 0 };
      run.sum += values[i];
      run.count++;
      sums.set(runOf(i), run);
    }
    return values.map((value, i) => {
      const { sum, count } = sums.get(runOf(i)) ?? { sum: 0, count: 1 };
      return value - sum / count;
    });
  }

  #prepare(setting: EstimatorSetting<AnyEstimator>): MeasureStar {
    return prepareEstimator(setting, this.#scene, this.#backgroundSigma, { predictsError: false });
  }

  #predict({ pixels, background }: SimulatedFrame, start: Start): void {
    this.#measureWithError ??= prepareEstimator(this.#setting, this.#scene, this.#backgroundSigma);
    const found = this.#measureWithError(pixels, background, start);
    if (!found.ok) return;
    this.#predicted += ((found.sigmaX ?? 0) + (found.sigmaY ?? 0)) / 2;
    this.#predictions++;
  }

  /** Whether the window is to blame: one that holds the star finds it on the same frame. */
  #reasonOf({ pixels, background }: SimulatedFrame, start: Start, reason: LossReason): LossReason {
    const { windowPx, windowToHoldPx } = this.#scene;
    if ((this.#setting.windowPx ?? windowPx) >= windowToHoldPx || this.warmUp > 0) return reason;
    this.#measureWider ??= this.#prepare({ ...this.#setting, windowPx: windowToHoldPx });
    return this.#measureWider(pixels, background, start).ok ? 'outgrew-window' : reason;
  }

  #isSaturated({ pixels }: SimulatedFrame): boolean {
    // Beyond the star's radius no pixel is bright.
    const { saturationE, width, column, row, radiusPx } = this.#scene;
    const reach = Math.min(column, row, Math.ceil(radiusPx) + 1);
    for (let y = row - reach; y <= row + reach; y++)
      for (let k = y * width + column - reach, end = k + 2 * reach; k <= end; k++)
        if (pixels[k] >= saturationE) return true;
    return false;
  }

  #outlierFraction(): Interval {
    const n = this.#located;
    const meanX = meanOf(this.#errorX, n).value;
    const meanY = meanOf(this.#errorY, n).value;
    const squared = Float64Array.from(
      { length: n },
      (_, i) => (this.#errorX[i] - meanX) ** 2 + (this.#errorY[i] - meanY) ** 2,
    );
    const median = kthSmallest(squared, n >> 1);
    // Median of dx^2 + dy^2 of a circular normal error: 2 ln 2 sigma^2.
    const limit = (outlierSigmas * outlierSigmas * median) / (2 * Math.LN2);
    let outliers = 0;
    for (let i = 0; i < n; i++) if (squared[i] > limit) outliers++;
    return fractionOf(outliers, n);
  }

  #errorByPhase(): (Estimate | null)[] {
    const bins = Array.from({ length: phases }, () => [] as number[]);
    for (let i = 0; i < this.#located; i++) {
      const { phaseX, phaseY } = phaseOf(this.#trial[i]);
      bins[phaseX].push(this.#errorX[i]);
      bins[phaseY].push(this.#errorY[i]);
    }
    return bins.map((errors) => (errors.length > 1 ? meanOf(Float64Array.from(errors)) : null));
  }
}

const none: Estimate = { value: 0, standardError: 0 };

/** Rms over places of the mean there about the mean of all, with what scatter explains of it taken off. */
function pixelPhaseOf(sums: Float64Array, counts: Float64Array, scatter: number): Estimate {
  const used = [...counts.keys()].filter((place) => counts[place] > 0);
  if (used.length < 2) return none;
  const means = used.map((place) => sums[place] / counts[place]);
  const mean = means.reduce((a, b) => a + b, 0) / means.length;
  const spread = means.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (means.length - 1);
  const explained = used.reduce((sum, place) => sum + (scatter * scatter) / counts[place], 0) / used.length;
  const square = Math.max(0, spread - explained);
  // Of a variance from so many means, each with the noise that scatter gives it.
  const error = Math.sqrt((2 * explained * explained + 4 * square * explained) / (means.length - 1));
  const value = Math.sqrt(square);
  return { value, standardError: Math.sqrt(square + error) - value };
}
