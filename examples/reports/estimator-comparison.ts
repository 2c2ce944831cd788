/**
 * Every estimator on the same frames of rings of all sizes, faint and bright, against the least possible
 * error.
 */

import {
  chooseEstimator,
  type PreparedEstimator,
  positionBound,
  prepareGaussianFit,
  type RatedEstimator,
} from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import {
  type Camera,
  createImage,
  pixelNoiseE,
  prepareExposure,
  prepareStar,
  randomStream,
  renderStar,
} from '@holdfast/psf';
import type { Progress } from '@holdfast/sim';

/** The star's blur and obstruction, and the light under it. */
export const scenery = { blurFwhmPx: 2.5, obstructionRatio: 0.35, backgroundE: 10 } as const;

const camera: Camera = {
  readNoiseE: 1.5,
  gainEPerAdu: 1,
  offsetAdu: 100,
  bitDepth: 16,
  fullWellE: 1e6,
};

const ringDiametersPx = [0, 5, 10, 20, 30, 40] as const;
const signalToNoiseRatios = [5, 15, 50, 150, 500] as const;

export type ComparedName = RatedEstimator['setting']['estimator'] | 'rotatedGaussianFit';

export const comparedNames: Record<ComparedName, string> = {
  centerOfMass: 'center of mass',
  thresholdedCenterOfMass: 'thresholded',
  weightedCenterOfMass: 'weighted',
  gaussianFit: 'Gaussian fit',
  rotatedGaussianFit: 'rotated Gaussian',
  pointSymmetryCenter: 'symmetry',
  crossCorrelation: 'correlation',
  templateFit: 'template fit',
};

export interface Compared {
  readonly estimator: ComparedName;
  /** Its window, threshold or weight. */
  readonly setting: Readonly<Record<string, unknown>>;
  /** Rms error of one axis, px; undefined when no frame gave a position. */
  readonly rmsPx: number | undefined;
  /** Over the least possible error, and its standard error. */
  readonly boundRatio: number | undefined;
  readonly boundRatioError: number | undefined;
  /** Mean error: the larger of x and y, px, and its standard error. */
  readonly biasPx: number | undefined;
  readonly biasErrorPx: number | undefined;
  /** Share of the frames without a position. */
  readonly lostFraction: number;
}

export interface ComparedCell {
  readonly outerDiameterPx: number;
  readonly snr: number;
  readonly fluxE: number;
  /** Least possible error, px. */
  readonly boundPx: number;
  readonly estimators: readonly Compared[];
}

export interface ComparisonOptions {
  readonly frames: number;
  readonly seed: string;
  readonly onProgress?: (progress: Progress) => void;
}

/** One cell a ring and signal-to-noise ratio, in order. */
export function compareEstimators({ frames, seed, onProgress }: ComparisonOptions): ComparedCell[] {
  const all = ringDiametersPx.length * signalToNoiseRatios.length;
  const cells: ComparedCell[] = [];
  for (const outerDiameterPx of ringDiametersPx)
    for (const snr of signalToNoiseRatios) {
      cells.push(compareOn(outerDiameterPx, snr, frames, seed));
      onProgress?.({ task: `ring of ${outerDiameterPx} px`, done: cells.length, total: all });
    }
  return cells;
}

/** Room around the ring for its blur and for windows that follow it, px. */
const roomPx = 8;

/** The settings are chosen for a star that is at least so bright: predictions hold no further down. */
const leastRatedSnr = 8;

function compareOn(outerDiameterPx: number, snr: number, frames: number, seed: string): ComparedCell {
  const { blurFwhmPx, obstructionRatio, backgroundE } = scenery;
  const side = outerDiameterPx + 2 * roomPx + 1;
  const size = { width: side, height: side };
  const middle = (side - 1) / 2;
  const shape = { kind: 'annulus', outerDiameterPx, obstructionRatio, blurFwhmPx } as const;
  const plan = prepareStar(shape, size);
  const readNoiseE = pixelNoiseE(camera);
  const star = createImage(side, side);
  plan.renderInto(star, middle + 0.2, middle + 0.1, 1);
  const fluxE = fluxFor(snr, star, readNoiseE);
  const boundPx = boundOf(star, fluxE, readNoiseE).sigmaX;

  const at = { x: middle + 0.25, y: middle + 0.15 };
  const flux = fluxFor(Math.max(snr, leastRatedSnr), star, readNoiseE);
  const rated = chooseEstimator(
    { expected: renderStar(shape, { ...size, ...at, flux }), at },
    { readNoiseE, backgroundE },
    { template: plan },
  );
  if (!rated.ok) throw new Error(rated.reason);
  const options = { noise: { readNoiseE }, background: backgroundE, guess: { x: middle, y: middle } };
  const tallies = (Object.keys(comparedNames) as ComparedName[]).flatMap((name) => {
    const isRotated = name === 'rotatedGaussianFit';
    const found = rated.rated.find(({ setting }) => setting.estimator === (isRotated ? 'gaussianFit' : name));
    if (found === undefined) return [];
    const { estimator: _, ...own } = found.setting;
    const shaped = { ...own, ...(isRotated ? { shape: 'rotated' as const } : {}) };
    const prepared = isRotated
      ? prepareGaussianFit(size, { ...shaped, ...options })
      : found.prepare(size, options);
    return [new Tally(name, shaped, prepared)];
  });

  const exposure = prepareExposure(camera, size);
  const expected = star.data;
  const frame = new Float64Array(side * side);
  for (let i = 0; i < frames; i++) {
    const random = randomStream(seed, 'estimators', outerDiameterPx, snr, i);
    const place = random.stream('place');
    const x = middle + place.uniform() - 0.5;
    const y = middle + place.uniform() - 0.5;
    plan.renderInto(expected, x, y, fluxE);
    for (let k = 0; k < expected.length; k++) expected[k] += backgroundE;
    exposure.exposeInto(frame, expected, random);
    for (const tally of tallies) tally.measure(frame, x, y);
  }
  return {
    outerDiameterPx,
    snr,
    fluxE,
    boundPx,
    estimators: tallies.map((tally) => tally.result(boundPx)),
  };
}

class Tally {
  readonly #name: ComparedName;
  readonly #setting: object;
  readonly #estimator: PreparedEstimator;
  #lost = 0;
  #count = 0;
  #sumX = 0;
  #sumY = 0;
  #squares = 0;

  constructor(name: ComparedName, setting: object, estimator: PreparedEstimator) {
    this.#name = name;
    this.#setting = setting;
    this.#estimator = estimator;
  }

  measure(frame: Float64Array, x: number, y: number): void {
    const found = this.#estimator(frame);
    if (!found.ok) {
      this.#lost++;
      return;
    }
    this.#count++;
    this.#sumX += found.x - x;
    this.#sumY += found.y - y;
    this.#squares += (found.x - x) ** 2 + (found.y - y) ** 2;
  }

  result(boundPx: number): Compared {
    const estimator = this.#name;
    const setting = Object.fromEntries(Object.entries(this.#setting).filter(([name]) => name !== 'template'));
    const n = this.#count;
    const lostFraction = this.#lost / (n + this.#lost);
    const rmsPx = n > 0 ? Math.sqrt(this.#squares / (2 * n)) : undefined;
    const none = rmsPx === undefined;
    return {
      estimator,
      setting,
      rmsPx,
      boundRatio: none ? undefined : rmsPx / boundPx,
      // 2 n errors, nearly normal
      boundRatioError: none ? undefined : rmsPx / boundPx / Math.sqrt(4 * n),
      biasPx: none ? undefined : Math.max(Math.abs(this.#sumX), Math.abs(this.#sumY)) / n,
      biasErrorPx: none ? undefined : rmsPx / Math.sqrt(n),
      lostFraction,
    };
  }
}

function boundOf(star: Image, fluxE: number, readNoiseE: number) {
  const bright = createImage(
    star.shape[1],
    star.shape[0],
    star.data.map((share) => share * fluxE),
  );
  return positionBound(bright, { readNoiseE, backgroundE: scenery.backgroundE });
}

/** Electrons at which the flux stands out of its own least error so many times. */
function fluxFor(snr: number, star: Image, readNoiseE: number): number {
  let low = 1;
  let high = 1e8;
  for (let i = 0; i < 60; i++) {
    const flux = Math.sqrt(low * high);
    if (boundOf(star, flux, readNoiseE).snr < snr) low = flux;
    else high = flux;
  }
  return low;
}
