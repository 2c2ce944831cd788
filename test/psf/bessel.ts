/** Bessel functions of the first kind, for reference integrals only. */

/**
 * J_n(x) = (1/pi) * integral from 0 to pi of cos(n t - x sin t) dt, by the trapezoidal rule, which is exact
 * here.
 */
export function besselJ(n: number, x: number): number {
  const steps = 24 + Math.ceil(1.5 * Math.abs(x)) + n;
  let sum = 0.5 * (1 + (n % 2 === 0 ? 1 : -1));
  for (let k = 1; k < steps; k++) {
    const t = (Math.PI * k) / steps;
    sum += Math.cos(n * t - x * Math.sin(t));
  }
  return sum / steps;
}
