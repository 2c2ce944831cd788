/**
 * The library against a program that shares nothing with it: `closed_loop.py` beside this file (numpy alone)
 * goes from photons to the picture by its own formulas, and `closed_loop.json` holds what it printed, with
 * standard errors.
 */
import { readFileSync } from 'node:fs';
import { prepareThresholdedCenterOfMass } from '@holdfast/centroid';
import { prepareStar, randomStream } from '@holdfast/psf';
import { buildScene, measureError, type Scene } from '@holdfast/sim';
import { describe, test } from 'vitest';
import { fwhmPerSigma } from '../../packages/sim/src/budget/budget.ts';
import { loopNoiseFactor } from '../../packages/sim/src/motion/guide-loop.ts';
import { fillNoisyFrame } from '../centroid/noisy-frames.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from '../sim/small-rig.ts';

interface Known {
  readonly value: number;
  readonly standardError: number;
}

interface Independent {
  readonly case: Record<
    | 'outerDiameterPx'
    | 'obstructionRatio'
    | 'blurFwhmPx'
    | 'fluxE'
    | 'backgroundE'
    | 'readNoiseE'
    | 'thresholdSigma'
    | 'proportionalGain'
    | 'airPx'
    | 'pictureFwhmPx',
    number
  >;
  readonly results: readonly ({ readonly halfWindowPx: number } & Record<
    'scatterPx' | 'response' | 'residualPx' | 'growthPercent',
    Known
  >)[];
}

const independent: Independent = JSON.parse(
  readFileSync(new URL('closed_loop.json', import.meta.url), 'utf8'),
);
const star = independent.case;

/** Places in the pixel at which the star rests, and frames about each. */
const rests = 20;
const frames = 200;

/**
 * Slope of the measured place against the true one about each rest, and rms about that slope, each with its
 * standard error.
 */
function measureWindow(half: number, motionPx: number): { response: Known; scatterPx: Known } {
  const side = 2 * half + 1;
  const size = { width: side, height: side };
  const plan = prepareStar(
    {
      kind: 'annulus',
      outerDiameterPx: star.outerDiameterPx,
      obstructionRatio: star.obstructionRatio,
      blurFwhmPx: star.blurFwhmPx,
    },
    size,
  );
  const measure = prepareThresholdedCenterOfMass(size, {
    thresholdSigma: star.thresholdSigma,
    noise: { readNoiseE: star.readNoiseE, backgroundE: star.backgroundE },
  });
  const expected = new Float64Array(side * side);
  const frame = new Float64Array(side * side);
  const perRest: { slope: number; squares: number }[] = [];
  for (let rest = 0; rest < rests; rest++) {
    const random = randomStream('independent', half, rest);
    const x0 = half + random.uniform() - 0.5;
    const y0 = half + random.uniform() - 0.5;
    const pairs: { true: number; found: number }[][] = [[], []];
    for (let i = 0; i < frames; i++) {
      const dx = motionPx * random.normal();
      const dy = motionPx * random.normal();
      plan.renderInto(expected, x0 + dx, y0 + dy, star.fluxE);
      fillNoisyFrame(frame, expected, star, random);
      const located = measure(frame);
      if (!located.ok) throw new Error(located.reason);
      pairs[0].push({ true: dx, found: located.x });
      pairs[1].push({ true: dy, found: located.y });
    }
    const slopes = pairs.map(slopeOf);
    perRest.push({
      slope: (slopes[0].slope + slopes[1].slope) / 2,
      squares: (slopes[0].squares + slopes[1].squares) / 2,
    });
  }
  const squares = meanOf(perRest.map((each) => each.squares));
  const scatter = Math.sqrt(squares.value);
  return {
    response: meanOf(perRest.map((each) => each.slope)),
    scatterPx: { value: scatter, standardError: squares.standardError / (2 * scatter) },
  };
}

/** Least squares with a constant: the slope, and the variance about the line. */
function slopeOf(pairs: readonly { true: number; found: number }[]): { slope: number; squares: number } {
  const meanTrue = pairs.reduce((sum, each) => sum + each.true, 0) / pairs.length;
  const meanFound = pairs.reduce((sum, each) => sum + each.found, 0) / pairs.length;
  let both = 0;
  let own = 0;
  for (const each of pairs) {
    both += (each.true - meanTrue) * (each.found - meanFound);
    own += (each.true - meanTrue) ** 2;
  }
  const slope = both / own;
  let squares = 0;
  for (const each of pairs) squares += (each.found - meanFound - slope * (each.true - meanTrue)) ** 2;
  return { slope, squares: squares / (pairs.length - 2) };
}

function meanOf(values: readonly number[]): Known {
  const value = values.reduce((sum, v) => sum + v, 0) / values.length;
  const squares = values.reduce((sum, v) => sum + (v - value) ** 2, 0) / (values.length - 1);
  return { value, standardError: Math.sqrt(squares / values.length) };
}

function expectAgreement(ours: Known, theirs: Known): void {
  const together = Math.hypot(ours.standardError, theirs.standardError);
  expectWithin(ours.value, theirs.value, 3 * together, '3 standard errors of both');
}

describe('a ring of 24 px, from photons to the picture', () => {
  for (const { halfWindowPx, scatterPx, response, residualPx, growthPercent } of independent.results) {
    const measured = measureWindow(halfWindowPx, Math.hypot(star.airPx, residualPx.value));
    const window = `window of +-${halfWindowPx} px`;
    test(`${window}: scatter and response`, () => {
      expectAgreement(measured.scatterPx, scatterPx);
      expectAgreement(measured.response, response);
    });

    test(`${window}: what the loop makes of noise and air`, () => {
      const { value: r } = measured.response;
      const noise = measured.scatterPx.value / r;
      const residual = loopNoiseFactor(star.proportionalGain * r) * Math.hypot(noise, star.airPx);
      // To first order both enter by their own share; 1 % of scatter or of response is 0.6 % of the residual
      // at most.
      const own =
        0.6 *
        residual *
        Math.hypot(
          measured.scatterPx.standardError / measured.scatterPx.value,
          measured.response.standardError / r,
        );
      expectAgreement({ value: residual, standardError: own }, residualPx);
    });

    test(`${window}: growth of the picture's stars by that residual`, () => {
      const blur = (fwhmPerSigma * residualPx.value) / star.pictureFwhmPx;
      const growth = 100 * (Math.sqrt(1 + blur ** 2) - 1);
      const own = (100 * blur ** 2 * residualPx.standardError) / residualPx.value;
      expectAgreement({ value: growth, standardError: own }, growthPercent);
    });
  }

  test('the trials of a rig whose star is that ring, in a window that holds it', () => {
    const [{ scatterPx, response }] = independent.results;
    const scene = sceneOfTheCase(41);
    expectWithin(scene.outerDiameterPx, star.outerDiameterPx, 1e-9, 'as set up');
    expectWithin(scene.blurFwhmPx, star.blurFwhmPx, 1e-9, 'as set up');
    expectWithin(scene.backgroundE, star.backgroundE, 1e-9, 'as set up');
    expectWithin(scene.pixelNoiseE, star.readNoiseE, 1e-3, 'and the steps of the converter');
    const error = measureError(scene, { estimator: 'thresholdedCenterOfMass', seed: 3, trials: 2048 });
    if (!error.scatterPx || !error.responseX || !error.responseY) throw new Error('lost');
    expectAgreement(error.scatterPx, scatterPx);
    expectAgreement(error.responseX, response);
    expectAgreement(error.responseY, response);
  });
});

/**
 * A rig and a focus shift at which the guide star is the ring of the case: seeing, dark current and focus
 * shift solved for.
 */
function sceneOfTheCase(windowPx: number): Scene {
  const { obstructionRatio, fluxE } = star;
  const rigFor = (seeingFwhmArcsec: number, darkEPerS: number) =>
    smallRig({
      guideCamera: {
        pixelSizeUm: 4,
        exposureS: 2,
        readNoiseE: star.readNoiseE,
        darkEPerS,
        gainEPerAdu: 0.1,
        bitDepth: 16,
        fullWellE: 60_000,
      },
      sky: { seeingFwhmArcsec, skyMagPerArcsec2: 22 },
      tracking: { windowPx, thresholdSigma: star.thresholdSigma },
    });
  const sharp = buildScene(rigFor(3, 0), { focusShiftUm: 100, obstructionRatio });
  const airyFwhm2 = sharp.blurFwhmPx ** 2 - (3 / sharp.arcsecPerPx) ** 2;
  const seeing = sharp.arcsecPerPx * Math.sqrt(star.blurFwhmPx ** 2 - airyFwhm2);
  const rig = rigFor(seeing, (star.backgroundE - sharp.backgroundE) / 2);
  return buildScene(rig, {
    focusShiftUm: (100 * star.outerDiameterPx) / sharp.outerDiameterPx,
    obstructionRatio,
    fluxE,
  });
}
