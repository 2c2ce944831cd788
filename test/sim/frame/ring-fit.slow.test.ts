/** Errors that the ring fit states, held to those of many noisy rings. */
import { randomStream } from '@holdfast/psf';
import { test } from 'vitest';
import type { Estimate } from '../../../packages/sim/src/trials/statistics.ts';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';
import { expected, exposed, found, plain, type Truth } from './drawn-ring.ts';

/** Deviations of many noisy fits from the truth in units of their stated errors. */
function pulls(truth: Truth, trials: number): Record<'D' | 'ratio' | 'blur' | 'x' | 'y' | 'flux', number[]> {
  const out = { D: [], ratio: [], blur: [], x: [], y: [], flux: [] } as Record<string, number[]>;
  const place = randomStream('ring fit', 'place', truth.flux);
  const pull = ({ value, standardError }: Estimate, reference: number) => (value - reference) / standardError;
  for (let trial = 0; trial < trials; trial++) {
    const at = { x: truth.x + place.uniform() - 0.5, y: truth.y + place.uniform() - 0.5 };
    const fit = found(exposed(expected({ ...truth, ...at }), 5, truth.flux, trial));
    out['D']!.push(pull(fit.outerDiameterPx, truth.outerDiameterPx));
    out['ratio']!.push(pull(fit.obstructionRatio, truth.obstructionRatio));
    out['blur']!.push(pull(fit.blurFwhmPx, truth.blurFwhmPx));
    out['x']!.push(pull(fit.x, at.x));
    out['y']!.push(pull(fit.y, at.y));
    out['flux']!.push(pull(fit.fluxE, truth.flux));
  }
  return out;
}

test.each([50_000, 8000])('the stated errors are those of trials, %i electrons', (flux) => {
  const trials = 60;
  for (const [name, values] of Object.entries(pulls({ ...plain, flux }, trials))) {
    const mean = values.reduce((sum, value) => sum + value, 0) / trials;
    const rms = Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / trials);
    expectWithinSigmas(mean, 0, 1 / Math.sqrt(trials), 4);
    // the rms of 60 normal numbers scatters by 1 / sqrt(120) = 0.09; the errors are themselves estimates
    expectWithin(rms, 1, 0.3, `rms of ${name} over its stated error, 60 trials`);
  }
});

test('an uneven ring has errors that cover its unevenness', () => {
  // light uneven by a quarter in patches of the size of the blur, without which it would be measured to
  // 0.02 px
  const trials = 30;
  const truth: Truth = {
    ...plain,
    width: 65,
    height: 69,
    x: 31.7,
    y: 33.6,
    outerDiameterPx: 46,
    flux: 2e6,
  };
  let [squares, ratioSquares] = [0, 0];
  for (let trial = 0; trial < trials; trial++) {
    const image = expected(truth);
    const patches = smoothField(65, 69, truth.blurFwhmPx, trial);
    for (let k = 0; k < image.data.length; k++)
      image.data[k] = 20 + (image.data[k]! - 20) * Math.max(0, 1 + 0.25 * patches[k]!);
    const fit = found(exposed(image, 7, 'uneven', trial));
    expectWithin(fit.unevenness, 0.25, 0.08, 'told from some sixty patches');
    squares += ((fit.outerDiameterPx.value - 46) / fit.outerDiameterPx.standardError) ** 2;
    ratioSquares += ((fit.obstructionRatio.value - 0.4) / fit.obstructionRatio.standardError) ** 2;
  }
  // the rms of 30 normal numbers scatters by 1 / sqrt(60) = 0.13
  expectWithin(Math.sqrt(squares / trials), 1, 0.4, 'rms of the diameter over its stated error');
  expectWithin(Math.sqrt(ratioSquares / trials), 1, 0.4, 'rms of the ratio over its stated error');
});

/** Normal noise of rms 1 smoothed by a Gaussian of this FWHM. */
function smoothField(width: number, height: number, fwhmPx: number, trial: number): Float64Array {
  const random = randomStream('patches', trial);
  const sigma = fwhmPx / 2.354820045;
  const reach = Math.ceil(4 * sigma);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) =>
    Math.exp(-((i - reach) ** 2) / (2 * sigma * sigma)),
  );
  const power = kernel.reduce((sum, value) => sum + value * value, 0);
  const noiseField = Float64Array.from({ length: width * height }, () => random.normal());
  const pass = (from: Float64Array, stepX: number, stepY: number) =>
    from.map((_, k) => {
      const x = k % width;
      const y = Math.floor(k / width);
      let sum = 0;
      for (let i = -reach; i <= reach; i++)
        sum +=
          kernel[i + reach]! *
          from[((y + i * stepY + height) % height) * width + ((x + i * stepX + width) % width)]!;
      return sum;
    });
  return pass(pass(noiseField, 1, 0), 0, 1).map((value) => value / power);
}
