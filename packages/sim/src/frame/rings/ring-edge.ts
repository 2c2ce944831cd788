/**
 * Slopes of a disc of brightness 1 that a Gaussian has blurred, in closed form. With E = exp(-(r - R)^2 / 2
 * s^2), q = r R / s^2 and the scaled Bessel functions i0 = exp(-q) I0(q), i1 = exp(-q) I1(q) the brightness g
 * at distance r has
 *
 *   dg/dr = -(R / s^2) E i1,   dg/d(R^2) = E i0 / (2 s^2),   s dg/ds = -(r dg/dr + R dg/dR),
 *
 * the last since g depends on the ratios of r, R and s alone (derived). The pixel is taken for a Gaussian of
 * its own variance, 1 / 12, and its kurtosis, -1 / 120, by the next term of the series across the edge:
 * within 1e-3 of the largest slope.
 */
import { exp } from '@holdfast/psf/numerics';

/**
 * A blurred disc of brightness 1: where, the square of its radius (linear in its light), the FWHM of its
 * blur, px.
 */
export interface Disc {
  readonly x: number;
  readonly y: number;
  readonly radius2: number;
  readonly blur: number;
}

/** Derivatives of one disc. */
export interface DiscSlopes {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly radius2: Float64Array;
  readonly blur: Float64Array;
}

/** Least FWHM of the blur for which the closed form is right enough to steer a fit, px. */
export const leastBlurOfForm = 1.5;

const fwhmPerSigma = 2.3548200450309493;
/** Beyond so many s from the edge the slopes are below 1e-7. */
const reach = 5.7;

/** Overwrite `by` with the slopes of a disc on a stamp. */
export function edgeSlopes(by: DiscSlopes, width: number, height: number, disc: Disc): void {
  const { x: x0, y: y0, radius2, blur } = disc;
  const radius = Math.sqrt(radius2);
  const plain = blur / fwhmPerSigma;
  const s2 = plain * plain + 1 / 12;
  const s = Math.sqrt(s2);
  const perBlur = plain / (s2 * fwhmPerSigma);
  const far = reach * s;
  const perFourth = 1 / (2880 * s2 * s2);
  for (let y = 0, k = 0; y < height; y++) {
    const dy = y - y0;
    for (let x = 0; x < width; x++, k++) {
      const dx = x - x0;
      const r = Math.sqrt(dx * dx + dy * dy);
      const off = r - radius;
      if (off > far || off < -far) {
        by.x[k] = 0;
        by.y[k] = 0;
        by.radius2[k] = 0;
        by.blur[k] = 0;
        continue;
      }
      const edge = exp((-off * off) / (2 * s2)) / s2;
      const q = (r * radius) / s2;
      const i0 = scaledBesselI0(q);
      const outward = radius * edge * scaledBesselI1(q);
      const t2 = (off * off) / s2;
      const r4 = r * r * r * r;
      const kurtosis = r > 1e-9 ? (-(dx * dx * dx * dx + dy * dy * dy * dy) / r4) * perFourth : 0;
      const steep = 1 + kurtosis * (t2 * t2 - 6 * t2 + 3);
      const perR = r > 1e-9 ? (steep * outward) / r : 0;
      by.x[k] = perR * dx;
      by.y[k] = perR * dy;
      by.radius2[k] = (steep * edge * i0) / 2;
      by.blur[k] = perBlur * (1 + kurtosis * (t2 * t2 - 10 * t2 + 15)) * (r * outward - radius2 * edge * i0);
    }
  }
}

/**
 * exp(-q) I0(q) for q >= 0 within 2e-7: Abramowitz & Stegun (1964) 9.8.1 and 9.8.2, coefficients from memory,
 * tested by integration.
 */
function scaledBesselI0(q: number): number {
  if (q < 3.75) {
    const t = (q / 3.75) ** 2;
    return (
      exp(-q) *
      (1 +
        t *
          (3.5156229 + t * (3.0899424 + t * (1.2067492 + t * (0.2659732 + t * (0.0360768 + t * 0.0045813))))))
    );
  }
  const t = 3.75 / q;
  return (
    (0.39894228 +
      t *
        (0.01328592 +
          t *
            (0.00225319 +
              t *
                (-0.00157565 +
                  t *
                    (0.00916281 +
                      t * (-0.02057706 + t * (0.02635537 + t * (-0.01647633 + t * 0.00392377)))))))) /
    Math.sqrt(q)
  );
}

/** exp(-q) I1(q), likewise: 9.8.3 and 9.8.4. */
function scaledBesselI1(q: number): number {
  if (q < 3.75) {
    const t = (q / 3.75) ** 2;
    return (
      exp(-q) *
      q *
      (0.5 +
        t *
          (0.87890594 +
            t * (0.51498869 + t * (0.15084934 + t * (0.02658733 + t * (0.00301532 + t * 0.00032411))))))
    );
  }
  const t = 3.75 / q;
  return (
    (0.39894228 +
      t *
        (-0.03988024 +
          t *
            (-0.00362018 +
              t *
                (0.00163801 +
                  t *
                    (-0.01031555 +
                      t * (0.02282967 + t * (-0.02895312 + t * (0.01787654 + t * -0.00420059)))))))) /
    Math.sqrt(q)
  );
}
