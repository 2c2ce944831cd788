import { positionBound } from '@holdfast/centroid';
import type { Image } from '@holdfast/psf';
import { createImage, prepareStar, renderStar, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { expectWithin } from '../expect-within.ts';

const width = 43;
const height = 37;
const step = 1e-4;

/** Star with gradients by a small shift of the render: error of order step^2. */
function expectedStar(shape: StarShape, x: number, y: number, flux: number) {
  const plan = prepareStar(shape, { width, height });
  const draw = (dx: number, dy: number) => {
    const image = createImage(width, height);
    plan.renderInto(image, x + dx, y + dy, flux);
    return image;
  };
  const difference = (a: Image, b: Image) =>
    createImage(
      width,
      height,
      a.data.map((v, k) => (v - b.data[k]) / (2 * step)),
    );
  return {
    image: draw(0, 0),
    gradientX: difference(draw(step, 0), draw(-step, 0)),
    gradientY: difference(draw(0, step), draw(0, -step)),
  };
}

const noise = { readNoiseE: 2, backgroundE: 10 };

describe('gradients from the image alone', () => {
  // Relative error of the bound found for pixel-integrated Gaussians, as the documentation says: 0.6 % at
  // FWHM 1.8 px, 0.06 % at 2.4, 1e-5 at 3.5.
  for (const [fwhmPx, error] of [
    [1.8, 7e-3],
    [2.4, 7e-4],
    [3.5, 1.2e-5],
    [6, 1e-7],
  ])
    test(`Gaussian of FWHM ${fwhmPx} px`, () => {
      for (const { readNoiseE, backgroundE } of [
        noise,
        { readNoiseE: 0, backgroundE: 0 },
        { readNoiseE: 5, backgroundE: 0 },
      ]) {
        const exact = expectedStar({ kind: 'gaussian', fwhmPx }, 20.3, 17.9, 2000);
        const best = positionBound(exact, { readNoiseE, backgroundE });
        const alone = positionBound(exact.image, { readNoiseE, backgroundE });
        expectWithin(alone.sigmaX / best.sigmaX, 1, error, 'order 16 differences of the square root');
        expectWithin(alone.sigmaY / best.sigmaY, 1, error, 'order 16 differences of the square root');
        expectWithin(alone.snr, best.snr, 1e-12 * best.snr, 'needs no gradient');
      }
    });

  test.each([1.2, 1.5, 1.8, 2.4, 3.5])(
    'a star of FWHM %d px: the result says how far its gradients may be off',
    (fwhmPx) => {
      for (const phase of [0, 0.25, 0.5]) {
        const exact = expectedStar({ kind: 'gaussian', fwhmPx }, 20 + phase, 18 + phase / 2, 2000);
        const best = positionBound(exact, noise);
        const alone = positionBound(exact.image, noise);
        const off = Math.max(
          Math.abs(alone.sigmaX / best.sigmaX - 1),
          Math.abs(alone.sigmaY / best.sigmaY - 1),
        );
        expect(best.gradientUncertainty).toBe(0);
        expect(off).toBeLessThan(1.5 * alone.gradientUncertainty);
        if (fwhmPx >= 2.4) expect(alone.gradientUncertainty).toBeLessThan(0.005);
        if (fwhmPx <= 1.5) expect(alone.gradientUncertainty).toBeGreaterThan(0.02);
      }
    },
  );

  test('a ring with a blur of FWHM 3 px', () => {
    const exact = expectedStar(
      { kind: 'annulus', outerDiameterPx: 18, obstructionRatio: 0.4, blurFwhmPx: 3 },
      21.2,
      18.4,
      8000,
    );
    const ratio = positionBound(exact.image, noise).sigmaX / positionBound(exact, noise).sigmaX;
    expectWithin(ratio, 1, 2e-3, 'edges as sharp as a Gaussian of that FWHM');
  });
});

describe('what is unknown', () => {
  const star = expectedStar({ kind: 'gaussian', fwhmPx: 3.4 }, 20.3, 17.9, 3000);

  test('flux and background do not touch the position of a symmetric star in the open', () => {
    const known = positionBound(star, noise);
    const unknown = positionBound(star, noise, { free: { flux: true, background: true } });
    expectWithin(unknown.sigmaX / known.sigmaX, 1, 1e-4, 'odd against even, but for the place in the pixel');
    expect(unknown.snr).toBeLessThan(known.snr);
    expectWithin(known.correlationXY, 0, 1e-6, 'symmetric along both axes');
  });

  test('they do when the edge of the image halves it', () => {
    const half = expectedStar({ kind: 'gaussian', fwhmPx: 7 }, -0.5, 17.9, 3000);
    const known = positionBound(half, { readNoiseE: 0 });
    const unknown = positionBound(half, { readNoiseE: 0 }, { free: { flux: true } });
    // Half a Gaussian in photon noise: F_xx = N / (2 sigma^2), F_xf = N / (sqrt(2 pi) sigma), F_ff = N / 2
    // (derived)
    const ratio = 1 / Math.sqrt(1 - 2 / Math.PI);
    expectWithin(unknown.sigmaX / known.sigmaX, ratio, 0.01 * ratio, 'pixels of 1/12 px^2 beside 8.8 px^2');
    expectWithin(unknown.sigmaY / known.sigmaY, 1, 1e-6, 'rows are symmetric still');
  });

  test('an ellipse aslant couples x and y', () => {
    const oblong = expectedStar(
      { kind: 'gaussian', fwhmPx: 6, axisRatio: 0.5, angleDeg: 45 },
      20.3,
      17.9,
      3000,
    );
    const { correlationXY, sigmaX, sigmaY } = positionBound(oblong, { readNoiseE: 0 });
    // Without background the covariance is that of the light itself: (a^2 - b^2) / (a^2 + b^2) with a = 2 b,
    // a little less for the pixels.
    expectWithin(correlationXY, 0.6, 0.02, 'pixels of 1/12 px^2 beside variances of 6.5 and 1.6 px^2');
    expectWithin(sigmaX / sigmaY, 1, 1e-3, 'at 45 degrees');
  });

  test('more light, less error: by the root of the flux without other noise, by the flux against much of it', () => {
    const bright = expectedStar({ kind: 'gaussian', fwhmPx: 3.4 }, 20.3, 17.9, 12000);
    const silent = { readNoiseE: 0 };
    expectWithin(
      positionBound(star, silent).sigmaX / positionBound(bright, silent).sigmaX,
      2,
      1e-6,
      'photons',
    );
    const loud = { readNoiseE: 3000 };
    expectWithin(
      positionBound(star, loud).sigmaX / positionBound(bright, loud).sigmaX,
      4,
      1e-3,
      'read noise',
    );
  });
});

/** Inverse of a small matrix by elimination with the largest pivot: apart from the library's Cholesky. */
function inverseOf(matrix: number[][]): number[][] {
  const n = matrix.length;
  const rows = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let j = i; j < n; j++) if (Math.abs(rows[j][i]) > Math.abs(rows[pivot][i])) pivot = j;
    [rows[i], rows[pivot]] = [rows[pivot], rows[i]];
    const scale = rows[i][i];
    rows[i] = rows[i].map((v) => v / scale);
    for (let j = 0; j < n; j++) {
      const share = rows[j][i];
      if (j !== i) rows[j] = rows[j].map((v, k) => v - share * rows[i][k]);
    }
  }
  return rows.map((row) => row.slice(n));
}

describe('Winick 1986: information summed pixel by pixel and inverted', () => {
  // Near a corner and aslant, so that each unknown is tied to each other one.
  const star = expectedStar({ kind: 'gaussian', fwhmPx: 7, axisRatio: 0.6, angleDeg: 25 }, 1.3, 2.2, 3000);
  star.image.set(3, 5, Number.NaN);
  star.gradientX.set(5, 2, Number.NaN);
  star.gradientY.set(2, 4, Number.NaN);
  const variance = noise.backgroundE + noise.readNoiseE ** 2;
  test.each([
    [false, false],
    [false, true],
    [true, false],
    [true, true],
  ])('flux unknown: %s, background unknown: %s', (flux, background) => {
    const sum = (f: (changes: number[]) => number) => {
      let all = 0;
      for (let k = 0; k < width * height; k++) {
        const light = star.image.data[k];
        const changes = [star.gradientX.data[k], star.gradientY.data[k], light, 1];
        if (changes.every(Number.isFinite)) all += f(changes) / (light + variance);
      }
      return all;
    };
    const used = [0, 1, ...(flux ? [2] : []), ...(background ? [3] : [])];
    const matrix = (unknowns: number[]) => unknowns.map((a) => unknowns.map((b) => sum((c) => c[a] * c[b])));
    const covariance = inverseOf(matrix(used));
    const ofFlux = inverseOf(matrix(background ? [2, 3] : [2]));
    const bound = positionBound(star, noise, { free: { flux, background } });
    const sigmaX = Math.sqrt(covariance[0][0]);
    const sigmaY = Math.sqrt(covariance[1][1]);
    expectWithin(bound.sigmaX / sigmaX, 1, 1e-10, 'rounding');
    expectWithin(bound.sigmaY / sigmaY, 1, 1e-10, 'rounding');
    expectWithin(bound.correlationXY, covariance[0][1] / (sigmaX * sigmaY), 1e-10, 'rounding');
    expectWithin(bound.snr * Math.sqrt(ofFlux[0][0]), 1, 1e-10, 'rounding');
  });
});

describe('an image whose root is a parabola: its differences are exact to the last pixel', () => {
  test.each([
    [3, 4],
    [4, 3],
    [19, 18],
  ])('%d x %d px', (columns, rows) => {
    const rootX = (x: number) => 2 + 0.3 * x + 0.05 * x * x;
    const rootY = (y: number) => 3 - 0.07 * y + 0.004 * y * y;
    const of = (f: (x: number, y: number) => number) =>
      createImage(
        columns,
        rows,
        Float64Array.from({ length: columns * rows }, (_, k) => f(k % columns, Math.floor(k / columns))),
      );
    const exact = {
      image: of((x, y) => (rootX(x) * rootY(y)) ** 2),
      gradientX: of((x, y) => -2 * rootX(x) * (0.3 + 0.1 * x) * rootY(y) ** 2),
      gradientY: of((x, y) => -2 * rootX(x) ** 2 * rootY(y) * (0.008 * y - 0.07)),
    };
    const best = positionBound(exact, noise);
    const alone = positionBound(exact.image, noise);
    expectWithin(alone.sigmaX / best.sigmaX, 1, 1e-10, 'rounding');
    expectWithin(alone.sigmaY / best.sigmaY, 1, 1e-10, 'rounding');
    expectWithin(alone.correlationXY, best.correlationXY, 1e-10, 'rounding');
    expectWithin(alone.gradientUncertainty, 0, 1e-10, 'half the order is exact too');
  });
});

test('the uncertainty of the gradients is that of the worse axis, however faint the star', () => {
  const narrow = (angleDeg: number, flux: number) => {
    const shape = { kind: 'gaussian', fwhmPx: 3.2, axisRatio: 0.5, angleDeg } as const;
    const image = renderStar(shape, { width, height, x: 20.3, y: 17.9, flux });
    return positionBound(image, { readNoiseE: 0 }).gradientUncertainty;
  };
  expect(narrow(0, 2000)).toBeGreaterThan(0.005);
  expectWithin(narrow(90, 2000) / narrow(0, 2000), 1, 0.6, 'another place in the pixel');
  expectWithin(narrow(0, 1e-3) / narrow(0, 2000), 1, 1e-6, 'without noise light scales alone');
});

describe('edges of use', () => {
  test('more light than numbers can hold has no SNR and no correlation', () => {
    const bound = positionBound(createImage(9, 8, new Float64Array(72).fill(1e308)), noise);
    expect(bound).toMatchObject({ snr: 0, correlationXY: 0 });
  });

  test('an image that tells nothing has no bound', () => {
    const nothing = { sigmaX: Infinity, sigmaY: Infinity, snr: 0, correlationXY: 0, gradientUncertainty: 0 };
    expect(positionBound(createImage(9, 8), noise)).toEqual(nothing);
    expect(positionBound(createImage(9, 8), { readNoiseE: 0 })).toEqual(nothing);
    expect(positionBound(createImage(1, 1, new Float64Array([5])), noise).sigmaX).toBe(Infinity);
  });

  test('pixels that are not numbers tell nothing, wherever they lie', () => {
    const star = expectedStar({ kind: 'gaussian', fwhmPx: 3 }, 20.3, 17.9, 3000);
    const whole = positionBound(star, noise);
    star.image.set(17, 20, Number.NaN);
    star.gradientY.set(18, 21, Number.NaN);
    const holed = positionBound(star, noise);
    expect(holed.sigmaX).toBeGreaterThan(whole.sigmaX);
    expect(holed.sigmaX).toBeLessThan(2 * whole.sigmaX);
    expect(holed.snr).toBeLessThan(whole.snr);
  });

  test('neither image nor view is changed, and a transposed view changes x and y', () => {
    const image = renderStar(
      { kind: 'gaussian', fwhmPx: 4, axisRatio: 0.7 },
      { width, height, x: 20.3, y: 17.9, flux: 900 },
    );
    const before = image.data.slice();
    const straight = positionBound(image, noise);
    const turned = positionBound(image.transpose(1, 0), noise);
    expect(image.data).toEqual(before);
    expectWithin(turned.sigmaX, straight.sigmaY, 1e-12, 'rows for columns');
    expectWithin(turned.sigmaY, straight.sigmaX, 1e-12, 'rows for columns');
  });

  test('refuses bad calls', () => {
    const image = createImage(9, 8);
    expect(() => positionBound(image, { readNoiseE: -1 })).toThrow(/noise.readNoiseE/);
    expect(() => positionBound(image, { readNoiseE: 1, backgroundE: Number.NaN })).toThrow(
      /noise.backgroundE/,
    );
    expect(() => positionBound(image, noise, { free: { flux: 1 as unknown as boolean } })).toThrow(
      /free.flux/,
    );
    const other = createImage(8, 9);
    expect(() => positionBound({ image, gradientX: other, gradientY: image }, noise)).toThrow(/9 x 8 px/);
  });
});
