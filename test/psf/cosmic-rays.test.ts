import { type Camera, prepareExposure, randomStream } from '@holdfast/psf';
import { describe, expect, test } from 'vitest';
import {
  addTrack,
  type CosmicRays,
  drawTrack,
  prepareCosmicRays,
} from '../../packages/psf/src/camera/cosmic-rays.ts';
import { expectWithin, expectWithinSigmas } from '../expect-within.ts';
import {
  chiSquare,
  correlation,
  kolmogorovSmirnov,
  moments,
  poissonProbabilities,
} from './goodness-of-fit.ts';
import { normalCdf } from './normal-cdf.ts';

const width = 90;
const height = 70;
const n = width * height;
const sum = (pixels: Float64Array) => pixels.reduce((a, b) => a + b, 0);

describe('the number of muons', () => {
  // So thin that each track stays in one pixel, so rich in electrons that each is seen.
  const rays: CosmicRays = { ratePerCm2PerMin: 4000, pixelSizeUm: 5, depthUm: 1e-4, electronsPerUm: 1e6 };
  const frames = 4000;
  const mean = (4000 * width * height * 25e-8 * 25) / 60; // rate, cm^2, 25 s: 2.6 per frame
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

  test('is large enough for these tests', () => {
    expectWithin(mean, 2.625, 1e-12, 'rounding');
    expect(electrons.length).toBeGreaterThan(10_000);
  });

  test('their electrons are those of their tracks', () => {
    // Mean and spread of E = 100 (1 - 0.1 ln z^2) / cos; moments of 1 / cos, and of -ln z^2 (Moyal) as below
    // and pi^2 / 2.
    const length = 4 / 3 - 101 ** -1.5 / 3;
    const square = 2 - 1 / 101; // of 1 / cos, with the cut: 2 (1 - c^2) + c^2
    const moyal = 1 + 0.1 * (Math.LN2 + 0.5772156649015329);
    const variance = square * (moyal ** 2 + 0.01 * (Math.PI ** 2 / 2)) - (length * moyal) ** 2;
    const m = moments(Float64Array.from(electrons));
    expectWithinSigmas(m.mean, 100 * length * moyal, 100 * Math.sqrt(variance / electrons.length), 4);
  });
});

describe('the track of a muon', () => {
  const count = 30_000;
  const random = randomStream('tracks');
  const tracks = Array.from({ length: count }, () => {
    const track = { dx: 0, dy: 0, electrons: 0 };
    drawTrack(track, 4, 400, random);
    return track;
  });
  // From the run along the surface to the cosine of the zenith angle: tan = run / depth.
  const cosines = tracks.map(({ dx, dy }) => 1 / Math.sqrt(1 + (Math.hypot(dx, dy) / 4) ** 2));
  const fits = (sample: number[], cdf: (x: number) => number) => {
    const fit = kolmogorovSmirnov(Float64Array.from(sample), cdf);
    expect(fit.statistic).toBeLessThan(fit.critical);
  };

  test('runs in every direction alike', () => {
    fits(
      tracks.map(({ dx, dy }) => Math.atan2(dy, dx)),
      (angle) => (angle + Math.PI) / (2 * Math.PI),
    );
  });

  test('has the zenith angle of a flux through a level surface: cos^4 is uniform', () => {
    fits(
      cosines.map((c) => c ** 4),
      (x) => x,
    );
    const longest = tracks.reduce((most, { dx, dy }) => Math.max(most, Math.hypot(dx, dy)), 0);
    expectWithin(longest, 40, 1e-12, 'rounding; three of 30,000 are expected beyond 10 depths');
  });

  test('has electrons in proportion to its path, with fluctuations after Moyal', () => {
    // (E / straight - 1) / 0.1 is at most t when z^2 >= exp(-t).
    fits(
      tracks.map(({ electrons }, i) => ((electrons * cosines[i]) / 400 - 1) / 0.1),
      (t) => 2 * normalCdf(-Math.exp(-t / 2)),
    );
  });

  test('its direction, angle and electrons are independent', () => {
    const angles = Float64Array.from(tracks, ({ dx, dy }) => Math.atan2(dy, dx));
    const levels = Float64Array.from(tracks, ({ electrons }, i) => Math.min(2000, electrons * cosines[i]));
    const flat = Float64Array.from(cosines);
    for (const [a, b] of [
      [angles, levels],
      [angles, flat],
      [levels, flat],
    ])
      expect(Math.abs(correlation(a, b)) * Math.sqrt(count)).toBeLessThan(4);
  });
});

describe('tracks through a thick layer', () => {
  // A depth of 4 pixels: tracks of up to 40, some 2.6 entering the stamp in each frame.
  const rays: CosmicRays = { ratePerCm2PerMin: 100_000, pixelSizeUm: 5, depthUm: 20 };
  const shower = prepareCosmicRays(rays, 1, { width, height });
  const frames = 3000;
  const parts: [string, (x: number, y: number) => boolean][] = [
    ['everywhere', () => true],
    ['left', (x) => x === 0],
    ['right', (x) => x === width - 1],
    ['first row', (_, y) => y === 0],
    ['last row', (_, y) => y === height - 1],
  ];
  const places = parts.map(([, within]) =>
    Array.from({ length: n }, (_, k) => k).filter((k) => within(k % width, Math.floor(k / width))),
  );
  const meanE = parts.map(() => new Float64Array(frames));
  const charge = new Float64Array(n);
  for (let i = 0; i < frames; i++) {
    charge.fill(0);
    shower(charge, randomStream('thick', i));
    places.forEach((place, part) => {
      let total = 0;
      for (const k of place) total += charge[k];
      meanE[part][i] = total / place.length;
    });
  }
  // Mean of 1 / cos with the density 4 cos^3 is 4/3; paths of more than 10 depths along the surface count as
  // 10, which takes off c^3 / 3 with c^2 = 1/101. Mean of -ln z^2 is ln 2 + Euler's constant.
  const path = 20 * (4 / 3 - 101 ** -1.5 / 3);
  const mean = ((100_000 * 25e-8) / 60) * path * 80 * (1 + 0.1 * (Math.LN2 + 0.5772156649015329));

  test.each(parts.map(([name], part) => [name, part] as const))(
    'leave the electrons of their length, at the borders as within: %s',
    (_, part) => {
      const m = moments(meanE[part]);
      expectWithinSigmas(m.mean, mean, Math.sqrt(m.variance / frames), 4);
    },
  );
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
