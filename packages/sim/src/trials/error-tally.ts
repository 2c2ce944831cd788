/** One estimator's positions over many frames, and what they come to. */

import { kthSmallest } from '@holdfast/psf/numerics';
import { AxisTally, axesTogether, type TallyRun, withError } from './axis-tally.ts';
import {
  type EstimatorSetting,
  type MeasureStar,
  prepareEstimator,
  type Start,
  usesTemplate,
  windowMiddle,
} from './estimators.ts';
import type { SumWithTerms } from './explained-error.ts';
import type { KnownNoise } from './known-noise.ts';
import { type AnyEstimator, type NameOf, nameOf } from './own-estimator.ts';
import type { LossReason, PositionError } from './position-error.ts';
import type { Scene } from './scene.ts';
import { phaseOf, phases, places, roundSize, type SimulatedFrame } from './simulated-frames.ts';
import { bothAxes, type Estimate, fractionOf, type Interval, meanOf, rootOf, scaled } from './statistics.ts';

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
const pairedEvery = roundSize / places;

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

const nothingKnown: [Float64Array, Float64Array] = [new Float64Array(0), new Float64Array(0)];

/** What all trials of a scene have in common. */
export interface Trials {
  readonly scene: Scene;
  readonly backgroundSigma: number;
  /** Rms of one axis by which the loop has the star off its set point, px. */
  readonly motionPx: number;
  /** Whether the error that the estimator states is wanted, too: it takes longer than a position. */
  readonly predicts: boolean;
  /** What is known of each frame's noise; undefined where nothing is. */
  readonly known: KnownNoise | undefined;
}

/** Collects one estimator's positions. */
export class ErrorTally<Estimator extends AnyEstimator> {
  readonly #setting: EstimatorSetting<Estimator>;
  readonly #trials: Trials;
  readonly #scene: Scene;
  readonly #displacementPx: number;
  readonly #x: AxisTally;
  readonly #y: AxisTally;
  readonly #trial: Uint32Array;
  readonly #lost = new Map<LossReason, number>();
  readonly #canSaturate: boolean;
  #measure: MeasureStar;
  #measureWithError: MeasureStar | undefined;
  #measureWider: MeasureStar | undefined;
  #located = 0;
  #saturated = 0;
  #predicted = 0;
  #predictions = 0;

  constructor(setting: EstimatorSetting<Estimator>, limit: number, trials: Trials, measure?: MeasureStar) {
    const { scene, motionPx, known } = trials;
    this.#setting = setting;
    this.#trials = trials;
    this.#scene = scene;
    this.#displacementPx = Math.max(leastDisplacementPx, motionPx);
    this.#measure = measure ?? this.#prepare(setting);
    const count = known?.count ?? 0;
    this.#x = new AxisTally('x', limit, count);
    this.#y = new AxisTally('y', limit, count);
    this.#trial = new Uint32Array(limit);
    const { peakE, pixelNoiseE, saturationE } = scene;
    this.#canSaturate = peakE + 6 * Math.sqrt(peakE + pixelNoiseE * pixelNoiseE) >= saturationE;
  }

  /** A tally of the same estimator for other trials of the scene. */
  another(limit: number): ErrorTally<Estimator> {
    return new ErrorTally(this.#setting, limit, this.#trials, this.#measure);
  }

  /** Adds the trials of another tally. */
  take(other: ErrorTally<Estimator>): void {
    this.#trial.set(other.#trial.subarray(0, other.#located), this.#located);
    this.#x.take(other.#x);
    this.#y.take(other.#y);
    for (const [reason, count] of other.#lost) this.#lost.set(reason, (this.#lost.get(reason) ?? 0) + count);
    this.#located += other.#located;
    this.#saturated += other.#saturated;
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
    if (this.#trials.predicts && trial < places && !remembers) this.#predict(frame, start);
    const found = this.#measure(pixels, background, start);
    const [sums, covariance] = this.#noiseOf(pixels, trial, start);
    if (!found.ok) {
      this.#x.lose(sums, covariance);
      this.#y.lose(sums, covariance);
      const reason = this.#reasonOf(frame, start, found.reason);
      this.#lost.set(reason, (this.#lost.get(reason) ?? 0) + 1);
      return;
    }
    this.#trial[this.#located++] = trial;
    const middle = this.#windowAt(start);
    this.#x.add(found.x - x, x - middle.x, sums, covariance);
    this.#y.add(found.y - y, y - middle.y, sums, covariance);
    if (!isPaired) return;
    // The same frame from the other side: as the star displaced the other way, with the noise in common.
    const from = { x: x + off.x, y: y + off.y };
    const other = this.#measure(pixels, background, from);
    if (!other.ok) return;
    const otherMiddle = this.#windowAt(from);
    const [otherSums] = this.#noiseOf(pixels, trial, from);
    this.#x.addPair(otherMiddle.x - middle.x, found.x - other.x, otherSums);
    this.#y.addPair(otherMiddle.y - middle.y, found.y - other.y, otherSums);
  }

  /** The known sums of a frame's noise in the window around a place, and their covariance over frames. */
  #noiseOf(pixels: Float64Array, trial: number, start: Start): [Float64Array, Float64Array] {
    const { known } = this.#trials;
    if (known === undefined) return nothingKnown;
    const middle = this.#windowAt(start);
    const half = (this.#side - 1) / 2;
    const [left, top] = [middle.x - half, middle.y - half];
    return [known.sumsOf(pixels, trial, left, top), known.covarianceOf(trial % places, left, top)];
  }

  /**
   * Where the window stands: a loop leaves it on its set point's pixel while the star moves in it, so what
   * counts is how far the star is from its middle.
   */
  #windowAt(start: Start): Start {
    return windowMiddle(this.#scene, this.#side, start);
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

  /** How many trials with chance left in would tell the scatter as surely; 0 where a frame was lost. */
  get worth(): number {
    return this.#lost.size === 0 && this.#located > 1 ? this.#parts().plainTrials : 0;
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
    const { noiseEquivalentPx, x, y, ...parts } = this.#parts();
    const rms = rootOf(withError(axesTogether(x.meanSquare, y.meanSquare)));
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
      errorByPhasePx: this.#errorByPhase(x.withoutChance, y.withoutChance),
      ...(this.#predictions > 0 ? { predictedPx: this.#predicted / this.#predictions } : {}),
    };
  }

  get #side(): number {
    return this.#setting.windowPx ?? this.#scene.windowPx;
  }

  get #run(): TallyRun {
    return {
      trial: this.#trial.subarray(0, this.#located),
      side: this.#side,
      remembers: this.warmUp > 0,
    };
  }

  /**
   * Response first, then what is left when it is taken off: by place the offset and its pixel phase, within a
   * place the scatter.
   */
  #parts() {
    const x = this.#x.parts(this.#run);
    const y = this.#y.parts(this.#run);
    const isUsable = ({ value, standardError }: Estimate) =>
      value >= leastResponse && value > 2 * standardError;
    const followsStar = isUsable(x.response) && isUsable(y.response);
    // Both axes err together, and so do scatter and response: what each trial adds is added up.
    const rootOfBoth = (a: SumWithTerms, b: SumWithTerms) => rootOf(withError(axesTogether(a, b)));
    const scatterPx = rootOfBoth(x.scatterSquare, y.scatterSquare);
    const plain = rootOfBoth(x.plainSquare, y.plainSquare).standardError;
    const parts = {
      x,
      y,
      offsetXPx: x.offset,
      offsetYPx: y.offset,
      pixelPhasePx: bothAxes(x.pixelPhase, y.pixelPhase),
      scatterXPx: x.scatter,
      scatterYPx: y.scatter,
      scatterPx,
      plainTrials:
        scatterPx.standardError > 0
          ? Math.round(this.#located * (plain / scatterPx.standardError) ** 2)
          : this.#located,
      responseX: x.response,
      responseY: y.response,
      followsStar,
    };
    if (!followsStar) return { ...parts, noiseEquivalentPx: undefined };
    const noiseEquivalentXPx = rootOf(withError(x.noiseEquivalent));
    const noiseEquivalentYPx = rootOf(withError(y.noiseEquivalent));
    const noiseEquivalentPx = rootOfBoth(x.noiseEquivalent, y.noiseEquivalent);
    return { ...parts, noiseEquivalentXPx, noiseEquivalentYPx, noiseEquivalentPx };
  }

  #prepare(setting: EstimatorSetting<AnyEstimator>): MeasureStar {
    return prepareEstimator(setting, this.#scene, this.#trials.backgroundSigma, { predictsError: false });
  }

  #predict({ pixels, background }: SimulatedFrame, start: Start): void {
    this.#measureWithError ??= prepareEstimator(this.#setting, this.#scene, this.#trials.backgroundSigma);
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
    const x = this.#x.error;
    const y = this.#y.error;
    const meanX = meanOf(x).value;
    const meanY = meanOf(y).value;
    const squared = x.map((value, i) => (value - meanX) ** 2 + (y[i] - meanY) ** 2);
    const median = kthSmallest(squared, n >> 1);
    // Median of dx^2 + dy^2 of a circular normal error: 2 ln 2 sigma^2.
    const limit = (outlierSigmas * outlierSigmas * median) / (2 * Math.LN2);
    let outliers = 0;
    for (let i = 0; i < n; i++) if (squared[i] > limit) outliers++;
    return fractionOf(outliers, n);
  }

  #errorByPhase(x: Float64Array, y: Float64Array): (Estimate | null)[] {
    const bins = Array.from({ length: phases }, () => [] as number[]);
    for (let i = 0; i < this.#located; i++) {
      const { phaseX, phaseY } = phaseOf(this.#trial[i]);
      bins[phaseX].push(x[i]);
      bins[phaseY].push(y[i]);
    }
    return bins.map((errors) => (errors.length > 1 ? meanOf(Float64Array.from(errors)) : null));
  }
}
