/** Seeing: one strength said in two ways, its change with wavelength, the outer scale. */
import { friedParameterMm, imageMotionArcsec, type Seeing, seeingFwhmArcsec } from '@holdfast/psf';
import { seeingTransfer } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { vonKarmanStructure } from '../../packages/psf/src/air/von-karman.ts';
import { expectWithin } from '../expect-within.ts';

describe('Fried parameter and FWHM', () => {
  test('each gives the other back, at the wavelength for which it holds', () => {
    for (const wavelengthNm of [400, 500, 800])
      for (const fwhmArcsec of [0.5, 2, 6]) {
        const r0 = friedParameterMm({ fwhmArcsec, wavelengthNm }, wavelengthNm);
        const back = seeingFwhmArcsec({ friedParameterMm: r0, wavelengthNm }, wavelengthNm);
        expectWithin(back, fwhmArcsec, 1e-13, 'rounding');
      }
  });

  test('the Fried parameter grows as lambda^(6/5), the FWHM falls as lambda^(-1/5)', () => {
    expectWithin(friedParameterMm({ friedParameterMm: 100 }, 1000), 100 * 2 ** 1.2, 1e-11, 'rounding');
    expectWithin(seeingFwhmArcsec({ fwhmArcsec: 2 }, 1000), 2 * 2 ** -0.2, 1e-13, 'rounding');
  });

  test('without a wavelength it is 500 nm', () => {
    expect(friedParameterMm({ fwhmArcsec: 2 }, 650)).toBe(
      friedParameterMm({ fwhmArcsec: 2, wavelengthNm: 500 }, 650),
    );
  });
});

describe('the transfer function', () => {
  test('it is 1 for no separation and falls', () => {
    for (const seeing of [{ friedParameterMm: 80 }, { friedParameterMm: 80, outerScaleMm: 10000 }]) {
      const transfer = seeingTransfer(seeing, 550);
      expect(transfer(0)).toBe(1);
      let before = 1;
      for (let r = 1; r < 500; r += 7) {
        expect(transfer(r)).toBeLessThan(before);
        before = transfer(r);
      }
    }
  });

  test('an outer scale passes more light, and less so the larger it is', () => {
    const at = (outerScaleMm: number) => seeingTransfer({ friedParameterMm: 80, outerScaleMm }, 500)(100);
    const kolmogorov = seeingTransfer({ friedParameterMm: 80 }, 500)(100);
    expect(at(2000)).toBeGreaterThan(at(20000));
    expect(at(20000)).toBeGreaterThan(kolmogorov);
    expect(seeingTransfer({ friedParameterMm: 80, outerScaleMm: Infinity }, 500)(100)).toBe(kolmogorov);
    // 1 - D / D_Kolmogorov falls as (r / L0)^(1/3): 1.485 (r / L0)^(1/3) for r << L0, from the series of
    // K[5/6].
    const deficit = 1 - Math.log(at(1e12)) / Math.log(kolmogorov);
    expectWithin(
      deficit / (100 / 1e12) ** (1 / 3),
      1.485,
      0.01,
      'next term of the series, three digits of the constant',
    );
  });

  // 2^(1/6) Gamma(11/6) / pi^(8/3) (24/5 Gamma(6/5))^(5/6) (L0 / r0)^(5/3) [Gamma(5/6) / 2^(1/6) - x^(5/6)
  // K[5/6](x)] by scipy 1.10: c * (gamma(5/6) / 2**(1/6) - x**(5/6) * kv(5/6, x)), x = 2 pi r / L0, the
  // bracket being
  test.each([
    [1e-2, 0.0007191814217109016],
    [0.5, 0.22343539339340257],
    [1.9, 0.7502309382176332],
    [2, 0.7714914964698552],
    [2.1, 0.791090659044456],
    [5, 0.9905954106020584],
    [20, 1.0056349109100462],
  ])('von Karman, x = %f', (x, bracket) => {
    const outer = vonKarmanStructure(1e6, 1, 1);
    const ours = vonKarmanStructure(x / (2 * Math.PI), 1, 1) / outer;
    expectWithin(
      ours,
      bracket / (1.128787029908126 / 2 ** (1 / 6)),
      1e-12,
      'the level is Gamma(5/6) / 2^(1/6)',
    );
  });

  test('von Karman, the spectrum integrated: D(r) = 4 pi integral of W(k) (1 - J0(2 pi k r)) k dk', () => {
    // Along one axis J0 is the mean over angles of cos(2 pi k r cos t).
    const r0 = 1;
    const outer = 30;
    for (const r of [0.5, 5, 40]) {
      let sum = 0;
      const steps = 3000;
      for (let n = 0; n < steps; n++) {
        // k = exp(u): smooth on a logarithmic scale, from 1e-5 to 1e4 per r0.
        const u = Math.log(1e-5) + ((n + 0.5) / steps) * Math.log(1e9);
        const k = Math.exp(u);
        const power = 0.02289558710855519 * r0 ** (-5 / 3) * (k * k + outer ** -2) ** (-11 / 6);
        sum += power * (1 - besselJ0(2 * Math.PI * k * r)) * k * k;
      }
      const direct = 4 * Math.PI * sum * (Math.log(1e9) / steps);
      expectWithin(vonKarmanStructure(r, r0, outer) / direct, 1, 2e-4, 'steps of the quadrature');
    }
  });
});

/** Abramowitz & Stegun 9.4.1 and 9.4.3: good to 1.6e-8 or so, with no limit on x. */
function besselJ0(x: number): number {
  if (x < 3) {
    const q = (x / 3) ** 2;
    return (
      1 +
      q * (-2.2499997 + q * (1.2656208 + q * (-0.3163866 + q * (0.0444479 + q * (-0.0039444 + q * 0.00021)))))
    );
  }
  const t = 3 / x;
  const f =
    0.79788456 +
    t *
      (-0.00000077 +
        t * (-0.0055274 + t * (-0.00009512 + t * (0.00137237 + t * (-0.00072805 + t * 0.00014476)))));
  const theta =
    x -
    0.78539816 +
    t *
      (-0.04166397 +
        t * (-0.00003954 + t * (0.00262573 + t * (-0.00054125 + t * (-0.00029333 + t * 0.00013558)))));
  return (f * Math.cos(theta)) / Math.sqrt(x);
}

describe('refusals', () => {
  test.each<[string, unknown]>([
    ['seeing must have one of fwhmArcsec and friedParameterMm, got neither', {}],
    [
      'seeing must have one of fwhmArcsec and friedParameterMm, got both',
      { fwhmArcsec: 2, friedParameterMm: 50 },
    ],
    ['seeing.fwhmArcsec must be a finite number > 0, got -1', { fwhmArcsec: -1 }],
    ['seeing.friedParameterMm must be a finite number > 0, got 0', { friedParameterMm: 0 }],
    ['seeing.outerScaleMm must be a finite number > 0, got 0', { fwhmArcsec: 2, outerScaleMm: 0 }],
    ['seeing.wavelengthNm must be a finite number > 0, got NaN', { fwhmArcsec: 2, wavelengthNm: Number.NaN }],
    ['seeing must be an object, got 2', 2],
  ])('%s', (message, seeing) => {
    expect(() => friedParameterMm(seeing as Seeing, 500)).toThrow(message);
  });

  test('of image motion', () => {
    const options = { seeing: { friedParameterMm: 100 }, apertureMm: 100, wavelengthNm: 500 };
    expect(() => imageMotionArcsec({ ...options, apertureMm: 0 })).toThrow('apertureMm must be');
    expect(() => imageMotionArcsec({ ...options, measure: 'peak' as 'centroid' })).toThrow(
      `measure must be 'centroid' or 'zernike', got "peak"`,
    );
  });
});
