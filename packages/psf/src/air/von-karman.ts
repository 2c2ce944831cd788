/** The phase structure function of von Karman's turbulence, whose energy levels off at the outer scale. */
import { exp, log } from '../numerics/exp-log.ts';

const nu = 5 / 6;
const gammaFiveSixths = 1.128787029908126;
const gammaOneSixth = 5.566316001780235;
const gammaElevenSixths = nu * gammaFiveSixths;
const gammaSixFifths = 0.9181687423997607;

/** 2^(1/6) Gamma(11/6) / pi^(8/3) (24/5 Gamma(6/5))^(5/6). */
const scale =
  gammaElevenSixths * exp(log(2) / 6 - (8 / 3) * log(Math.PI) + (5 / 6) * log(4.8 * gammaSixFifths));

/** Gamma(5/6) / 2^(1/6), where x^(5/6) K[5/6](x) starts. */
const start = gammaFiveSixths * exp(-log(2) / 6);

/**
 * Mean square difference of phase, rad^2, between two points.
 *
 *   D(r) = 2^(1/6) Gamma(11/6) / pi^(8/3) (24/5 Gamma(6/5))^(5/6) (L0 / r0)^(5/3)
 *          [ Gamma(5/6) / 2^(1/6) - x^(5/6) K[5/6](x) ],   x = 2 pi r / L0
 *
 * (Conan 2000, thesis, eq. 2.8; Tokovinin 2002, PASP 114, 1156, eq. 16; both from memory, the spectrum
 * integrated numerically agrees). It is 6.883877 (r / r0)^(5/3) for r << L0 and levels off at 0.172629 (L0 /
 * r0)^(5/3).
 *
 * @param separationMm  r, >= 0
 * @param friedParameterMm  r0, > 0
 * @param outerScaleMm  L0, > 0 and finite
 */
export function vonKarmanStructure(
  separationMm: number,
  friedParameterMm: number,
  outerScaleMm: number,
): number {
  const scaled = exp((5 / 3) * log(outerScaleMm / friedParameterMm));
  return scale * scaled * rise((2 * Math.PI * separationMm) / outerScaleMm);
}

/** Gamma(5/6) / 2^(1/6) - x^(5/6) K[5/6](x), without cancellation for small x. Good to some 1e-12. */
function rise(x: number): number {
  if (x <= 0) return 0;
  return x < 2 ? riseSeries(x) : start - besselPower(x);
}

/**
 * K[nu] = pi / (2 sin(pi nu)) (I[-nu] - I[nu]) with the series of both; sin(5 pi / 6) = 1/2 and the first
 * term of x^nu I[-nu] is the constant that is taken off.
 */
function riseSeries(x: number): number {
  const q = (x * x) / 4;
  let falling = 1 / gammaOneSixth;
  let rising = 1 / gammaElevenSixths;
  let fallingSum = 0;
  let risingSum = rising;
  for (let k = 1; k < 20; k++) {
    falling *= q / (k * (k - nu));
    rising *= q / (k * (k + nu));
    fallingSum += falling;
    risingSum += rising;
  }
  return Math.PI * (exp((5 / 3) * log(x) - nu * log(2)) * risingSum - exp(nu * log(2)) * fallingSum);
}

/**
 * x^(5/6) K[5/6](x) by the trapezoidal rule on K[nu](x) = integral over t >= 0 of exp(-x cosh t) cosh(nu t).
 */
function besselPower(x: number): number {
  const step = 1 / 16;
  let sum = 0.5 * exp(-x);
  for (let t = step; t < 7; t += step) {
    const grow = exp(t);
    const spread = exp(nu * t);
    const exponent = (x * (grow + 1 / grow)) / 2;
    if (exponent > 700) break;
    sum += (exp(-exponent) * (spread + 1 / spread)) / 2;
  }
  return step * sum * exp(nu * log(x));
}
