/**
 * The center of mass of an image is the mean slope of the wavefront over the pupil, in any plane near focus
 * (Teague 1982, JOSA 72, 1199; Mahajan 1985, JOSA A 2, 833, from memory). For a sharp-edged pupil the image's
 * own first moment comes near it only as 1 / window, and a window that clips the ring makes it useless.
 */
import { lightCentroid, type Wavefront } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';
import { windowCentroids } from './window-centroid.ts';

const source =
  'sums over the FFT of a sampled pupil, points 1/8 lambda F apart, by an independent program (derived, not printed)';

/**
 * W = coma rho^3 cos(theta) + defocus rho^2 in waves; center of mass in lambda F within |x|, |y| <= 5, 10,
 * 20, 40; the whole.
 */
const table = [
  [0, 0.25, 0, [0.4516, 0.4767, 0.4886, 0.4944], 0.5],
  [0, 0.5, 0, [0.8923, 0.9521, 0.977, 0.9887], 1],
  [0, 1, 0, [1.6624, 1.89, 1.9525, 1.9773], 2],
  [0, 0.5, 1, [0.6574, 0.932, 0.9751, 0.9885], 1],
  [0, 0.5, 3, [-0.5377, -0.0148, 0.9476, 0.9866], 1],
  [0.3, 0.5, 0, [0.982, 1.0431, 1.0681, 1.0795], 1.09],
  [0.3, 0.5, 3, [-0.937, -0.0163, 1.0361, 1.0771], 1.09],
] as const;

/** The two widest windows of three of the rows, on coarser pixels: their edges lie in the dark. */
const wide = [
  [0, 0.5, 0, [0.9945, 0.996]],
  [0, 0.5, 3, [0.9943, 0.9959]],
  [0.3, 0.5, 3, [1.0849, 1.0865]],
] as const;

const waves = (coma: number, defocus: number): Wavefront => ({
  seidelNm: { coma: 500 * coma, defocus: 500 * defocus },
});

for (const [obstructionRatio, coma, defocus, values, whole] of table)
  describe(`obstruction ${obstructionRatio}, coma ${coma}, defocus ${defocus} waves`, () => {
    const halfSides = [5, 10, 20, 40];
    const pupil = { obstructionRatio };
    const wavefront = waves(coma, defocus);
    const ours = windowCentroids({ pupil, wavefront, halfSides, pixel: 1 / 8 });
    values.forEach((value, k) => {
      checkPublished(
        {
          what: `center of mass within ${halfSides[k]} lambda F, lambda F`,
          value,
          tolerance: 2e-3,
          source,
          note: 'that pupil had black and white edges on 256 samples; where the window clips the ring, the sign is wrong',
        },
        () => ours[k],
      );
    });
    checkPublished(
      {
        what: 'center of mass of all light, lambda F',
        value: whole,
        tolerance: 1e-12,
        source: 'Mahajan 1985: 2 F A (1 + e^2) (derived)',
        note: 'quadrature is exact for polynomials; defocus makes no difference',
      },
      () => lightCentroid({ pupil, wavefront, fNumber: 2 }).xUm,
    );
  });

for (const [obstructionRatio, coma, defocus, values] of wide)
  describe(`wide windows: obstruction ${obstructionRatio}, coma ${coma}, defocus ${defocus} waves`, () => {
    const halfSides = [80, 128];
    const wavefront = waves(coma, defocus);
    const ours = windowCentroids({ pupil: { obstructionRatio }, wavefront, halfSides, pixel: 1 / 2 });
    values.forEach((value, k) => {
      checkPublished(
        {
          what: `center of mass within ${halfSides[k]} lambda F, lambda F`,
          value,
          tolerance: 1e-3,
          source,
          note: 'there the light beyond the field of 256 lambda F was folded back, here it is left out',
        },
        () => ours[k],
      );
    });
  });
