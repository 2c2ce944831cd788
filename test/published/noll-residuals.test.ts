/**
 * What is left of Kolmogorov turbulence when the first J Zernike terms are taken away: Noll 1976, JOSA 66,
 * 207, Table IV.
 *
 * The printed values lie 0.1 to 0.5 % below an exact evaluation of Noll's own formulas (with the constant of
 * the spectrum in full, by quadrature), and the screens lack the waves shorter than two samples. So the
 * screens are held against both: the printed values within 1 %, the exact ones within chance and the missing
 * waves.
 */
import { randomStream } from '@holdfast/psf';
import { preparePhaseScreen } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { prepareParts } from '../../packages/psf/src/air/phase-screen.ts';
import { zernikeSum } from '../../packages/psf/src/waves/zernike.ts';
import { expectWithin } from '../expect-within.ts';
import { besselJ } from '../psf/bessel.ts';
import { checkPublished } from './published.ts';

/** Residual variance after J terms, in (D / r0)^(5/3) rad^2: as printed, and exact. */
const table: readonly (readonly [number, number, number])[] = [
  [1, 1.0299, 1.03242],
  [2, 0.582, 0.58354],
  [3, 0.134, 0.13466],
  [4, 0.111, 0.11145],
  [5, 0.088, 0.08823],
  [6, 0.0648, 0.06501],
  [7, 0.0587, 0.05882],
  [8, 0.0525, 0.05263],
  [9, 0.0463, 0.04644],
  [10, 0.0401, 0.04024],
  [11, 0.0377, 0.03779],
  [12, 0.0352, 0.03534],
  [13, 0.0328, 0.03288],
  [14, 0.0304, 0.03043],
  [15, 0.0279, 0.02797],
  [16, 0.0267, 0.02678],
  [17, 0.0255, 0.02559],
  [18, 0.0243, 0.0244],
  [19, 0.0232, 0.02321],
  [20, 0.022, 0.02202],
  [21, 0.0208, 0.02083],
];
const terms = table.length;
/** Radial order of each Noll index: order n has n + 1 of them. */
const orders = [0, 1, 2, 3, 4, 5].flatMap((n) => new Array<number>(n + 1).fill(n));
/** Variance of each term of a radial order, exact. */
const varianceOfOrder = [Number.NaN, 0.448879, 0.023218, 0.006191, 0.002454, 0.00119];

const diameterMm = 256;
/** r0 = D: variances then come out in the unit of the table. */
const air = { friedParameterMm: diameterMm };

interface Aperture {
  /** Places of the samples within the circle. */
  readonly inside: number[];
  /** Each Zernike term there. */
  readonly zernike: Float64Array[];
}

function aperture(samples: number): Aperture {
  const inside: number[] = [];
  const points: { x: number; y: number }[] = [];
  for (let j = 0; j < samples; j++)
    for (let i = 0; i < samples; i++) {
      const [x, y] = [(2 * i + 1) / samples - 1, (2 * j + 1) / samples - 1];
      if (x * x + y * y > 1) continue;
      inside.push(j * samples + i);
      points.push({ x, y });
    }
  const zernike = Array.from({ length: terms }, (_, term) => {
    const coefficients = new Float64Array(terms + 1);
    coefficients[term + 1] = 1;
    const { evaluate } = zernikeSum(coefficients);
    const point = { value: 0, slopeX: 0, slopeY: 0 };
    return Float64Array.from(points, ({ x, y }) => {
      evaluate(x, y, point);
      return point.value;
    });
  });
  return { inside, zernike };
}

/**
 * What a Noll term of order n takes of a plane wave of variance 1, averaged over directions (Noll 1976, eq.
 * 8): (n + 1) (2 J[n+1](x) / x)^2 with x = pi k D; for order 0, what it leaves. All begin as x^2, by which
 * they are divided in the table, or the longest waves would be lost in the rounding.
 */
const tableStep = 0.02;
const tableEnd = 4000;
const takenByOrder = [0, 1, 2, 3, 4, 5].map((n) =>
  Float64Array.from({ length: tableEnd + 1 }, (_, i) => {
    if (i === 0) return [1 / 4, 1 / 8, 0, 0, 0, 0][n];
    const x = i * tableStep;
    const taken = (n + 1) * ((2 * besselJ(n + 1, x)) / x) ** 2;
    return (n === 0 ? 1 - taken : taken) / (x * x);
  }),
);

function takenBy(order: number, x: number): number {
  const i = Math.floor(x / tableStep);
  // Beyond the table piston leaves all, and the higher terms take nothing that could be seen.
  if (i >= tableEnd) return order === 0 ? 1 : 0;
  const taken = takenByOrder[order];
  return x * x * (taken[i] + (x / tableStep - i) * (taken[i + 1] - taken[i]));
}

describe('the mean over all skies', () => {
  // The screens are sums of plane waves of known variance: what each term takes of them follows without
  // drawing their amplitudes. Only the placing of the waves is left to chance.
  const samples = 128;
  const spacingMm = diameterMm / samples;
  const { tile } = prepareParts({ samples, spacingMm }, air, randomStream(1));
  // The long waves depend on the side of the tile only.
  const { longWaves } = prepareParts({ samples: 4, spacingMm: diameterMm / 4 }, air, randomStream(1));
  const size = Math.sqrt(tile.power.length);
  const byOrder = new Float64Array(6);
  const add = (kx: number, ky: number, power: number): void => {
    const x = Math.PI * diameterMm * Math.sqrt(kx * kx + ky * ky);
    for (let n = 0; n < 6; n++) byOrder[n] += power * takenBy(n, x);
  };
  const longSkies = 3000;
  for (let sky = 0; sky < longSkies; sky++) {
    longWaves.renew(randomStream('noll', sky));
    // The plane slopes by slopeSigma along each axis: its Noll terms 2 and 3 are a quarter of the diameter
    // times that.
    const tilt = (longWaves.slopeSigma * diameterMm) / 4;
    byOrder[0] += (2 * tilt * tilt) / longSkies;
    byOrder[1] += (tilt * tilt) / longSkies;
    for (let w = 0; w < longWaves.kx.length; w++)
      add(longWaves.kx[w], longWaves.ky[w], longWaves.amplitude[w] ** 2 / longSkies);
  }
  const tileSkies = 100;
  for (let sky = 0; sky < tileSkies; sky++) {
    tile.renew(randomStream('noll', sky));
    for (let j = 0, k = 0; j < size; j++)
      for (let i = 0; i < size; i++, k++) {
        if (tile.power[k] === 0) continue;
        const kx = ((i < size / 2 ? i : i - size) + tile.shift.x) / (size * spacingMm);
        const ky = ((j < size / 2 ? j : j - size) + tile.shift.y) / (size * spacingMm);
        add(kx, ky, tile.power[k] / tileSkies);
      }
  }
  let left = byOrder[0];
  const residuals = orders.map((order) => {
    if (order > 0) left -= byOrder[order];
    return left;
  });

  for (const [J, printed, exact] of table) {
    checkPublished(
      {
        what: `residual after ${J} terms, (D / r0)^(5/3) rad^2`,
        value: printed,
        tolerance: 0.01 * printed,
        source: 'Noll 1976, Table IV',
        note: '1 %: the rounding of its constants and last digits, chance, waves below two samples',
      },
      () => residuals[J - 1],
    );
    test(`residual after ${J} terms is the exact ${exact} within chance and the missing waves`, () => {
      const missing = 0.23 * (1 / samples) ** (5 / 3);
      expectWithin(residuals[J - 1], exact - missing, 0.003 * exact, 'the placing of the waves');
    });
  }

  test.each([1, 2, 3, 4, 5])('each term of radial order %d has its variance', (order) => {
    expectWithin(byOrder[order] / varianceOfOrder[order], 1, 0.004, 'the placing of the waves');
  });
});

describe('drawn screens', () => {
  const samples = 32;
  const { inside, zernike } = aperture(samples);
  const screen = preparePhaseScreen(
    { seeing: { ...air, wavelengthNm: 500 }, samples, spacingMm: diameterMm / samples },
    randomStream(1),
  );
  const opd = new Float64Array(samples * samples);
  const radPerNm = (2 * Math.PI) / 500;
  const skies = 900;
  const residuals: number[][] = Array.from({ length: terms }, () => []);
  const squares: number[][] = Array.from({ length: terms }, () => []);
  const phase = new Float64Array(inside.length);
  for (let sky = 0; sky < skies; sky++) {
    screen.renew(randomStream('drawn noll', sky));
    screen.opdInto(opd);
    for (let n = 0; n < phase.length; n++) phase[n] = radPerNm * opd[inside[n]];
    for (let term = 0; term < terms; term++) {
      const values = zernike[term];
      let coefficient = 0;
      for (let n = 0; n < phase.length; n++) coefficient += values[n] * phase[n];
      coefficient /= phase.length;
      let square = 0;
      for (let n = 0; n < phase.length; n++) {
        phase[n] -= coefficient * values[n];
        square += phase[n] * phase[n];
      }
      squares[term].push(coefficient * coefficient);
      residuals[term].push(square / phase.length);
    }
  }
  const meanOf = (sample: readonly number[]): { mean: number; standardError: number } => {
    const mean = sample.reduce((sum, value) => sum + value, 0) / sample.length;
    const variance = sample.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (sample.length - 1);
    return { mean, standardError: Math.sqrt(variance / sample.length) };
  };

  test.each(table)('after %d terms leave the residual', (J, _printed, exact) => {
    const { mean, standardError } = meanOf(residuals[J - 1]);
    const missing = 0.23 * (1 / samples) ** (5 / 3);
    expect(standardError / exact).toBeLessThan(0.04);
    expectWithin(mean, exact - missing, 0.003 * exact + 4 * standardError, 'the method; chance');
  });

  test.each([1, 2, 3, 4, 5])('have the variance of radial order %d', (order) => {
    const perSky = Array.from({ length: skies }, (_, sky) => {
      const found = squares.filter((_, term) => orders[term] === order);
      return found.reduce((sum, sample) => sum + sample[sky], 0) / found.length;
    });
    const { mean, standardError } = meanOf(perSky);
    expect(standardError / mean).toBeLessThan(0.05);
    expectWithin(mean / varianceOfOrder[order], 1, 0.004 + (4 * standardError) / mean, 'the method; chance');
  });
});
