/**
 * How much of a comet a star is, by two measures that know nothing of each other. A ray from the pupil's
 * point (rho, phi) lands at
 *
 *   z = D rho e^(i phi) + C rho^2 (2 + e^(2 i phi)),   D = radius of the ring, C = sagittal coma (Seidel),   z = x + i y
 *
 * Hole: to first order in C / D the circle of radius rho moves by 3 C rho^2, so that the middle of a hole of
 * ratio e lies at
 *   -3 C (1 - e^2)   from the middle of the outer edge.
 * Third moments: a symmetric blur and the pixels add nothing to the third central moments of the light, and
 *   <|z|^2 z> = C D^2 (5 m4 - 4 m2^2) + 4 C^3 (m6 - m2 m4 + 2 (m6 - 3 m4 m2 + 2 m2^3)),   m_k = <rho^k> over the pupil.
 * (Derived; checked against drawn comets.)
 */
import type { Estimate } from '../../trials/statistics.ts';
import type { RingFound } from '../rings/ring-fit.ts';
import type { ThirdMoments } from './window-light.ts';

/** Sagittal coma as a vector: half the width of the comet in focus, pointing from its head to its tail. */
export interface ComaEstimate {
  /** Along x and y, px. */
  readonly x: Estimate;
  /** The same along y, px. */
  readonly y: Estimate;
  /** Length, px. Noise alone has a length of about its error. */
  readonly sagittalComaPx: Estimate;
  /**
   * From +x toward +y, in (-180, 180]. Absent where the length is less than twice its error: there is no
   * direction then.
   */
  readonly angleDeg?: Estimate;
}

/**
 * By the place of the hole: hardly moved by uneven light, but a secondary mirror off the axis looks the same.
 * First order: low by 2 % where C is a twentieth of the ring's radius, by 9 % at a tenth, by 26 % at a fifth
 * (measured on drawn comets).
 */
export function comaFromHole({ holeOffsetPx, obstructionRatio, outerDiameterPx }: RingFound): ComaEstimate {
  const scale = -1 / (3 * (1 - obstructionRatio.value ** 2));
  const [x, y] = [holeOffsetPx.x.value * scale, holeOffsetPx.y.value * scale];
  // what the first order leaves out, by the figures above
  const leftOut = (10 * (x * x + y * y)) / (outerDiameterPx.value / 2) ** 2;
  const component = (value: number, sigma: number): Estimate => ({
    value,
    standardError: Math.sqrt((sigma * scale) ** 2 + (leftOut * value) ** 2),
  });
  return vector(component(x, holeOffsetPx.x.standardError), component(y, holeOffsetPx.y.standardError));
}

/**
 * By the third moments of the light: works without a hole and in focus; a beam that is cut at one side, a
 * neighbor or an uneven ring look the same. A comet in focus and a small ring with less coma have the same
 * moments: give the range of radii that the ring may have, and the result lies in the middle of what follows,
 * with an error that reaches both ends.
 *
 * @param radiusPx radii of the ring that are possible; both 0 in focus, both that of the fit where its hole
 *   is resolved
 */
export function comaFromMoments(
  { xxx, xxy, xyy, yyy, sumX, sumY }: ThirdMoments,
  radiusPx: { readonly least: number; readonly most: number },
  obstructionRatio: number,
): ComaEstimate {
  const [x, y] = [xxx.value + xyy.value, xxy.value + yyy.value];
  const length = Math.sqrt(x * x + y * y);
  const weak = comaOf(length, radiusPx.most, obstructionRatio);
  const strong = comaOf(length, radiusPx.least, obstructionRatio);
  const size = (weak + strong) / 2;
  const perMoment = length > 0 ? size / length : 0;
  // along the vector the cube counts; across it the vector only turns
  const noise = (sigma: number) =>
    (comaOf(length + sigma, radiusPx.least, obstructionRatio) -
      comaOf(Math.max(0, length - sigma), radiusPx.least, obstructionRatio)) /
    2;
  const component = (value: number, sigma: number): Estimate => {
    const unknown = length > 0 ? (((strong - weak) / 2) * Math.abs(value)) / length : 0;
    return {
      value: value * perMoment,
      standardError: Math.sqrt(Math.max(noise(sigma), sigma * perMoment) ** 2 + unknown * unknown),
    };
  };
  return vector(component(x, sumX.standardError), component(y, sumY.standardError));
}

/** The C >= 0 whose third moment this is: linear C + cubic C^3 = moment. */
function comaOf(moment: number, radiusPx: number, obstructionRatio: number): number {
  const e2 = obstructionRatio * obstructionRatio;
  const m2 = (1 + e2) / 2;
  const m4 = (1 + e2 + e2 * e2) / 3;
  const m6 = ((1 + e2) * (1 + e2 * e2)) / 4;
  const linear = radiusPx * radiusPx * (5 * m4 - 4 * m2 * m2);
  const cubic = 4 * (m6 - m2 * m4 + 2 * (m6 - 3 * m4 * m2 + 2 * m2 ** 3));
  let low = 0;
  let high = 1;
  while (linear * high + cubic * high ** 3 < moment) high *= 2;
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (linear * middle + cubic * middle ** 3 < moment) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function vector(x: Estimate, y: Estimate): ComaEstimate {
  const length = Math.sqrt(x.value ** 2 + y.value ** 2);
  const share =
    length > 0 ? { x: x.value / length, y: y.value / length } : { x: Math.SQRT1_2, y: Math.SQRT1_2 };
  const along = Math.sqrt((share.x * x.standardError) ** 2 + (share.y * y.standardError) ** 2);
  const across = Math.sqrt((share.y * x.standardError) ** 2 + (share.x * y.standardError) ** 2);
  const sagittalComaPx = { value: length, standardError: along };
  if (!(length > 2 * Math.max(along, across))) return { x, y, sagittalComaPx };
  const perDeg = 180 / Math.PI;
  return {
    x,
    y,
    sagittalComaPx,
    angleDeg: {
      value: Math.atan2(y.value, x.value) * perDeg,
      standardError: (across / length) * perDeg,
    },
  };
}
