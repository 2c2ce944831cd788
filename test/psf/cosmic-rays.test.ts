import { type Camera, prepareExposure, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import { addTrack, type CosmicRays, prepareCosmicRays } from '../../packages/psf/src/cosmic-rays.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import { chiSquare, kolmogorovSmirnov, moments, poissonProbabilities } from './goodness-of-fit.ts';
import { normalCdf } from './normal-cdf.ts';

const width = 90;
const height = 70;
const n = width * height;
const sum = (pixels: Float64Array) => pixels.reduce((a, b) => a + b, 0);

describe('the number of muons', () => {
  // So thin that each track stays in one pixel, so rich in electrons that each is seen.
  const rays: CosmicRays = { ratePerCm2PerMin: 40, pixelSizeUm: 5, depthUm: 1e-4, electronsPerUm: 1e6 };
  const frames = 4000;
  const mean = (40 * width * height * 25e-8 * 25) / 60; // rate, cm^2, 25 s: 2.6 per frame
  const shower = prepareCosmicRays(rays, 25, { width, height });
  const hits = new Float64Array(n);
  const counts: number[] = [];
  const electrons: number[] = [];
  const charge = new Float64Array(n);
  for (let i = 0; i < frames; i++) {
    charge.fill(0);
    shower(charge, randomStream('muons', i));
    let count = 0;
    charge.forEach((e, k) => {
      if (e > 0) {
        count++;
        hits[k]++;
        electrons.push(e);
      }
    });
    counts.push(count);
  }

  test('is Poisson with the rate times area times exposure', () => {
    const { first, probabilities } = poissonProbabilities(mean);
    expect(first).toBe(0);
    const histogram = probabilities.map((_, k) => counts.filter((count) => count === k).length);
    // Two muons in one pixel count as one: 5e-4 of all frames.
    const fit = chiSquare(histogram, probabilities);
    expect(fit.statistic).toBeLessThan(fit.critical);
    const total = counts.reduce((a, b) => a + b, 0);
    expectWithinSigmas(total / frames, mean, Math.sqrt(mean / frames), 4);
  });

  test('is the same everywhere', () => {
    // By quarters of the stamp and by the pixels along its border.
    const quarters = [0, 0, 0, 0];
    let border = 0;
    for (let y = 0, k = 0; y < height; y++)
      for (let x = 0; x < width; x++, k++) {
        quarters[(x < width / 2 ? 0 : 1) + (y < height / 2 ? 0 : 2)] += hits[k];
        if (x === 0 || y === 0 || x === width - 1 || y === height - 1) border += hits[k];
      }
    const fit = chiSquare(quarters, [0.25, 0.25, 0.25, 0.25]);
    expect(fit.statistic).toBeLessThan(fit.critical);
    const expected = (mean * frames * (2 * width + 2 * height - 4)) / n;
    expectWithinSigmas(border, expected, Math.sqrt(expected), 4);
  });

  test('their electrons: Moyal fluctuations on a path that is longer the flatter it is', () => {
    // E = 100 (1 - 0.1 ln z^2) / cos, with the density 4 cos^3. Given the cosine u, E is at most e when ln z^2 is at
    // least 10 (1 - e u / 100), that is |z| >= exp(5 (1 - e u / 100)).
    const cdf = (e: number) => {
      const steps = 200;
      let integral = 0;
      for (let i = 0; i <= steps; i++) {
        const u = i / steps;
        const given = 2 * normalCdf(-Math.exp(5 * (1 - (e * u) / 100)));
        integral += ((i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2) * 4 * u ** 3 * given) / (3 * steps);
      }
      return integral;
    };
    const fit = kolmogorovSmirnov(Float64Array.from(electrons), cdf);
    expect(fit.statistic).toBeLessThan(fit.critical);
  });
});

describe('tracks through a thick layer', () => {
  // A depth of 4 pixels: tracks of up to 40.
  const rays: CosmicRays = { ratePerCm2PerMin: 5000, pixelSizeUm: 5, depthUm: 20 };
  const shower = prepareCosmicRays(rays, 1, { width, height });
  const frames = 3000;
  const perFrame = new Float64Array(frames);
  const borderPerFrame = new Float64Array(frames);
  for (let i = 0; i < frames; i++) {
    const charge = new Float64Array(n);
    shower(charge, randomStream('thick', i));
    perFrame[i] = sum(charge) / n;
    borderPerFrame[i] = sum(charge.subarray(0, width)) / width;
  }
  // Mean of 1 / cos with the density 4 cos^3 is 4/3; paths of more than 10 depths along the surface count as 10, which
  // takes off c^3 / 3 with c^2 = 1/101. Mean of -ln z^2 is ln 2 + Euler's constant.
  const path = 20 * (4 / 3 - 101 ** -1.5 / 3);
  const mean = ((5000 * 25e-8) / 60) * path * 80 * (1 + 0.1 * (Math.LN2 + 0.5772156649015329));

  test('leave the electrons of their length, at the border of the stamp as within', () => {
    for (const values of [perFrame, borderPerFrame]) {
      const m = moments(values);
      expectWithinSigmas(m.mean, mean, Math.sqrt(m.variance / frames), 4);
    }
  });

  test('run in all directions alike', () => {
    // Second moments of the electrons of a frame about their own centre: as wide as high, and no diagonal.
    const side = 61;
    const few = prepareCosmicRays({ ...rays, ratePerCm2PerMin: 20_000 }, 1, { width: side, height: side });
    const charge = new Float64Array(side * side);
    const wider: number[] = [];
    const diagonal: number[] = [];
    for (let i = 0; i < 5000; i++) {
      charge.fill(0);
      few(charge, randomStream('directions', i));
      let [s, sx, sy, sxx, syy, sxy] = [0, 0, 0, 0, 0, 0];
      for (let k = 0; k < charge.length; k++) {
        const e = charge[k];
        if (e === 0) continue;
        const x = k % side;
        const y = Math.floor(k / side);
        s += e;
        sx += e * x;
        sy += e * y;
        sxx += e * x * x;
        syy += e * y * y;
        sxy += e * x * y;
      }
      if (s === 0) continue;
      wider.push(sxx / s - (sx / s) ** 2 - (syy / s - (sy / s) ** 2));
      diagonal.push(2 * (sxy / s - (sx * sy) / s ** 2));
    }
    expect(wider.length).toBeGreaterThan(1000);
    for (const values of [wider, diagonal]) {
      const m = moments(Float64Array.from(values));
      expectWithinSigmas(m.mean, 0, Math.sqrt(m.variance / values.length), 4);
    }
    // Tracks turned by 45 degrees look alike as well.
    const squares = (values: number[]) => moments(Float64Array.from(values.map((v) => v * v)));
    const [a, b] = [squares(wider), squares(diagonal)];
    expectWithinSigmas(a.mean - b.mean, 0, Math.sqrt((a.variance + b.variance) / wider.length), 4);
  });
});

describe('one track', () => {
  const trackOf = (x: number, y: number, dx: number, dy: number, electrons = 100) => {
    const charge = new Float64Array(8 * 5);
    addTrack(charge, 8, 5, x, y, dx, dy, electrons);
    return charge;
  };
  const lit = (charge: Float64Array) =>
    [...charge].flatMap((e, k) => (e > 0 ? [[k % 8, Math.floor(k / 8), e]] : []));

  test('leaves its electrons where it runs, by length', () => {
    expect(lit(trackOf(2.5, 3.5, 0, 0))).toEqual([[2, 3, 100]]);
    expect(lit(trackOf(2.5, 3.5, 2, 0))).toEqual([
      [2, 3, 25],
      [3, 3, 50],
      [4, 3, 25],
    ]);
    expect(lit(trackOf(2.5, 3.5, 0, -2))).toEqual([
      [2, 1, 25],
      [2, 2, 50],
      [2, 3, 25],
    ]);
    expect(lit(trackOf(3.75, 2.5, -0.5, 1))).toEqual([
      [3, 2, 50],
      [3, 3, 50],
    ]);
  });

  test('loses what lies outside', () => {
    expect(lit(trackOf(-1, 0.5, 4, 0))).toEqual([
      [0, 0, 25],
      [1, 0, 25],
      [2, 0, 25],
    ]);
    expect(sum(trackOf(-3, -2, 2, 1))).toBe(0);
    expect(sum(trackOf(7.5, 4.5, 1, 1))).toBe(50);
  });

  test('is what a walk in small steps gives', () => {
    const random = randomStream('walk');
    const between = (a: number, b: number) => a + (b - a) * random.uniform();
    for (let i = 0; i < 200; i++) {
      const [x, y, dx, dy] = [between(-2, 10), between(-2, 7), between(-6, 6), between(-6, 6)];
      const charge = trackOf(x, y, dx, dy, 1);
      const steps = 4000;
      const walked = new Float64Array(40);
      for (let s = 0; s < steps; s++) {
        const column = Math.floor(x + (dx * (s + 0.5)) / steps);
        const row = Math.floor(y + (dy * (s + 0.5)) / steps);
        if (column >= 0 && column < 8 && row >= 0 && row < 5) walked[row * 8 + column] += 1 / steps;
      }
      for (let k = 0; k < 40; k++) expectWithin(charge[k], walked[k], 1.001 / steps, 'a step at either end');
    }
  });
});

describe('in a camera', () => {
  const camera: Camera = {
    readNoiseE: 0,
    gainEPerAdu: 1,
    offsetAdu: 0,
    bitDepth: 20,
    fullWellE: 500,
    exposureS: 60,
    cosmicRays: { ratePerCm2PerMin: 20_000, pixelSizeUm: 5, depthUm: 1e-4, electronsPerUm: 2e6 },
  };
  const frameOf = (change: Partial<Camera>) => {
    const out = new Float64Array(n);
    prepareExposure({ ...camera, ...change }, { width, height }).exposeInto(
      out,
      new Float64Array(n),
      randomStream('hits'),
    );
    return out;
  };

  test('they fill the well like light', () => {
    const open = frameOf({ fullWellE: 1e6 });
    const frame = frameOf({ fullWellE: 250 });
    expect(frame).toEqual(open.map((e) => Math.min(e, 250)));
    // Of some 30 muons, of 200 / cos most probable electrons each, some fill the pixel and some do not.
    expect(frame.filter((e) => e === 250).length).toBeGreaterThan(0);
    expect(frame.filter((e) => e > 0 && e < 250).length).toBeGreaterThan(0);
  });

  test('their number grows with the exposure', () => {
    const count = (exposureS: number) => frameOf({ exposureS, fullWellE: 1e6 }).filter((e) => e > 0).length;
    const mean = 20_000 * n * 25e-8; // 31.5 in a minute
    expectWithinSigmas(count(60), mean, Math.sqrt(mean), 4);
    expectWithinSigmas(count(600), 10 * mean, Math.sqrt(10 * mean), 4);
    expect(count(0)).toBe(0);
  });
});
