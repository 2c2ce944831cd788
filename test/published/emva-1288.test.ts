/** The worked example of the linear camera model, EMVA Standard 1288 (R3.1; R4.0 keeps the definitions). */
import {
  type Camera,
  createImage,
  exposeFrame,
  frameToAdu,
  pixelNoiseE,
  randomStream,
  snrOfStar,
} from '@holdfast/psf';
import { describe, test } from 'vitest';
import { expectWithinSigmas } from '../expect-within.ts';
import { moments } from '../psf/goodness-of-fit.ts';
import { checkPublished } from './published.ts';

const source =
  'EMVA 1288 R3.1, definitions as in its reference implementation; the example was computed with numpy';

// K = 0.25 DN per electron, 5 electrons of dark noise, quantum efficiency 0.6, saturation at 20,000
// electrons.
const K = 0.25;
const quantumEfficiency = 0.6;
const camera: Camera = { readNoiseE: 5, gainEPerAdu: 1 / K, offsetAdu: 100, bitDepth: 16, fullWellE: 20_000 };
const pixel = { pixels: 1, readNoiseE: camera.readNoiseE, gainEPerAdu: camera.gainEPerAdu };

/** Detection limit: the signal whose SNR is 1 in the standard's approximation, sigma_y.dark / K + 1/2. */
const leastE = () => pixelNoiseE(camera) + 0.5;

describe('from the camera model', () => {
  const check = (what: string, value: number, tolerance: number, ours: () => number) =>
    checkPublished({ what, value, tolerance, source, note: 'digits printed' }, ours);

  check('temporal dark noise, DN', 1.2829, 5e-7, () => pixelNoiseE(camera) * K);
  check('sensitivity threshold, electrons', 5.631601, 5e-7, leastE);
  check('sensitivity threshold, photons', 9.386002, 5e-7, () => leastE() / quantumEfficiency);
  check('dynamic range', 3551.388, 5e-4, () => camera.fullWellE / leastE());
  check('dynamic range, dB', 71.008, 5e-5, () => 20 * Math.log10(camera.fullWellE / leastE()));
  check('SNR at 1000 photons', 23.97444, 5e-6, () =>
    snrOfStar({ starE: 1000 * quantumEfficiency, ...pixel }),
  );
  // The standard's largest SNR leaves the dark noise out: sqrt of the saturation.
  const bare = { pixels: 1, readNoiseE: 0 };
  check('largest SNR', 141.4214, 5e-5, () => snrOfStar({ starE: camera.fullWellE, ...bare }));
});

describe('from simulated frames', () => {
  const side = 300;
  const n = side * side;
  const gray = (electrons: number, seed: string) => {
    const light = createImage(side, side, new Float64Array(n).fill(electrons));
    return moments(frameToAdu(exposeFrame(light, camera, randomStream('emva', seed)), camera).data);
  };

  test(`variance at 1000 photons = 39.145833 DN^2 [${source}]`, () => {
    const { variance } = gray(1000 * quantumEfficiency, '600');
    expectWithinSigmas(variance, 39.145833, 39.145833 * Math.sqrt(2 / n), 4);
  });

  test(`dark noise = 1.282900 DN [${source}]`, () => {
    const noise = Math.sqrt(gray(0, 'dark').variance);
    expectWithinSigmas(noise, 1.2829, 1.2829 / Math.sqrt(2 * n), 4);
  });

  test('the photon transfer line has the slope K and the dark variance', () => {
    // Least squares of variance against mean above dark, weighted by the error of each variance.
    const levels = [0, 100, 400, 1000, 2500, 5000, 10_000, 15_000];
    const points = levels.map((electrons) => gray(electrons, `line ${electrons}`));
    let s = 0;
    let sx = 0;
    let sy = 0;
    let sxx = 0;
    let sxy = 0;
    for (const { mean, variance } of points) {
      const x = mean - camera.offsetAdu;
      const weight = n / (2 * variance * variance);
      s += weight;
      sx += weight * x;
      sy += weight * variance;
      sxx += weight * x * x;
      sxy += weight * x * variance;
    }
    const determinant = s * sxx - sx * sx;
    expectWithinSigmas((s * sxy - sx * sy) / determinant, K, Math.sqrt(s / determinant), 4);
    const darkVariance = K * K * 25 + 1 / 12; // sigma_y.dark^2 = K^2 sigma_d^2 + sigma_q^2
    expectWithinSigmas((sxx * sy - sx * sxy) / determinant, darkVariance, Math.sqrt(sxx / determinant), 4);
  });

  test('saturation is the peak of the photon transfer curve', () => {
    // The variance rises up to the full well, and falls where pixels are full.
    const below = gray(19_000, 'below').variance;
    const above = gray(21_500, 'above').variance; // 10 standard deviations of the light above the full well
    expectWithinSigmas(below, K * K * (19_000 + 25) + 1 / 12, K * K * 19_000 * Math.sqrt(2 / n), 4);
    const darkVariance = 1.2829 ** 2;
    expectWithinSigmas(above, darkVariance, darkVariance * Math.sqrt(2 / n), 4);
  });
});
