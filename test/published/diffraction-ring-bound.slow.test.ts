/**
 * Least position error of an out-of-focus star as waves make it: photons alone, one wavelength. Information
 * sits in the dark fringes and far out in the wings, so the sums over pixels and windows are carried on to
 * fine pixels and an endless field.
 */
import { positionBound, prepareTemplateFit } from '@holdfast/centroid';
import { prepareStar, randomStream } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { fillNoisyFrame, statisticsOf } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { expectedStar } from './expected-star.ts';
import { checkPublished } from './published.ts';
import { unitShape } from './star-profile.ts';

const source =
  'independent numerical integration over radius with the tail extrapolated (derived, not printed; good to 1 % up to 1 wave, 3 % beyond)';

/**
 * Information of one photon on x, (D / lambda)^2, within |x|, |y| <= half lambda F on pixels of 1 /
 * perLambdaF.
 */
function information(obstructionRatio: number, waves: number, half: number, perLambdaF: number): number {
  const side = 2 * half * perLambdaF + 1;
  const shape = {
    ...unitShape({ obstructionRatio }, { seidelNm: { defocus: 500 * waves } }),
    pixelSizeUm: 1 / perLambdaF,
  };
  const middle = half * perLambdaF;
  const star = expectedStar(shape, { side, x: middle, y: middle, flux: 1 });
  return (perLambdaF / positionBound(star, { readNoiseE: 0 }).sigmaX) ** 2;
}

describe('bound * sqrt(N), lambda / D', () => {
  // Obstruction ratio, waves of defocus at the rim; the bound
  for (const [obstructionRatio, waves, bound] of [
    [0, 0, 0.3183],
    [0.5, 0, 0.2847],
    [0, 0.5, 0.6369],
    [0.3, 0.5, 0.5816],
    [0.5, 1, 0.844],
    [0.3, 1, 0.8647],
    [0.3, 2, 1.162],
  ])
    checkPublished(
      {
        what: `obstruction ${obstructionRatio}, ${waves} waves`,
        value: bound,
        tolerance: 0.02 * bound,
        source: waves === 0 ? 'lambda / (pi D sqrt((1 + e^2) N)), textbook' : source,
        note: 'what lies beyond the window falls as 1 / window, and pixels hide the dark fringes by some power of their side',
      },
      () => {
        const coarse = information(obstructionRatio, waves, 10, 8);
        const fine = information(obstructionRatio, waves, 10, 16);
        const finest = information(obstructionRatio, waves, 10, 32);
        const ratio = (fine - coarse) / (finest - fine);
        const pointLike = finest + (finest - fine) / (ratio - 1);
        const near = information(obstructionRatio, waves, 20, 8);
        const far = information(obstructionRatio, waves, 40, 8);
        return 1 / Math.sqrt((2 * far - near) * (pointLike / coarse));
      },
    );
});

test('a fit of the diffraction image itself reaches the bound of its pixels: 2 waves, obstruction 0.35, pixels of 0.8 lambda F', () => {
  const side = 35;
  const size = { width: side, height: side };
  const shape = {
    ...unitShape({ obstructionRatio: 0.35 }, { seidelNm: { defocus: 1000 } }),
    pixelSizeUm: 0.8,
  };
  const noise = { readNoiseE: 1.5, backgroundE: 8 };
  const flux = 8000;
  const bound = positionBound(expectedStar(shape, { side, x: 17.2, y: 16.9, flux }), noise).sigmaX;
  const plan = prepareStar(shape, size);
  const measure = prepareTemplateFit(size, {
    template: plan,
    noise: { readNoiseE: 1.5, backgroundE: 8 },
    guess: { x: 17, y: 17 },
  });
  const expected = new Float64Array(side * side);
  const frame = new Float64Array(side * side);
  const errors: number[] = [];
  // A scatter 7 % off the bound is noticed.
  for (let i = 0; i < 900; i++) {
    const random = randomStream('diffraction ring', i);
    const x = 16.5 + random.uniform();
    const y = 16.5 + random.uniform();
    plan.renderInto(expected, x, y, flux);
    fillNoisyFrame(frame, expected, noise, random);
    const found = measure(frame);
    if (!found.ok) throw new Error(found.reason);
    errors.push(found.x - x, found.y - y);
  }
  const { scatter, scatterError, mean, meanError } = statisticsOf(errors);
  // The bound depends on the place in the pixel by some 1 %: fringes against pixels.
  expectWithin(
    scatter / bound,
    1,
    (3.5 * scatterError) / bound + 0.012,
    '3.5 standard errors, and the place in the pixel',
  );
  expectWithin(mean, 0, 4 * meanError, 'no bias: 4 standard errors');
});
