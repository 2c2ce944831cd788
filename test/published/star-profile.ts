/**
 * A diffraction image cut through its middle so finely that pixels are points: what tables of images are
 * checked with.
 */
import { type DiffractionShape, type Pupil, prepareStar, type Wavefront } from '@holdfast/psf';

/** Pixels in lambda F. Their averaging shifts a dark ring by about 1 / (24 * 128^2) lambda F. */
const pixelsPerLambdaF = 128;

export interface StarProfile {
  /** Light per (lambda F)^2 as a share of the star, from the middle outwards in steps of 1 / 128 lambda F. */
  readonly intensity: Float64Array;
  readonly step: number;
}

/** lambda F = 1 um: lengths in um are lengths in lambda F, or angles in lambda / D. */
export const unitShape = (pupil: Pupil, wavefront: Wavefront): DiffractionShape => ({
  kind: 'diffraction',
  pupil,
  wavefront,
  fNumber: 2,
  wavelengthNm: 500,
  pixelSizeUm: 1,
});

/** The image along +x out to `reach` lambda F. */
export function starProfile(pupil: Pupil, reach: number, wavefront: Wavefront = {}): StarProfile {
  const width = reach * pixelsPerLambdaF + 1;
  const intensity = new Float64Array(width);
  const shape = { ...unitShape(pupil, wavefront), pixelSizeUm: 1 / pixelsPerLambdaF };
  prepareStar(shape, { width, height: 1 }).renderInto(intensity, 0, 0, pixelsPerLambdaF ** 2);
  return { intensity, step: 1 / pixelsPerLambdaF };
}

/** Share of the light within a radius, for a round image: 2 pi times the integral of I r dr. */
export function encircledEnergy({ intensity, step }: StarProfile, radius: number): number {
  let sum = 0;
  const end = radius / step;
  for (let k = 0; k < end; k++) {
    const part = Math.min(1, end - k);
    const here = intensity[k] * k;
    const there = here + part * (intensity[k + 1] * (k + 1) - here);
    sum += 0.5 * part * (here + there);
  }
  return 2 * Math.PI * step * step * sum;
}

export interface Extremum {
  readonly radius: number;
  readonly value: number;
}

/** Minima (sign 1) or maxima (sign -1) outside the middle, by a parabola through three points. */
export function extrema({ intensity, step }: StarProfile, sign: 1 | -1): Extremum[] {
  const found: Extremum[] = [];
  for (let k = 1; k + 1 < intensity.length; k++) {
    const [a, b, c] = [sign * intensity[k - 1], sign * intensity[k], sign * intensity[k + 1]];
    if (!(b < a && b <= c)) continue;
    const shift = (0.5 * (a - c)) / (a - 2 * b + c);
    found.push({ radius: (k + shift) * step, value: sign * (b - 0.25 * (a - c) * shift) });
  }
  return found;
}

/** Radius at which the profile first falls to a level, by a straight line between two points. */
export function radiusAt({ intensity, step }: StarProfile, level: number): number {
  let k = 1;
  while (intensity[k] > level) k++;
  return (k - (level - intensity[k]) / (intensity[k - 1] - intensity[k])) * step;
}

/** Radius that holds a share of the light. */
export function radiusHolding(profile: StarProfile, share: number): number {
  let low = 0;
  let high = (profile.intensity.length - 2) * profile.step;
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    if (encircledEnergy(profile, middle) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
