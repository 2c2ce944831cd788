/**
 * The template fit reaches the least possible error on rings: in photon noise, against a strong background,
 * and between. Numbers are for infinitely fine pixels; drawn on pixels of 1 px they hold when the pixel's
 * variance of 1/12 px^2 is taken from the blur.
 */
import {
  predictError,
  prepareCenterOfMass,
  preparePointSymmetryCenter,
  prepareTemplateFit,
} from '@holdfast/centroid';
import { prepareStar, randomStream, renderStar } from '@holdfast/psf';
import { describe, test } from 'vitest';
import { fillNoisyFrame, statisticsOf } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { sigmaPerFwhm } from './expected-star.ts';

const source = 'derived, confirmed numerically';
const flux = 1e4;

// R, obstruction ratio, s, px; photon-limited bound * sqrt(N), background-limited bound * N / noise, and the
// bound at N = 1e4 on a background of 100 per pixel, px; error of the center of mass * sqrt(N) in photon
// noise, px
const rows = [
  [5, 0.3, 1.5, 2.64389, 46.141, 0.056706, 3.0104],
  [10, 0.3, 1.5, 3.53052, 107.04, 0.115768, 5.43139],
  [20, 0.5, 1.5, 4.09324, 224.826, 0.23065, 11.28051],
] as const;

/** The ring of a row on its stamp: it may stand anywhere in the middle pixel. */
function stampOf([R, obstructionRatio, s]: (typeof rows)[number]) {
  const side = 2 * Math.ceil(R + 5 * s) + 1;
  const blurFwhmPx = Math.sqrt(s * s - 1 / 12) / sigmaPerFwhm;
  return {
    side,
    size: { width: side, height: side },
    middle: (side - 1) / 2,
    radiusPx: R + 4 * s,
    shape: { kind: 'annulus', outerDiameterPx: 2 * R, obstructionRatio, blurFwhmPx } as const,
  };
}

/** Errors along both axes over frames of a star anywhere in the middle pixel. */
function errorsOf(
  row: (typeof rows)[number],
  label: string,
  number: number,
  draw: (frame: Float64Array, expected: Float64Array, random: ReturnType<typeof randomStream>) => void,
  estimators: readonly (readonly [
    string,
    (size: { width: number; height: number }, star: StarAt) => Measure,
  ])[],
) {
  const { side, size, middle, radiusPx, shape } = stampOf(row);
  const plan = prepareStar(shape, size);
  const measures = estimators.map(([name, prepare]) => ({
    name,
    measure: prepare(size, { plan, radiusPx, at: { x: middle, y: middle } }),
    errors: [] as number[],
  }));
  const expected = new Float64Array(side * side);
  const frame = new Float64Array(side * side);
  for (let i = 0; i < number; i++) {
    const random = randomStream('ring fit', row[0], label, i);
    const x = middle + random.uniform() - 0.5;
    const y = middle + random.uniform() - 0.5;
    plan.renderInto(expected, x, y, flux);
    draw(frame, expected, random);
    for (const { name, measure, errors } of measures) {
      const found = measure(frame);
      if (!found.ok) throw new Error(`${name}: ${found.reason}`);
      errors.push(found.x - x, found.y - y);
    }
  }
  return Object.fromEntries(measures.map(({ name, errors }) => [name, statisticsOf(errors)]));
}

interface StarAt {
  readonly plan: ReturnType<typeof prepareStar>;
  readonly radiusPx: number;
  readonly at: { readonly x: number; readonly y: number };
}
type Measure = ReturnType<typeof prepareTemplateFit | typeof prepareCenterOfMass>;

for (const row of rows) {
  const [R, epsilon, s, photons, background, mixed, mass] = row;
  // A scatter 3 %, 4 % and 5 % off the bound is noticed: the larger the stamp, the fewer frames.
  const frames = 20_000 / R;
  describe(`ring of R = ${R} px, obstruction ${epsilon}, blur ${s} px rms, ${frames} frames`, () => {
    const check = (
      { scatter, scatterError, mean, meanError }: ReturnType<typeof statisticsOf>,
      bound: number,
      secondOrder: number,
    ) => {
      expectWithin(
        scatter,
        bound,
        3 * scatterError + secondOrder * bound,
        '3 standard errors, and second order',
      );
      expectWithin(mean, 0, 4 * meanError, 'no bias: 4 standard errors');
    };

    test(`photons alone: the bound ${photons} px / sqrt(N) is reached; the center of mass has ${mass} [${source}]`, () => {
      const noise = { readNoiseE: 0 };
      const found = errorsOf(
        row,
        'photons',
        frames,
        (frame, expected, random) => fillNoisyFrame(frame, expected, {}, random),
        [
          [
            'fit',
            (size, { plan, at }) =>
              prepareTemplateFit(size, { template: plan, noise, guess: at, fitBackground: false }),
          ],
          ['mass', (size) => prepareCenterOfMass(size)],
        ],
      );
      check(found['fit'], photons / Math.sqrt(flux), 0.003);
      check(found['mass'], mass / Math.sqrt(flux), 0.003);
    });

    test('photons alone, without a template: the center of symmetry comes near the bound', () => {
      const noise = { readNoiseE: 0 };
      const { symmetry } = errorsOf(
        row,
        'photons',
        400,
        (frame, expected, random) => fillNoisyFrame(frame, expected, {}, random),
        [
          [
            'symmetry',
            (size, { radiusPx, at }) => preparePointSymmetryCenter(size, { noise, guess: at, radiusPx }),
          ],
        ],
      );
      const { size, middle, radiusPx, shape } = stampOf(row);
      const at = { x: middle, y: middle };
      const predicted = predictError(renderStar(shape, { ...size, ...at, flux }), {
        estimator: 'pointSymmetryCenter',
        radiusPx,
        at,
        noise: { readNoiseE: 0 },
      });
      if (!predicted.ok) throw new Error(predicted.reason);
      expectWithin(
        symmetry.scatter / predicted.sigmaX,
        1,
        (3.5 * symmetry.scatterError) / predicted.sigmaX + 0.02,
        '3.5 standard errors of what error propagation predicts, and third order',
      );
      expectWithin(
        (photons / Math.sqrt(flux) / predicted.sigmaX) ** 2,
        0.9,
        0.15,
        'near the bound, not below',
      );
      expectWithin(symmetry.mean, 0, 4 * symmetry.meanError, 'no bias: 4 standard errors');
    });

    test(`background of 100 electrons: the bound ${mixed} px at 1e4 electrons is reached [${source}]`, () => {
      const noise = { readNoiseE: 0, backgroundE: 100 };
      const found = errorsOf(
        row,
        'mixed',
        frames,
        (frame, expected, random) => fillNoisyFrame(frame, expected, { backgroundE: 100 }, random),
        [['fit', (size, { plan, at }) => prepareTemplateFit(size, { template: plan, noise, guess: at })]],
      );
      check(found['fit'], mixed, R === 20 ? 0.012 : 0.006);
    });

    test(`read noise alone: the bound ${background} px * noise / N is reached [${source}]`, () => {
      // So that the error is 0.06 px
      const readNoiseE = (0.06 * flux) / background;
      // The star's photons left out, as the row has them: normal noise, and the fit told of no more than a
      // little of theirs
      const noise = { readNoiseE: 1e3 * readNoiseE };
      const found = errorsOf(
        row,
        'background',
        frames,
        (frame, expected, random) => {
          for (let k = 0; k < frame.length; k++)
            frame[k] = 1e3 * (expected[k] + readNoiseE * random.normal());
        },
        [['fit', (size, { plan, at }) => prepareTemplateFit(size, { template: plan, noise, guess: at })]],
      );
      check(found['fit'], 0.06, 0.004);
    });
  });
}
