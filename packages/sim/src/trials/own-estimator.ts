/** An estimator of your own beside those of '@holdfast/centroid', and how a result names it. */
import type { Centroid, ImageSize, Noise, PreparedEstimator } from '@holdfast/centroid';
import { requireNames, requireText, shown } from '@holdfast/psf/numerics';
import { type EstimatorName, estimatorNames } from '../rig/rig-schema.ts';

/** What an own estimator is told when it is made ready. */
export interface OwnEstimatorOptions {
  /** Read and quantization noise of a pixel; the light in it, background included, adds its own. */
  readonly noise: Noise;
  /** 1 sigma error of the background that comes with each image, electrons, common to all its pixels. */
  readonly backgroundSigma: number;
  /** Whether `sigmaX` and `sigmaY` are looked at: leave them out where they take time. */
  readonly predictsError: boolean;
}

/** An estimator of your own. `estimatorPromises` of '@holdfast/centroid/contract' tests it. */
export interface OwnEstimator {
  /** Letters, digits and hyphens; not the name of one of ours. A sweep tells its estimators by it. */
  readonly name: string;
  /**
   * Make it ready for images of one size. What is returned measures an image (electrons, background
   * included), given where the star was last and the background to take off; it keeps no memory of it.
   */
  prepare(size: ImageSize, options: OwnEstimatorOptions): PreparedEstimator;
  /**
   * Address of a module whose default export is this estimator: workers load it from there. In that module it
   * is `import.meta.url`.
   */
  readonly module?: string;
}

/** One of ours by name, or your own. */
export type AnyEstimator = EstimatorName | OwnEstimator;

/** How results name an estimator. */
export type NameOf<Estimator extends AnyEstimator> = Estimator extends string ? Estimator : string;

export function isOwn(estimator: AnyEstimator): estimator is OwnEstimator {
  return typeof estimator === 'object';
}

export function nameOf<Estimator extends AnyEstimator>(estimator: Estimator): NameOf<Estimator> {
  return (isOwn(estimator) ? estimator.name : estimator) as NameOf<Estimator>;
}

/** @throws TypeError or RangeError naming the field of the estimator that is wrong */
export function requireOwnEstimator(estimator: OwnEstimator): OwnEstimator {
  requireNames('estimator', estimator, 'name prepare module');
  requireOwnName('estimator', estimator.name);
  if ((estimatorNames as readonly string[]).includes(estimator.name))
    throw new RangeError(`estimator.name must not be that of one of ours, got ${estimator.name}`);
  if (typeof estimator.prepare !== 'function')
    throw new TypeError(`estimator.prepare of '${estimator.name}' must be a function`);
  if (estimator.module !== undefined) requireText('estimator.module', estimator.module);
  return estimator;
}

/** A name that tables and files can hold as it is. */
export function requireOwnName(what: string, name: string): void {
  requireText(`${what}.name`, name);
  if (!/^[A-Za-z][\w-]{0,39}$/.test(name))
    throw new RangeError(
      `${what}.name must begin with a letter and hold at most 40 letters, digits, _ and -, got ${shown(name)}`,
    );
}

/** An own estimator made ready, with its answers checked. */
export function prepareOwnEstimator(
  { name, ...own }: OwnEstimator,
  size: ImageSize,
  options: OwnEstimatorOptions,
): PreparedEstimator {
  const measure = own.prepare(size, options);
  if (typeof measure !== 'function')
    throw new TypeError(`estimator.prepare of '${name}' must return a function, got ${shown(measure)}`);
  return (image, guess, background) => requireAnswer(name, measure(image, guess, background));
}

/** Never NaN, whoever wrote the estimator. */
function requireAnswer(name: string, found: Centroid): Centroid {
  if (found?.ok === false && typeof found.reason === 'string') return found;
  if (found?.ok !== true)
    throw new TypeError(
      `estimator '${name}' must give { ok: true, x, y, flux, ... } or { ok: false, reason }, got ${shown(found)}`,
    );
  const { x, y, flux, sigmaX = 0, sigmaY = 0 } = found;
  if (!Number.isFinite(x + y + flux + sigmaX + sigmaY) || sigmaX < 0 || sigmaY < 0)
    throw new RangeError(
      `estimator '${name}' must give finite numbers, got x ${x}, y ${y}, flux ${flux}, sigmaX ${sigmaX}, sigmaY ${sigmaY}`,
    );
  return found;
}
