import { type FoundStar, locateStar } from '@holdfast/centroid';
import { createImage, type Image, randomStream, renderStar, type StarShape } from '@holdfast/psf';
import ndarray from 'ndarray';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const width = 260;
const height = 190;
const backgroundE = 50;
const readNoiseE = 3;
const sigma = Math.sqrt(backgroundE + readNoiseE ** 2);

interface Placed {
  readonly shape: StarShape;
  readonly x: number;
  readonly y: number;
  readonly flux: number;
}

const point = (x: number, y: number, flux: number): Placed => ({
  shape: { kind: 'gaussian', fwhmPx: 3 },
  x,
  y,
  flux,
});
const ring = (x: number, y: number, flux: number, outerDiameterPx: number): Placed => ({
  shape: { kind: 'annulus', outerDiameterPx, obstructionRatio: 0.4, blurFwhmPx: 3 },
  x,
  y,
  flux,
});

/** A frame of stars on a sky of 50 electrons with a slope of 0.1 electrons per column, and hot pixels. */
function frame(seed: number, stars: readonly Placed[], hotPixels = 20): Image {
  const image = createImage(width, height);
  for (const { shape, x, y, flux } of stars) {
    const star = renderStar(shape, { width, height, x, y, flux });
    for (let k = 0; k < star.data.length; k++) image.data[k] += star.data[k];
  }
  const random = randomStream('locate', seed);
  for (let k = 0; k < image.data.length; k++)
    image.data[k] =
      random.poisson(image.data[k] + backgroundE + 0.1 * (k % width)) + readNoiseE * random.normal();
  for (let i = 0; i < hotPixels; i++)
    image.data[Math.floor(random.uniform() * image.data.length)] += 200 + 3000 * random.uniform();
  return image;
}

describe('one star', () => {
  test('of any size from 3 to 80 px is found as one, where it is, at its size, among hot pixels and on a slope', () => {
    for (const diameter of [0, 3, 6, 12, 25, 45, 80]) {
      // 20 times the noise of a box that holds the star
      const side = Math.max(6, 1.1 * diameter + 4);
      const star =
        diameter === 0
          ? point(131.3, 88.7, 20 * sigma * side)
          : ring(131.3, 88.7, 20 * sigma * side, diameter);
      const found = locateStar(frame(diameter, [star]));
      expect(found.length).toBe(1);
      const [{ x, y, flux, diameterPx, halfFluxDiameterPx, neighborDistancePx }] = found;
      // Noise of a center of mass over the star's box: sigma side^2 / sqrt(12) / flux, here side / 70, and
      // more at its rim.
      expectWithin(x, star.x, 4 * (side / 70), '4 sigma of a center of mass over the light');
      expectWithin(y, star.y, 4 * (side / 70), '4 sigma of a center of mass over the light');
      expectWithin(flux / star.flux, 1, 0.2, '20 times the noise, and the faint end left out');
      // Light radius of a ring that is sharp: R sqrt(0.9 + 0.1 * 0.4^2) = 0.957 R; with the blur of a small
      // one added.
      if (diameter >= 12) {
        expectWithin(diameterPx / (0.957 * diameter), 1.02, 0.12, 'blur outward, noise both ways');
        const half = diameter * Math.sqrt(0.5 + 0.5 * 0.16);
        expectWithin(halfFluxDiameterPx / half, 1, 0.06, 'noise');
      }
      expect(neighborDistancePx).toBeUndefined();
    }
  });

  test('fluxes, peak, snr and background are those of the star', () => {
    const [star] = locateStar(frame(1, [point(90.25, 60.5, 30000)], 0));
    // Beyond the end lies what does not stand out: up to 2.5 sigma of a ring of some 100 pixels.
    expectWithin(star.flux, 29900, 700, '3.5 times the noise of photons and sky, 190 electrons');
    // erf(0.5 / (sigma sqrt 2))-shares of the pixel nearest: 0.297 at 0.25 px along x and 0.238 at 0.5 px
    // along y
    expectWithin(star.peak, 30000 * 0.2969 * 0.2728, 300, 'photon noise of the highest of two equal pixels');
    expectWithin(star.backgroundE, 50 + 0.1 * 90.25, 2, 'the slope under the star');
    expectWithin(star.halfFluxDiameterPx, 3.1, 0.15, 'the FWHM, with the pixel');
    const light = (star.diameterPx / 2) ** 2 * Math.PI;
    expectWithin(
      star.snr,
      30000 / Math.sqrt(30000 + light * sigma * sigma),
      5,
      'photons and sky within the light',
    );
  });

  test('a comet is found as one', () => {
    const shape: StarShape = {
      kind: 'coma',
      sagittalComaPx: 8,
      angleDeg: 30,
      obstructionRatio: 0.3,
      blurFwhmPx: 2.5,
    };
    const found = locateStar(frame(2, [{ shape, x: 100, y: 90, flux: 30000 }]));
    expect(found.length).toBe(1);
    expectWithin(found[0].flux / 30000, 1, 0.1, 'its faint tail');
  });
});

describe('several stars', () => {
  const stars = [
    ring(80.3, 70.2, 60000, 70),
    point(200.4, 40.1, 90000),
    point(180.2, 130.6, 3000),
    ring(230.3, 150.4, 9000, 18),
  ];

  test('brightest first, each with the distance to the next', () => {
    const found = locateStar(frame(3, stars));
    expect(found.map(({ flux }) => flux)).toEqual([...found.map(({ flux }) => flux)].sort((a, b) => b - a));
    const expected = [1, 0, 3, 2].map((i) => stars[i]);
    expect(found.length).toBe(4);
    found.forEach((star, i) => {
      expectWithin(star.x, expected[i].x, 1.5, 'noise of a ring of 70 px');
      expectWithin(star.y, expected[i].y, 1.5, 'noise of a ring of 70 px');
    });
    const gap = Math.sqrt((230.3 - 180.2) ** 2 + (150.4 - 130.6) ** 2);
    expectWithin(found[2].neighborDistancePx!, gap, 1, 'both ends');
    expectWithin(found[3].neighborDistancePx!, gap, 1, 'both ends');
  });

  test('at most maxStars, and none above another size', () => {
    const image = frame(3, stars);
    expect(locateStar(image, { maxStars: 2 }).length).toBe(2);
    for (const { diameterPx } of locateStar(image, { maxDiameterPx: 25 }))
      expect(diameterPx).toBeLessThan(35);
  });

  test('saturated pixels are told as a share of the light', () => {
    const image = frame(4, [point(200.4, 40.1, 90000), point(100.4, 140.1, 9000)], 0);
    for (let k = 0; k < image.data.length; k++) image.data[k] = Math.min(4000, image.data[k]);
    const [bright, faint] = locateStar(image, { saturationE: 4000 });
    expectWithin(bright.saturatedFraction, 0.4, 0.25, 'a flat top over some third of the light');
    expect(faint.saturatedFraction).toBe(0);
  });

  test('masked and non-finite pixels are no stars and hide none', () => {
    const image = frame(5, [point(100.4, 90.1, 9000)], 0);
    const valid = new Uint8Array(width * height).fill(1);
    for (let y = 20; y < 40; y++)
      for (let x = 30; x < 60; x++) {
        image.set(y, x, 1e5);
        valid[y * width + x] = 0;
      }
    for (let y = 0; y < height; y++) image.set(y, 150, Number.NaN);
    const found = locateStar(image, { valid });
    expect(found.length).toBe(1);
    expectWithin(found[0].x, 100.4, 0.2, 'noise');
  });
});

describe('what is no star', () => {
  test('noise, slope and hot pixels give nothing in 20 frames', () => {
    let found: FoundStar[] = [];
    for (let i = 0; i < 20; i++) found = [...found, ...locateStar(frame(100 + i, [], 10))];
    expect(found).toEqual([]);
  });

  test('two hot pixels side by side give nothing, a star of FWHM 1 px between two pixels stays', () => {
    const image = frame(7, [], 0);
    for (const [x, y, nextX, nextY] of [
      [60, 40, 61, 40],
      [150, 90, 150, 91],
      [220, 150, 219, 150],
    ]) {
      image.data[y * width + x] += 3000;
      image.data[nextY * width + nextX] += 2500;
    }
    expect(locateStar(image)).toEqual([]);
    const sharp = { shape: { kind: 'gaussian', fwhmPx: 1 }, x: 80.5, y: 60, flux: 6000 } as const;
    expect(locateStar(frame(8, [sharp, { ...sharp, x: 150, y: 90.5 }], 0)).length).toBe(2);
  });

  test('an image without noise: none when flat, the star when there is one', () => {
    expect(locateStar(createImage(30, 20))).toEqual([]);
    const [star, ...others] = locateStar(
      renderStar({ kind: 'gaussian', fwhmPx: 3 }, { width: 40, height: 30, x: 17.3, y: 11.6, flux: 1000 }),
    );
    expect(others).toEqual([]);
    expectWithin(star.x, 17.3, 0.01, 'the light is followed to where it ends');
    expectWithin(star.y, 11.6, 0.01, 'the light is followed to where it ends');
  });

  test('tiny images and images without usable pixels', () => {
    expect(locateStar(createImage(1, 1, new Float64Array([7])))).toEqual([]);
    expect(locateStar(createImage(2, 1, new Float64Array([7, 9])))).toEqual([]);
    expect(locateStar(createImage(6, 5, new Float64Array(30).fill(Number.NaN)))).toEqual([]);
  });

  test('the image is left as it was, and a transposed view gives x for y', () => {
    const image = frame(6, [point(100.4, 60.1, 9000), point(30.2, 120.7, 4000)], 0);
    const before = image.data.slice();
    const straight = locateStar(image);
    const view = ndarray(image.data, [width, height], [1, width]);
    const turned = locateStar(view);
    expect(image.data).toEqual(before);
    expect(turned.length).toBe(2);
    turned.forEach((star, i) => {
      expectWithin(star.x, straight[i].y, 0.05, 'other pixels for the noise, another order of looking');
      expectWithin(star.y, straight[i].x, 0.05, 'other pixels for the noise, another order of looking');
    });
  });

  test('refuses bad calls', () => {
    const image = createImage(30, 20);
    expect(() => locateStar(image, { minSnr: 0 })).toThrow(/minSnr/);
    expect(() => locateStar(image, { maxDiameterPx: -3 })).toThrow(/maxDiameterPx/);
    expect(() => locateStar(image, { maxStars: 0 })).toThrow(/maxStars/);
    expect(() => locateStar(image, { saturationE: Number.NaN })).toThrow(/saturationE/);
    expect(() => locateStar(image, { valid: new Uint8Array(4) })).toThrow(/valid/);
  });
});
