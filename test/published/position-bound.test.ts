/** The least possible error of a Gaussian star on pixels: sums over pixels, and their limits. */
import { positionBound } from '@holdfast/centroid';
import { createImage, type Image, renderStar } from '@holdfast/psf';
import { describe } from 'vitest';
import { expectedStar, gaussian, sigmaPerFwhm } from './expected-star.ts';
import { checkPublished } from './published.ts';

const winick =
  'Winick 1986, J. Opt. Soc. Am. A 3, 1809: J = sum (dI/dx)^2 / (I + R^2); confirmed numerically';
const mortensen =
  'Mortensen et al. 2010, Nat. Methods 7, 377: maximum likelihood, s_a^2 = s^2 + 1/12; confirmed numerically';
const mendez = 'Mendez, Silva & Lobos 2013, PASP 125, 580 (1-D detector; from memory); confirmed numerically';
const photons = 'textbook: sigma / sqrt(N)';

describe('pixel sums, 1000 electrons', () => {
  // sigma and offset from the pixel center, px; then the bound at background 0, read noise 0; 10, 0; 10, 5,
  // px
  const table = [
    [0.3, 0, 0.014742, 0.016997, 0.020733],
    [0.3, 0.25, 0.013022, 0.014036, 0.015133],
    [0.3, 0.5, 0.011828, 0.012223, 0.012731],
    [0.5, 0, 0.0183, 0.020233, 0.023226],
    [0.5, 0.5, 0.018195, 0.020482, 0.022932],
    [0.75, 0, 0.025412, 0.029916, 0.035389],
    [1, 0, 0.032914, 0.040928, 0.051048],
    [1.5, 0, 0.048305, 0.067691, 0.091755],
    [1.5, 0.37, 0.048305, 0.067691, 0.091755],
    [2, 0, 0.063901, 0.100716, 0.145913],
    [3, 0, 0.095307, 0.187027, 0.296569],
  ];
  for (const [sigma, offset, ...bounds] of table) {
    const star = expectedStar(gaussian(sigma), { side: 61, x: 30 + offset, y: 30, flux: 1000 });
    const noises = [
      { backgroundE: 0, readNoiseE: 0 },
      { backgroundE: 10, readNoiseE: 0 },
      { backgroundE: 10, readNoiseE: 5 },
    ];
    noises.forEach((noise, i) => {
      checkPublished(
        {
          what: `bound at sigma ${sigma} px, ${offset} px off the pixel center, background ${noise.backgroundE}, read noise ${noise.readNoiseE}, px`,
          value: bounds[i],
          tolerance: 1e-6,
          source: winick,
          note: 'half a unit of the last of six decimals, and the gradient by difference: 2e-6 of the bound',
        },
        () => positionBound(star, noise).sigmaX,
      );
    });
  }
});

describe('fine pixels', () => {
  // The star drawn 8 times as large: a pixel of 1/8 px adds 1/768 px^2 to its variance.
  const scale = 8;
  for (const [sigma, flux, bound] of [
    [1.5, 1000, 0.047434],
    [2, 10000, 0.02],
    [3, 200, 0.212132],
  ])
    checkPublished(
      {
        what: `bound at sigma ${sigma} px and ${flux} photons without other noise, px`,
        value: bound,
        tolerance: bound * (1 / (2 * 768 * sigma * sigma) + 1e-5),
        source: photons,
        note: 'the rest of the pixel: 1 / (1536 sigma^2)',
      },
      () => {
        const side = 2 * Math.ceil(8 * scale * sigma) + 1;
        const middle = (side - 1) / 2;
        const star = renderStar(gaussian(scale * sigma), {
          width: side,
          height: side,
          x: middle,
          y: middle,
          flux,
        });
        return positionBound(star, { readNoiseE: 0 }).sigmaX / scale;
      },
    );
});

describe('one-pixel squares, against the integral over a Gaussian of variance s^2 + 1/12', () => {
  for (const [s, flux, background, bound] of [
    [1.5, 1000, 0, 0.048305],
    [1.5, 1000, 10, 0.067682],
    [1.5, 1000, 100, 0.132578],
    [2, 10000, 25, 0.024938],
    [3, 200, 20, 1.056415],
    [1, 300, 9, 0.089965],
  ])
    checkPublished(
      {
        what: `bound at s ${s} px, ${flux} photons, background ${background}, px`,
        value: bound,
        tolerance: 1e-3 * bound,
        source: mortensen,
        note: 's_a stands for the pixel: 8e-4 off at s = 1, 2.5e-4 at 1.5 (measured)',
      },
      () => {
        const star = expectedStar(gaussian(s), { side: 61, x: 30.2, y: 29.7, flux });
        return positionBound(star, { readNoiseE: 0, backgroundE: background }).sigmaX;
      },
    );
});

describe('a line of pixels', () => {
  // flux, background per pixel, pixel in units of the FWHM of 1 arcsec; then the bound, milliarcsec
  for (const [flux, background, pixel, bound] of [
    [1000, 0, 0.2, 13.5525],
    [100, 1000, 0.2, 530.938],
    [5000, 300, 0.2, 9.0642],
    [5000, 300, 0.5, 8.0892],
  ])
    checkPublished(
      {
        what: `1-D bound, FWHM 1", pixel ${pixel}", ${flux} electrons on a background of ${background}, mas`,
        value: bound,
        tolerance: 1e-5 * bound,
        source: mendez,
        note: 'printed to six digits',
      },
      () => {
        const width = 81;
        const sigma = sigmaPerFwhm / pixel;
        const star = expectedStar(gaussian(sigma), { side: width, x: 40, y: 40, flux });
        const line = sumRows(star.image);
        const still = createImage(width, 1);
        const expected = { image: line, gradientX: sumRows(star.gradientX), gradientY: still };
        return positionBound(expected, { readNoiseE: 0, backgroundE: background }).sigmaX * pixel * 1000;
      },
    );
});

/** A line that holds what all rows hold together. */
function sumRows(image: Image): Image {
  const [height, width] = image.shape;
  const line = createImage(width, 1);
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) line.data[x] += image.get(y, x);
  return line;
}
