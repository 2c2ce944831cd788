import { createImage, prepareStar, randomStream, type StarShape } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { measureWindow, type RoundWindow } from '../../../packages/sim/src/frame/stars/window-light.ts';
import { expectWithin, expectWithinSigmas } from '../../expect-within.ts';

const size = { width: 47, height: 53 };
const place = { x: 21.3, y: 28.8 };

function window(shape: StarShape, flux: number, extra: Partial<RoundWindow> = {}): RoundWindow {
  const image = createImage(size.width, size.height);
  prepareStar(shape, size).renderInto(image, place.x, place.y, flux);
  for (let k = 0; k < image.data.length; k++) image.data[k] += 30;
  return {
    ...size,
    ...place,
    pixels: image.data,
    valid: new Uint8Array(image.data.length).fill(1),
    radiusPx: 14,
    backgroundE: 30,
    backgroundSigmaE: 0,
    fixedVariance: 9,
    ...extra,
  };
}

const gaussian = { kind: 'gaussian', fwhmPx: 5, axisRatio: 0.6, angleDeg: 30 } as const;

describe('without noise', () => {
  test('flux, and second moments with the pixel of 1/12 px^2 in them', () => {
    const light = measureWindow(window(gaussian, 10_000))!;
    const long = (5 / 2.3548200450309493) ** 2;
    const short = long * 0.36;
    // 30 degrees: cos^2 = 3/4, sin^2 = 1/4, sin cos = sqrt(3) / 4
    expectWithin(light.fluxE.value, 10_000, 0.1, 'beyond 6.5 rms widths there is nothing');
    expectWithin(light.secondMomentsPx2.xx.value, 0.75 * long + 0.25 * short + 1 / 12, 1e-4, 'closed form');
    expectWithin(light.secondMomentsPx2.yy.value, 0.25 * long + 0.75 * short + 1 / 12, 1e-4, 'closed form');
    expectWithin(light.secondMomentsPx2.xy.value, (Math.sqrt(3) / 4) * (long - short), 1e-4, 'closed form');
  });

  test('third moments: 0 of a symmetric star wherever the window is centered; those of a comet in focus', () => {
    for (const off of [0, 0.7]) {
      const star = window(gaussian, 10_000);
      const { thirdMomentsPx3: third } = measureWindow({ ...star, x: star.x + off, y: star.y - off })!;
      for (const one of Object.values(third)) expectWithin(one.value, 0, 2e-3, 'beyond 5.9 rms widths');
    }
    // with z = C rho^2 (2 + e^2iphi) over a full disc <|d|^2 d> = 4 C^3 (m6 - m2 m4 + 2 (m6 - 3 m4 m2 + 2
    // m2^3)) with m2 = 1/2, m4 = 1/3, m6 = 1/4: C^3 / 3; toward 60 degrees
    const comet = {
      kind: 'coma',
      sagittalComaPx: 4,
      angleDeg: 60,
      obstructionRatio: 0,
      blurFwhmPx: 2,
    } as const;
    const light = measureWindow(window(comet, 10_000))!.thirdMomentsPx3;
    expectWithin(light.sumX.value, 64 / 6, 0.05, 'closed form; pixels and blur are symmetric');
    expectWithin(light.sumY.value, (64 / 3) * Math.sqrt(0.75), 0.05, 'closed form');
    expectWithin(light.sumX.value, light.xxx.value + light.xyy.value, 1e-9, 'its definition');
    expectWithin(light.sumY.value, light.xxy.value + light.yyy.value, 1e-9, 'its definition');
  });

  test('the half-light diameter of a round Gaussian is its FWHM', () => {
    for (const fwhmPx of [3, 6]) {
      const light = measureWindow(window({ kind: 'gaussian', fwhmPx }, 10_000))!;
      expectWithin(
        light.halfFluxDiameterPx.value,
        fwhmPx,
        0.04,
        'parabolas in the pixels, a soft edge of 0.3 px',
      );
    }
  });

  test('the half-light diameter of a ring is D sqrt((1 + ratio^2) / 2)', () => {
    const ring = { kind: 'annulus', outerDiameterPx: 24, obstructionRatio: 0.4, blurFwhmPx: 0 } as const;
    const light = measureWindow(window(ring, 10_000))!;
    expectWithin(
      light.halfFluxDiameterPx.value,
      24 * Math.sqrt(1.16 / 2),
      0.03,
      'parts of a fifth of a pixel',
    );
  });

  test('the peak is the highest pixel above the background; pixels that are not valid do not count', () => {
    const whole = window(gaussian, 10_000);
    const peak = measureWindow(whole)!.peakE;
    const highest = whole.pixels.indexOf(peak + 30);
    expect(highest).toBe(29 * size.width + 21);
    const valid = whole.valid.slice();
    valid[highest] = 0;
    expect(measureWindow({ ...whole, valid })!.peakE).toBeLessThan(peak);
  });

  test('no light in sum: nothing is measured', () => {
    expect(measureWindow({ ...window(gaussian, 100), backgroundE: 40 })).toBeUndefined();
  });
});

test('the stated errors are those of trials', () => {
  const trials = 120;
  const truth = measureWindow(window(gaussian, 20_000))!;
  const pulls: Record<string, number[]> = {
    flux: [],
    xx: [],
    xy: [],
    yy: [],
    diameter: [],
    xxx: [],
    xxy: [],
    sumY: [],
  };
  for (let trial = 0; trial < trials; trial++) {
    const photon = randomStream('aperture', 'photon', trial);
    const read = randomStream('aperture', 'read', trial);
    const noisy = window(gaussian, 20_000, { backgroundSigmaE: 0.05 });
    for (let k = 0; k < noisy.pixels.length; k++)
      noisy.pixels[k] = photon.poisson(noisy.pixels[k]!) + 3 * read.normal();
    // the background is known to 0.05 electrons
    const light = measureWindow({ ...noisy, backgroundE: 30 + 0.05 * read.normal() })!;
    const pull = (name: string, of: (l: typeof light) => { value: number; standardError: number }) =>
      pulls[name]!.push((of(light).value - of(truth).value) / of(light).standardError);
    pull('flux', (l) => l.fluxE);
    pull('xxx', (l) => l.thirdMomentsPx3.xxx);
    pull('xxy', (l) => l.thirdMomentsPx3.xxy);
    pull('sumY', (l) => l.thirdMomentsPx3.sumY);
    pull('xx', (l) => l.secondMomentsPx2.xx);
    pull('xy', (l) => l.secondMomentsPx2.xy);
    pull('yy', (l) => l.secondMomentsPx2.yy);
    pull('diameter', (l) => l.halfFluxDiameterPx);
  }
  for (const [name, values] of Object.entries(pulls)) {
    const mean = values.reduce((sum, value) => sum + value, 0) / trials;
    const rms = Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / trials);
    expectWithinSigmas(mean, 0, 1 / Math.sqrt(trials), 4);
    // the rms of 120 normal numbers scatters by 1 / sqrt(240) = 0.065
    expectWithin(rms, 1, 0.25, `rms of ${name} over its stated error, 120 trials`);
  }
});
