/**
 * Rigs at random within what is usual, the same on every machine. One in 25 draws its star by diffraction, as
 * rigs do when nothing is said; the others by rays, which take a tenth of the time and have errors of the
 * same size.
 */
import { randomStream } from '@holdfast/psf';
import { type Rig, startRig } from '@holdfast/sim';

const methods = ['centerOfMass', 'weightedCenterOfMass', 'thresholdedCenterOfMass'] as const;

export function randomRigs(count: number): Rig[] {
  const random = randomStream('random rigs');
  const within = (low: number, high: number) => low + (high - low) * random.uniform();
  return Array.from({ length: count }, (_, i) => {
    const apertureMm = within(60, 200);
    return startRig({
      apertureMm,
      focalLengthMm: apertureMm * within(4, 10),
      pixelSizeUm: within(2.9, 6),
      binning: random.uniform() < 0.25 ? 2 : 1,
      magnitude: within(13.5, 15.5),
      known: {
        starModel: i % 25 === 0 ? 'auto' : 'geometric',
        'telescope.obstructionRatio': random.uniform() < 0.4 ? 0 : within(0.2, 0.5),
        'guideCamera.exposureS': within(1, 4),
        'guideCamera.readNoiseE': within(1, 5),
        'guideCamera.gainEPerAdu': within(0.5, 2),
        'sky.seeingFwhmArcsec': within(1.5, 4),
        'sky.skyMagPerArcsec2': within(18.5, 21.5),
        'tracking.otherRmsArcsec': within(0.25, 1),
        'tracking.estimator': methods[Math.min(2, Math.floor(6 * random.uniform()))],
      },
    }).rig;
  });
}
