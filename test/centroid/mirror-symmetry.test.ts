/** The centre of symmetry keeps the contract of all estimators, and does what its own text says. */
import {
  type EstimatorOptions,
  type Image,
  type MirrorSymmetryOptions,
  mirrorSymmetryCenter,
  prepareMirrorSymmetryCenter,
} from '@holdfast/centroid';
import { createImage, renderStar } from '@holdfast/psf';
import { describeEstimatorContract, type EstimatorFacts } from './estimator-contract.ts';

const size = { width: 31, height: 26 };
const star = (x: number, y: number, flux: number, fwhmPx = 3) =>
  renderStar({ kind: 'gaussian', fwhmPx }, { ...size, x, y, flux });

const facts = (own: MirrorSymmetryOptions): EstimatorFacts => ({
  measure: (image: Image, options?: EstimatorOptions) => mirrorSymmetryCenter(image, { ...own, ...options }),
  prepare: (at, options) => prepareMirrorSymmetryCenter(at, { ...own, ...options }),
  // The parabola-like sum of differences ends where the aperture cuts the star's wings: 3e-4 px at FWHM 2.5 px, 5e-4 px at 5.
  accuracyPx: 1e-3,
  repeatPx: 1e-6,
  scalesWithFlux: own.noise === undefined,
  // Only differences of pixels count. With a noise model the square root of a brighter pixel rises less: symmetric as well.
  onConstant: ({ x, y }) => ({ x, y }),
  onEqualPixels: 'no-flux',
  failures: {
    'too-few-pixels': [star(13, 12, 900), { guess: { x: 13, y: 12 }, radiusPx: 1.5 }],
    saturated: [star(13, 12, 5000), { saturationE: 300 }],
    'no-flux': [createImage(31, 26), {}],
    'too-faint': [star(13, 12, 40), { noise: { readNoiseE: 5 } }],
    'not-converged': [star(13, 12, 900), { guess: { x: 22, y: 12 }, recentre: 0 } as EstimatorOptions],
    clipped: [star(0, 12, 3000), { guess: { x: 0, y: 12 }, radiusPx: 6 }],
  },
  refused: [
    ['searchPx', { searchPx: 0.5 }],
    ['recentre', { recentre: -1 }],
  ],
});

// In an aperture that moves along with the star, what it cuts off is the same everywhere.
describeEstimatorContract('centre of symmetry', facts({ radiusPx: 9 }));
describeEstimatorContract('centre of symmetry, noise known', {
  ...facts({ radiusPx: 9, noise: { readNoiseE: 3, subtractedE: 20 } }),
  alwaysNoise: true,
});
