/**
 * What a star loses away from the optical axis: third-order coma, astigmatism and field curvature by the
 * design of the telescope, the stop at its first mirror.
 *
 * From Schroeder, Astronomical Optics, 2nd ed., tables 6.1 and 6.7 to 6.9 (from memory), and confirmed by
 * exact rays traced through conic mirrors of these designs. Third order: at F/5 the edge rays exceed the coma
 * below by 0.3 %.
 */

import { arcsecPerRadian } from '../numerics/angle.ts';
import { requireNames } from '../numerics/options.ts';
import { requireFinite, requireNonNegative, requireOneOf, requirePositive } from '../numerics/require.ts';
import type { SeidelTerms } from '../waves/wavefront.ts';
import { requireFNumber } from './optics.ts';
import { spherePair } from './sphere-pair.ts';

interface AnyTelescope {
  readonly apertureMm: number;
  /** Of the whole telescope. */
  readonly focalLengthMm: number;
  /** Distance of the star's image from the optical axis in the focal plane, mm, >= 0. */
  readonly offAxisMm: number;
  /** Direction from the optical axis to the star's image, degrees from +x toward +y. Default 0. */
  readonly angleDeg?: number;
}

/** One parabolic mirror, as of a Newtonian without a coma corrector. */
export interface ParaboloidOptions extends AnyTelescope {
  readonly design: 'paraboloid';
}

/**
 * Two mirrors with the focus behind the first: give either the first mirror's F-number or the second one's
 * magnification.
 */
export interface CassegrainOptions extends AnyTelescope {
  /** Paraboloid and hyperboloid, or the pair of hyperboloids that has no coma. */
  readonly design: 'classical-cassegrain' | 'ritchey-chretien';
  /** F-number of the first mirror alone, below that of the telescope. */
  readonly primaryFNumber?: number;
  /** F-number of the telescope over that of its first mirror, > 1. */
  readonly secondaryMagnification?: number;
  /**
   * From the vertex of the first mirror to the focal plane behind it, mm, > minus the first mirror's focal
   * length.
   */
  readonly backFocusMm: number;
}

/**
 * Two spherical mirrors behind a full-aperture corrector plate: compact catadioptric telescopes
 * (Schmidt-Cassegrain, and a Maksutov to within what its meniscus adds off the axis).
 */
export interface CatadioptricOptions extends AnyTelescope {
  readonly design: 'catadioptric';
  /** F-number of the first mirror alone, below that of the telescope. */
  readonly primaryFNumber: number;
  /** From the vertex of the first mirror to the focal plane behind it, mm. */
  readonly backFocusMm: number;
  /**
   * From the first mirror to the corrector in front of it, mm, >= 0. Default: where the second mirror stands.
   */
  readonly correctorMm?: number;
}

/** A thin lens free of coma, the stop at it: a refractor's objective without a flattener. */
export interface RefractorOptions extends AnyTelescope {
  readonly design: 'refractor';
}

/**
 * A telescope of any other kind (coma corrector, flattener) by what is known of it at one distance from
 * the axis; coma is taken in proportion to the distance, focus shifts in proportion to its square.
 */
export interface CorrectedOptions extends AnyTelescope {
  readonly design: 'corrected';
  /** Aberrations known at one distance from the axis. */
  readonly known: {
    /** Where the values below hold, mm from the axis, > 0. */
    readonly offAxisMm: number;
    /** > 0 with the tail away from the axis. Default 0. */
    readonly sagittalComaUm?: number;
    /**
     * Position of a flat sensor in focus on the axis, less that of the tangential focus, along the light.
     * Default 0.
     */
    readonly tangentialFocusShiftUm?: number;
    /** The same for the sagittal focus. Default 0. */
    readonly sagittalFocusShiftUm?: number;
  };
}

/** A telescope by its design, discriminated by `design`, and a place in its field. */
export type OffAxisOptions =
  | ParaboloidOptions
  | CassegrainOptions
  | CatadioptricOptions
  | RefractorOptions
  | CorrectedOptions;

/** Lengths on the sensor in um, sky angles in arcsec. */
export interface OffAxisAberrations {
  /**
   * Half the width of the comet of the whole pupil, a third of its length; > 0 with the tail away from the
   * axis.
   */
  readonly sagittalComaUm: number;
  /** The same in angle, arcsec. */
  readonly sagittalComaArcsec: number;
  /** Length of the comet from the chief ray to its end, 3 times the sagittal coma. */
  readonly tangentialComaUm: number;
  /** The same in angle, arcsec. */
  readonly tangentialComaArcsec: number;
  /** Diameter of the circle of least confusion, half-way between the two line images. */
  readonly astigmatismUm: number;
  /** The same in angle, arcsec. */
  readonly astigmatismArcsec: number;
  /**
   * How far a flat sensor that is in focus on the axis lies beyond the star's best focus, um: add it to the
   * sensor's own focus shift. Half-way between the tangential and the sagittal focus.
   */
  readonly medianFocusShiftUm: number;
  /**
   * The same for the focus of the rays in the plane through the axis, where the star's image is a line across
   * it.
   */
  readonly tangentialFocusShiftUm: number;
  /** The same of the sagittal rays, um. */
  readonly sagittalFocusShiftUm: number;
  /**
   * The same as a wavefront against the point where the chief ray lands: `{ seidelNm: seidel }` draws it as a
   * diffraction image or by rays. `fieldCurvature` is that of the sagittal focus, `astigmatism` what the
   * tangential one adds.
   */
  readonly seidel: Required<Pick<SeidelTerms, 'coma' | 'astigmatism' | 'fieldCurvature' | 'angleDeg'>>;
}

/** Petzval sum of a refractor's objective times its focal length: 0.7 to 0.75 for pairs of common glasses. */
const lensPetzval = 0.72;

/**
 * Coma, astigmatism and field curvature of a star at a distance h from the axis; theta = h / f, F = f / D.
 *
 *   tangential coma      3 theta / (16 F^2) for paraboloid and classical Cassegrain, 0 for Ritchey-Chretien
 *   least confusion      q theta^2 / (2 F), q = 1                                  paraboloid
 *                                           q = (m^2 + b) / (m (1 + b))            classical Cassegrain
 *                                           q = (m (2 m + 1) + b) / (2 m (1 + b))  Ritchey-Chretien
 *   median focus shift   k h^2 / 2, k = 1 / f                                                  paraboloid
 *                                   k = ((m^2 - 2)(m - b) + m (m + 1)) / (f1 m^2 (1 + b))      classical Cassegrain
 *                                   k = (m + 1)(m^2 - b (m - 1)) / (f1 m^2 (1 + b))            Ritchey-Chretien
 *
 * A thin lens with the stop at it, free of coma, has a tangential focus shift (3 + P) h^2 / (2 f) and a
 * sagittal one of (1 + P) h^2 / (2 f), P = 0.72 its Petzval sum (Welford, Aberrations of Optical Systems,
 * 12.3, from memory). Two spherical mirrors behind a corrector: `spherePair`.
 *
 * with f1 the first mirror's focal length, m = f / f1, b = back focus / f1. In each of them the off-axis
 * focus lies on the side that the light comes from, so that a flat sensor is beyond it. Tangential and
 * sagittal focus lie F times the diameter of least confusion to either side of the median; the coma's tail
 * points away from the axis.
 *
 * ```ts
 * offAxisAberrations({ design: 'paraboloid', apertureMm: 200, focalLengthMm: 1000, offAxisMm: 10 })
 * // sagittalComaUm: 25, astigmatismUm: 10, medianFocusShiftUm: 50,
 * // tangentialFocusShiftUm: 100, sagittalFocusShiftUm: 0
 * ```
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function offAxisAberrations(options: OffAxisOptions): OffAxisAberrations {
  requireNames(
    'options',
    options,
    'design apertureMm focalLengthMm offAxisMm angleDeg primaryFNumber secondaryMagnification',
    'backFocusMm correctorMm known',
  );
  const { apertureMm, focalLengthMm, offAxisMm, angleDeg = 0 } = options;
  requirePositive('apertureMm', apertureMm);
  requirePositive('focalLengthMm', focalLengthMm);
  requireNonNegative('offAxisMm', offAxisMm);
  requireFinite('angleDeg', angleDeg);
  const fNumber = requireFNumber(focalLengthMm / apertureMm);
  const { coma, tangential, sagittal } = lengthsUm(options, fNumber);

  const arcsecPerUm = arcsecPerRadian / (1000 * focalLengthMm);
  const astigmatismUm = Math.abs(tangential - sagittal) / (2 * fNumber);
  const nmPerShiftUm = -1000 / (8 * fNumber * fNumber);
  return {
    sagittalComaUm: coma,
    sagittalComaArcsec: coma * arcsecPerUm,
    tangentialComaUm: 3 * coma,
    tangentialComaArcsec: 3 * coma * arcsecPerUm,
    astigmatismUm,
    astigmatismArcsec: astigmatismUm * arcsecPerUm,
    medianFocusShiftUm: (tangential + sagittal) / 2,
    tangentialFocusShiftUm: tangential,
    sagittalFocusShiftUm: sagittal,
    seidel: {
      // 2 F dW/dx = Cs rho^2 (2 + cos 2 phi) for W = (Cs / 2 F) rho^3 cos phi
      coma: (1000 * coma) / (2 * fNumber),
      astigmatism: (tangential - sagittal) * nmPerShiftUm,
      fieldCurvature: sagittal * nmPerShiftUm,
      angleDeg,
    },
  };
}

const designs = [
  'paraboloid',
  'classical-cassegrain',
  'ritchey-chretien',
  'catadioptric',
  'refractor',
  'corrected',
] as const;

/** Sagittal coma, and the two focus shifts of a flat sensor, um. */
interface Lengths {
  readonly coma: number;
  readonly tangential: number;
  readonly sagittal: number;
}

function lengthsUm(options: OffAxisOptions, fNumber: number): Lengths {
  const { design, focalLengthMm, offAxisMm } = options;
  requireOneOf('design', design, designs);
  if (design === 'corrected') return scaledFromKnown(options as CorrectedOptions);
  const paraboloidComa = (1000 * offAxisMm) / (16 * fNumber * fNumber);
  const paraboloidShift = (1000 * offAxisMm * offAxisMm) / focalLengthMm;
  if (design === 'paraboloid') return { coma: paraboloidComa, tangential: paraboloidShift, sagittal: 0 };
  if (design === 'refractor')
    return {
      coma: 0,
      tangential: ((3 + lensPetzval) / 2) * paraboloidShift,
      sagittal: ((1 + lensPetzval) / 2) * paraboloidShift,
    };

  const { m, b } = mirrorPair(options as CassegrainOptions, fNumber);
  if (design === 'catadioptric') {
    const { correctorMm } = options as CatadioptricOptions;
    const f1 = focalLengthMm / m;
    const stop =
      correctorMm === undefined ? 1 - (1 + b) / (m + 1) : requireNonNegative('correctorMm', correctorMm) / f1;
    const pair = spherePair(m, b, stop);
    return {
      coma: pair.coma * paraboloidComa,
      tangential: pair.tangential * paraboloidShift,
      sagittal: pair.sagittal * paraboloidShift,
    };
  }
  const classical = design === 'classical-cassegrain';
  // Both in units of h^2 / f, that is of theta^2 f: half the distance of the two foci, and their middle.
  const halfApart = classical ? (m * m + b) / (2 * m * (1 + b)) : (m * (2 * m + 1) + b) / (4 * m * (1 + b));
  const median =
    (classical ? (m * m - 2) * (m - b) + m * (m + 1) : (m + 1) * (m * m - b * (m - 1))) / (2 * m * (1 + b));
  return {
    coma: classical ? paraboloidComa : 0,
    tangential: paraboloidShift * (median + halfApart),
    sagittal: paraboloidShift * (median - halfApart),
  };
}

/** Secondary magnification, and back focus in units of the first mirror's focal length. */
function mirrorPair(options: CassegrainOptions, fNumber: number): { readonly m: number; readonly b: number } {
  const { primaryFNumber, secondaryMagnification, backFocusMm, focalLengthMm } = options;
  if ((primaryFNumber === undefined) === (secondaryMagnification === undefined))
    throw new TypeError('give either primaryFNumber or secondaryMagnification');
  const m =
    secondaryMagnification === undefined
      ? fNumber / requirePositive('primaryFNumber', primaryFNumber as number)
      : requirePositive('secondaryMagnification', secondaryMagnification);
  if (m <= 1)
    throw new RangeError(
      secondaryMagnification === undefined
        ? `primaryFNumber must be < the telescope's ${fNumber}, got ${primaryFNumber}`
        : `secondaryMagnification must be > 1, got ${m}`,
    );
  requireFinite('backFocusMm', backFocusMm);
  const b = (backFocusMm * m) / focalLengthMm;
  // The second mirror stands (1 + b) / (m + 1) of the first one's focal length before that focus: between it
  // and the mirror.
  if (!(b > -1 && b < m))
    throw new RangeError(
      `backFocusMm must be in (${-focalLengthMm / m}, ${focalLengthMm}), got ${backFocusMm}`,
    );
  return { m, b };
}

function scaledFromKnown({ offAxisMm, known }: CorrectedOptions): Lengths {
  requireNames('known', known, 'offAxisMm sagittalComaUm tangentialFocusShiftUm sagittalFocusShiftUm');
  const { sagittalComaUm = 0, tangentialFocusShiftUm = 0, sagittalFocusShiftUm = 0 } = known;
  const ratio = offAxisMm / requirePositive('known.offAxisMm', known.offAxisMm);
  return {
    coma: ratio * requireFinite('known.sagittalComaUm', sagittalComaUm),
    tangential: ratio * ratio * requireFinite('known.tangentialFocusShiftUm', tangentialFocusShiftUm),
    sagittal: ratio * ratio * requireFinite('known.sagittalFocusShiftUm', sagittalFocusShiftUm),
  };
}
