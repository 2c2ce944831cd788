import { createImage, type Image, prepareStar } from '@holdfast/psf';
import { fitRing, type RingFitOptions } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';
import { expected, exposed, found, noise, plain, type Truth } from './drawn-ring.ts';

function reason(image: Image, options: Partial<RingFitOptions> = {}): string {
  const fit = fitRing(image, { noise, ...options });
  return fit.ok ? 'a ring was found' : fit.reason;
}

describe('without noise', () => {
  test('the ring comes back as it was drawn', () => {
    const fit = found(expected(plain));
    const why = 'the descent ends at steps of 1e-5; differences of the model have 1e-5 of its slopes';
    expectWithin(fit.outerDiameterPx.value, 20, 1e-3, why);
    expectWithin(fit.innerDiameterPx.value, 8, 1e-3, why);
    expectWithin(fit.obstructionRatio.value, 0.4, 1e-4, why);
    expectWithin(fit.blurFwhmPx.value, 3, 1e-3, why);
    expectWithin(fit.x.value, 18.3, 1e-3, why);
    expectWithin(fit.y.value, 24.9, 1e-3, why);
    expectWithin(fit.fluxE.value, 50_000, 5, why);
    expectWithin(fit.backgroundE.value, 20, 1e-3, why);
    expectWithin(fit.holeOffsetPx.x.value, 0, 1e-3, why);
    expectWithin(fit.unevenness, 0, 1e-9, 'nothing is left to be called uneven');
    expect(fit.holeResolved).toBe(true);
    expect(fit.absFocusShiftUm).toBeUndefined();
  });

  test('a transposed view gives the transposed place', () => {
    const straight = found(expected(plain));
    const turned = found(expected(plain).transpose(1, 0));
    expectWithin(turned.x.value, straight.y.value, 1e-4, 'the same sums in another order');
    expectWithin(turned.y.value, straight.x.value, 1e-4, 'the same sums in another order');
    expectWithin(turned.outerDiameterPx.value, straight.outerDiameterPx.value, 1e-4, 'as above');
  });

  test('the image is not modified, and pixels that are not valid do not matter', () => {
    const image = expected(plain);
    const valid = new Uint8Array(image.data.length).fill(1);
    for (const k of [500, 900, 1000, 1001]) valid[k] = 0;
    const clean = found(image, { valid });
    for (const [n, k] of [500, 900, 1000, 1001].entries())
      image.data[k] = [Number.NaN, 1e9, -1e9, Infinity][n]!;
    const before = image.data.slice();
    expect(found(image, { valid })).toEqual(clean);
    expect(image.data).toEqual(before);
  });

  test('a radius about a guess cuts the same ring out of a larger frame', () => {
    const large = { ...plain, width: 160, height: 130, x: 101.3, y: 77.9 };
    const fit = found(expected(large), { guess: { x: 102, y: 77 }, radiusPx: 20 });
    expectWithin(fit.x.value, 101.3, 1e-3, 'as without noise');
    expectWithin(fit.y.value, 77.9, 1e-3, 'as without noise');
    expectWithin(fit.outerDiameterPx.value, 20, 1e-3, 'as without noise');
  });

  test('a hole off the middle is told, with its direction', () => {
    const { width, height, x, y, flux, background } = plain;
    const disc = (outerDiameterPx: number, at: { x: number; y: number }, light: number): Image => {
      const image = createImage(width, height);
      const shape = { kind: 'annulus', outerDiameterPx, obstructionRatio: 0, blurFwhmPx: 3 } as const;
      prepareStar(shape, { width, height }).renderInto(image, at.x, at.y, light);
      return image;
    };
    const whole = disc(20, { x, y }, flux);
    const hole = disc(8, { x: x + 1.2, y: y - 0.7 }, flux * 0.16);
    for (let k = 0; k < whole.data.length; k++) whole.data[k] += background - hole.data[k]!;
    const fit = found(whole);
    // the expectation of a centered hole (0.1 R) pulls by (error / 0.1 R)^2: a few thousandths
    expectWithin(fit.holeOffsetPx.x.value, 1.2, 0.01, 'pull of the expectation');
    expectWithin(fit.holeOffsetPx.y.value, -0.7, 0.01, 'pull of the expectation');
    // center of mass of disc less hole, from the center of the disc: -0.16 h / 0.84
    expectWithin(fit.x.value, x - (0.16 * 1.2) / 0.84, 0.005, 'pull of the expectation');
    expectWithin(fit.y.value, y + (0.16 * 0.7) / 0.84, 0.005, 'pull of the expectation');
  });

  test('the light of a fast cone: brightness falls outwards as the sine condition has it', () => {
    // F/1.2: t = tan(asin(1 / 2.4)), brightness 1 / (1 + t^2 r^2 / R^2)^2, sharp ring summed over 9 x 9
    // points per pixel
    const tangent = 1 / Math.sqrt(4 * 1.2 * 1.2 - 1);
    const [radius, x0, y0] = [24.3, 33.4, 36.8];
    const image = createImage(67, 73);
    let total = 0;
    for (let y = 0; y < 73; y++)
      for (let x = 0; x < 67; x++)
        for (let p = 0; p < 81; p++) {
          const w = x + ((p % 9) - 4) / 9 - x0;
          const v = y + (Math.floor(p / 9) - 4) / 9 - y0;
          const q2 = (w * w + v * v) / radius ** 2;
          if (q2 > 1 || q2 < 0.25) continue;
          const light = 10_000 / 81 / (1 + tangent * tangent * q2) ** 2;
          total += light;
          image.set(y, x, image.get(y, x) + light);
        }
    const cone = found(image, { fNumber: 1.2, pixelSizeUm: 10 });
    expectWithin(cone.outerDiameterPx.value, 2 * radius, 0.05, 'the sum over points has steps of 1/9 px');
    expectWithin(cone.obstructionRatio.value, 0.5, 0.003, 'the sum over points has steps of 1/9 px');
    expectWithin(cone.fluxE.value / total, 1, 0.003, 'the sum over points');
    // |dz| = D / (2 tan(asin(1 / 2F)))
    expectWithin(
      cone.absFocusShiftUm!.value,
      (2 * radius * 10) / (2 * tangent),
      0.6,
      'the diameter, 0.05 px',
    );
    // taken for even, the same light is off by the rms of a fall from 0.88 to 0.67 of the middle
    expectWithin(cone.unevenness, 0, 0.005, 'the sum over points');
    expectWithin(found(image).unevenness, 0.08, 0.03, 'half of the fall, over the square root of 3');
  });
});

describe('with noise', () => {
  test('reduced chi-square is 1 for an even ring', () => {
    const fit = found(exposed(expected(plain), 5, 'chi'));
    // 41 * 47 pixels: the scatter of chi-square per degree of freedom is sqrt(2 / 1916) = 0.032
    expectWithinSigmas(fit.reducedChiSquare, 1, 0.032, 4);
  });

  test('shadows of vanes, a hot pixel and a neighbor hardly move the diameters', () => {
    const clean = expected(plain);
    const disturbed = createImage(41, 47, clean.data.slice());
    for (let y = 0; y < 47; y++)
      for (let x = 0; x < 41; x++) {
        const onVane = Math.abs(x - plain.x) < 0.6 || Math.abs(y - plain.y) < 0.6;
        if (onVane) disturbed.set(y, x, 20 + 0.5 * (clean.get(y, x) - 20));
      }
    const neighbor = prepareStar({ kind: 'gaussian', fwhmPx: 3 }, { width: 41, height: 47 });
    const light = createImage(41, 47);
    neighbor.renderInto(light, 35, 8, 3000);
    for (let k = 0; k < light.data.length; k++) disturbed.data[k] += light.data[k]!;
    disturbed.set(40, 5, 5000);
    const fit = found(exposed(disturbed, 5, 'disturbed'));
    expectWithin(fit.outerDiameterPx.value, 20, 0.3, '1.5 % of the diameter');
    expectWithin(fit.obstructionRatio.value, 0.4, 0.03, 'the vanes cross the inner edge four times');
    expect(fit.reducedChiSquare).toBeGreaterThan(1.5);
  });
});

describe('what a picture does not show', () => {
  const small: Truth = {
    ...plain,
    width: 31,
    height: 33,
    x: 15.2,
    y: 16.4,
    outerDiameterPx: 6,
    flux: 20_000,
  };

  test('a hole that the blur has filled is not called resolved', () => {
    const fit = found(exposed(expected(small), 5, 'small'));
    expect(fit.holeResolved).toBe(false);
    expect(fit.obstructionRatio.standardError).toBeGreaterThan(0.1);
    expectWithinSigmas(fit.outerDiameterPx.value, 6, fit.outerDiameterPx.standardError, 4);
  });

  test('with the obstruction known, the small ring is measured better', () => {
    const free = found(exposed(expected(small), 5, 'known'));
    const held = found(exposed(expected(small), 5, 'known'), { obstructionRatio: 0.4 });
    expectWithin(held.obstructionRatio.value, 0.4, 1e-3, 'held');
    expect(held.outerDiameterPx.standardError).toBeLessThan(0.8 * free.outerDiameterPx.standardError);
    expectWithinSigmas(held.outerDiameterPx.value, 6, held.outerDiameterPx.standardError, 4);
  });

  test('an unobstructed disc has no hole', () => {
    const fit = found(exposed(expected({ ...plain, obstructionRatio: 0 }), 5, 'disc'));
    expect(fit.holeResolved).toBe(false);
    expectWithin(fit.obstructionRatio.value, 0, 0.12, 'a hole of a tenth takes 1 % of the light');
    expectWithinSigmas(fit.outerDiameterPx.value, 20, fit.outerDiameterPx.standardError, 4);
  });

  test('a star in focus is no ring', () => {
    for (let trial = 0; trial < 5; trial++)
      expect(reason(exposed(expected({ ...small, outerDiameterPx: 0.5 }), 5, 'focus', trial))).toBe(
        'no-ring',
      );
  });

  test('noise alone, a faint ring, a cut ring, hardly any pixels', () => {
    const empty = expected({ ...plain, flux: 0 });
    expect(['too-faint', 'no-ring']).toContain(reason(exposed(empty, 5, 'empty')));
    expect(reason(createImage(20, 20))).toBe('too-faint');
    expect(reason(exposed(expected({ ...plain, flux: 1000 }), 5, 'faint'))).toBe('too-faint');
    expect(reason(exposed(expected({ ...plain, x: 1, y: 20 }), 5, 'cut'))).toBe('clipped');
    expect(reason(createImage(5, 5))).toBe('too-few-pixels');
  });
});

describe('a bad call throws', () => {
  const image = expected(plain);
  test.each([
    [{ obstructionRatio: 1 }, 'obstructionRatio must be in [0, 0.95), got 1'],
    [{ fNumber: 0.4 }, 'fNumber must be > 0.5, got 0.4'],
    [{ pixelSizeUm: 0 }, 'pixelSizeUm must be a finite number > 0, got 0'],
    [{ radiusPx: -1, guess: { x: 1, y: 1 } }, 'radiusPx must be a finite number > 0, got -1'],
    [{ radiusPx: 5 }, 'radiusPx needs guess, the place that it is measured from'],
    [{ guess: { x: Number.NaN, y: 1 } }, 'guess.x must be a finite number, got NaN'],
    [{ noise: { readNoiseE: -1 } }, 'noise.readNoiseE must be a finite number >= 0, got -1'],
    [{ valid: new Uint8Array(3) }, 'valid must be a Uint8Array of width * height = 1927 values, got 3'],
  ])('%j', (options, message) => {
    expect(() => fitRing(image, { noise, ...options })).toThrow(message);
  });
});
