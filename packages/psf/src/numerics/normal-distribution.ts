/**
 * Integral and density of the normal distribution together, from a table of Taylor series: the Gaussian fit needs both at
 * every pixel edge. Measured on Node 20: 16 ns for both, where an error function and an exponential take 107 ns. The table
 * is made with + - * / only, so that every engine gets the same bits.
 */

const pointsPerSigma = 64;

/** Beyond this many sigmas the density counts as 0: it is below 2e-18, and so is what lies further out. */
const limit = 9;

/** Coefficients a point: the first term left out is below 1e-20 in the integral and 1e-17 in the density. */
const terms = 8;

/** Taylor coefficients of the integral about -limit, -limit + 1/64, ..., limit. */
const table = new Float64Array((2 * limit * pointsPerSigma + 1) * terms);

fillTable();

/**
 * Write the integral of the unit normal density from 0 to u to out[0], and the density at u to out[1]. Both are right to
 * 4e-16.
 */
export function normalInto(out: Float64Array, u: number): void {
  if (!(u > -limit && u < limit)) {
    out[0] = u < 0 ? -0.5 : 0.5;
    out[1] = 0;
    return;
  }
  const g = Math.floor((u + limit) * pointsPerSigma + 0.5);
  const d = u - (g / pointsPerSigma - limit);
  const c = table;
  const k = g * terms;
  const a1 = c[k + 1];
  const a2 = c[k + 2];
  const a3 = c[k + 3];
  const a4 = c[k + 4];
  const a5 = c[k + 5];
  const a6 = c[k + 6];
  const a7 = c[k + 7];
  // In pairs, so that no term waits for all those before it
  const d2 = d * d;
  const d4 = d2 * d2;
  out[0] = c[k] + a1 * d + d2 * (a2 + a3 * d) + d4 * (a4 + a5 * d + d2 * (a6 + a7 * d));
  out[1] = a1 + 2 * a2 * d + d2 * (3 * a3 + 4 * a4 * d) + d4 * (5 * a5 + 6 * a6 * d + d2 * (7 * a7));
}

function fillTable(): void {
  const series = new Float64Array(terms + 1);
  const half = 0.5 / pointsPerSigma;
  let integral = 0;
  for (let g = 0; g <= limit * pointsPerSigma; g++) {
    const t = g / pointsPerSigma;
    if (g > 0) {
      // From the middle of the step the even terms of the integral cancel
      expandIntegral(series, t - half);
      for (let m = terms - (terms % 2 === 0 ? 1 : 0); m >= 1; m -= 2)
        integral += 2 * series[m] * power(half, m);
    }
    expandIntegral(series, t);
    for (const side of [1, -1]) {
      const at = (limit * pointsPerSigma + side * g) * terms;
      table[at] = side * integral;
      // The integral is odd: its m-th derivative at -t is that at t, times (-1)^(m + 1)
      for (let m = 1; m < terms; m++) table[at + m] = side === -1 && m % 2 === 0 ? -series[m] : series[m];
    }
  }
}

/**
 * Taylor coefficients of the integral about t from the first order on. The m-th derivative of the density p is
 * (-1)^m He[m] p with the Hermite polynomials He[m + 1] = t He[m] - m He[m - 1].
 */
function expandIntegral(out: Float64Array, t: number): void {
  let derivative = exponential(-0.5 * t * t) / Math.sqrt(2 * Math.PI);
  let before = 0;
  let factorial = 1;
  for (let m = 0; m < out.length - 1; m++) {
    factorial *= m + 1;
    out[m + 1] = derivative / factorial;
    const after = -(t * derivative + m * before);
    before = derivative;
    derivative = after;
  }
}

/** e^x for x <= 0: the series at x / 2^n, squared n times. */
function exponential(x: number): number {
  let doublings = 0;
  let r = x;
  for (; r < -0.25; doublings++) r /= 2;
  let y = 1;
  for (let m = 14; m >= 1; m--) y = 1 + (y * r) / m;
  for (; doublings > 0; doublings--) y *= y;
  return y;
}

function power(x: number, m: number): number {
  let y = 1;
  for (let i = 0; i < m; i++) y *= x;
  return y;
}
