/**
 * What a few frames at known focuser positions say of the rig: how far the focus moves for a step, where the
 * focus is, and how large the obstruction. With D the ring's outer diameter, counted negative before focus,
 * and p the position,
 *
 *   D = k (p - p0),   focus shift = (D / 2) sqrt(4 F^2 - 1)   (exact cone).
 *
 * A frame tells |D| only. A straight line through zero changes its sign once, so there is one more sharing of
 * the sides than there are frames; each is fitted, and the best is taken. Which side is beyond focus no ring
 * tells: `umPerStep` has no sign until it is said which way the focuser moves the camera.
 */

import {
  fitLine,
  type LinePoint,
  requireFinite,
  requireList,
  requireNames,
  requireObject,
  requirePositive,
  type StraightLine,
  scaledByScatter,
} from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { requireTelescope } from '../rings/ring-fit.ts';
import type { MeasuredStar } from '../stars/measured-star.ts';
import { fitBacklash, withoutBacklash } from './backlash.ts';
import type { SequenceFrameRecord } from './sequence-records.ts';

/** One ring at one position of the focuser. */
export interface FocuserPoint {
  /** Steps, or um of the focuser's own scale. */
  readonly position: number;
  /** Outer diameter of the ring there, px. */
  readonly outerDiameterPx: Estimate;
  /** Where the hole is resolved. */
  readonly obstructionRatio?: Estimate;
}

/** What turns the size of a ring into a focus shift. */
export interface FocuserOptions {
  /** Side of a pixel of the frames, binning included, um. */
  readonly pixelSizeUm: number;
  /** F-number of the beam: with it the diameters give um of focus shift. */
  readonly fNumber?: number;
  /** How far the focus moves for a step, where it is known well: the diameters then give the F-number. */
  readonly knownUmPerStep?: number;
  /**
   * The same, known to a third or so: it chooses where two frames, or frames all near each other, allow more
   * than one answer.
   */
  readonly roughUmPerStep?: number;
  /** Whether a higher position moves the camera away from the telescope: gives `umPerStep` its sign. */
  readonly higherIsOutward?: boolean;
}

/** Why the focuser could not be calibrated. */
export type CalibrationFailureReason =
  /** fewer than two rings at different positions */
  | 'too-few-points'
  /** the diameters do not change with the position */
  | 'no-slope'
  /** the rings lie far off any straight line, more than their errors and backlash explain */
  | 'contradicted';

/** One way in which the rings may lie on both sides of focus. */
export interface FocusBranch {
  /** Rings at this many of the lowest positions are on one side, the rest on the other. */
  readonly before: number;
  /** Growth of the signed diameter, px per step. */
  readonly pxPerStep: Estimate;
  /** Position of the focuser where the ring would vanish, steps. */
  readonly zeroFocusPosition: Estimate;
  /** Chi square of its points about the line. */
  readonly chiSquare: number;
}

/** What the rings at known positions tell of the focuser. */
export interface FocuserCalibration {
  readonly ok: true;
  /** Growth of the ring per step, px. */
  readonly pxPerStep: Estimate;
  /**
   * Position at which the ring has no diameter; with `backlash` the middle of those by moves up and down,
   * each half of it away.
   */
  readonly zeroFocusPosition: Estimate;
  /**
   * Steps that the focuser moves without moving the camera when its direction changes; where the rings show
   * it (3 sigma).
   */
  readonly backlash?: Estimate;
  /**
   * um of focus shift at the sensor for a step: with `fNumber`. Without `higherIsOutward` its size only; with
   * it > 0 when a step up moves the camera away from the telescope against the focus.
   */
  readonly umPerStep?: Estimate;
  /** With `knownUmPerStep`: what the cone of light must be. */
  readonly fNumber?: Estimate;
  /** Weighted mean of the rings with a resolved hole; its error at least what they scatter by. */
  readonly obstructionRatio?: Estimate;
  /** By point, in the order given: signed diameter, and how far it lies off the line, px. */
  readonly points: readonly { readonly signedDiameterPx: number; readonly residualPx: number }[];
  /** Chi square of all points about the lines. */
  readonly chiSquare: number;
  /** Points less unknowns. */
  readonly degreesOfFreedom: number;
  /**
   * Other sharings of the sides that the frames allow as well (chi-square within 9): the answer is then a
   * choice.
   */
  readonly alternatives: readonly FocusBranch[];
}

/** A calibration, or the reason why there is none; discriminated by `ok`. */
export type CalibrationResult =
  | FocuserCalibration
  | { readonly ok: false; readonly reason: CalibrationFailureReason; readonly message: string };

/** The point that a star gives; undefined when its ring was not measured. */
export function focuserPoint(position: number, { ring }: MeasuredStar): FocuserPoint | undefined {
  if (!ring.ok) return undefined;
  const { outerDiameterPx, obstructionRatio, holeResolved } = ring;
  return { position, outerDiameterPx, ...(holeResolved ? { obstructionRatio } : {}) };
}

/** The points of a sequence taken at several positions of the focuser, by the rings of its brightest star. */
export function focuserPoints(frames: readonly SequenceFrameRecord[]): FocuserPoint[] {
  return frames.flatMap(({ focuserPosition, ringDiameterPx, obstructionRatio }) =>
    focuserPosition === undefined || ringDiameterPx === undefined
      ? []
      : [
          {
            position: focuserPosition,
            outerDiameterPx: ringDiameterPx,
            ...(obstructionRatio === undefined ? {} : { obstructionRatio }),
          },
        ],
  );
}

/** Chi-square by which a sharing of the sides must be worse to be excluded: 3 sigma. */
const excludedBy = 9;
/** How far a slope may be from a rough one, in factors, to count as agreeing with it. */
const roughFactor = 1.5;

/**
 * Calibrate the focuser from rings. Errors are those of the rings, enlarged by what the points scatter about
 * the line when that is more. Leave out frames near focus, whose rings are blurred away: they have no ring to
 * give anyway. The points come in the order in which they were taken: where moves went up and down, backlash
 * is fitted with the line (see backlash.ts).
 *
 * ```ts
 * const points = frames.map(({ position, star }) => focuserPoint(position, star)).filter((point) => point !== undefined)
 * const rig = calibrateFocuser(points, { pixelSizeUm: 3.75, fNumber: 4 })
 * if (rig.ok) console.log(rig.umPerStep, rig.zeroFocusPosition, rig.obstructionRatio, rig.alternatives.length)
 * ```
 * @throws RangeError or TypeError for an option or point out of range
 */
export function calibrateFocuser(
  points: readonly FocuserPoint[],
  options: FocuserOptions,
): CalibrationResult {
  requireOptions(
    points,
    requireNames('options', options, 'pixelSizeUm fNumber knownUmPerStep roughUmPerStep higherIsOutward'),
  );
  if (new Set(points.map(({ position }) => position)).size < 2)
    return {
      ok: false,
      reason: 'too-few-points',
      message: `rings at two positions or more are needed, there are ${new Set(points.map(({ position }) => position)).size}`,
    };
  const slack = fitBacklash(points, (moved) => bestBranch(moved)?.chiSquare);
  const atCamera = slack === undefined ? points : withoutBacklash(points, slack.value);
  const sorted = atCamera
    .map((point, given) => ({ point, given }))
    .sort((a, b) => a.point.position - b.point.position);
  const inOrder = sorted.map(({ point }) => point);
  const branches = branchesOf(inOrder);
  const allowed = branches.filter(({ chiSquare }) => chiSquare < branches[0].chiSquare + excludedBy);
  const best = chosen(allowed, options);
  if (best === undefined)
    return {
      ok: false,
      reason: 'no-slope',
      message: 'the rings do not grow with the position of the focuser',
    };
  const degreesOfFreedom = points.length - (slack === undefined ? 2 : 3);
  const contradiction = contradictionOf(inOrder, best, degreesOfFreedom);
  if (contradiction !== undefined) return { ok: false, reason: 'contradicted', message: contradiction };
  const { before, line, pxPerStep, zeroFocusPosition, chiSquare } = best;
  const told = inOrder.map(({ position, outerDiameterPx }, k) => {
    const signedDiameterPx = k < before ? -outerDiameterPx.value : outerDiameterPx.value;
    const expected = line.offset.value + line.slope.value * (position - line.x0);
    return { signedDiameterPx, residualPx: signedDiameterPx - expected };
  });
  const ratio = obstructionOf(points);
  return {
    ok: true,
    pxPerStep,
    zeroFocusPosition,
    ...(slack === undefined ? {} : { backlash: slack }),
    ...opticsOf(pxPerStep, options),
    ...(ratio === undefined ? {} : { obstructionRatio: ratio }),
    points: points.map((_, given) => told[sorted.findIndex((one) => one.given === given)]),
    chiSquare,
    degreesOfFreedom,
    alternatives: allowed
      .filter((branch) => branch !== best)
      .map((branch) => ({
        before: branch.before,
        pxPerStep: branch.pxPerStep,
        zeroFocusPosition: branch.zeroFocusPosition,
        chiSquare: branch.chiSquare,
      })),
  };
}

/** Every sharing of the sides that the points allow, the best first. */
function branchesOf(inOrder: readonly FocuserPoint[]): FittedBranch[] {
  return Array.from({ length: inOrder.length + 1 }, (_, before) => branchOf(inOrder, before))
    .filter((branch) => branch !== undefined)
    .sort((a, b) => a.chiSquare - b.chiSquare);
}

const bestBranch = (points: readonly FocuserPoint[]): FittedBranch | undefined =>
  branchesOf([...points].sort((a, b) => a.position - b.position))[0];

/**
 * A fit with a larger chi-square per degree of freedom, and residuals of more than this share of the largest
 * ring, is refused.
 */
const mostReducedChiSquare = 25;
const mostMisfit = 0.02;

/** Why the points cannot lie on the line, and what to measure next; undefined when they may. */
function contradictionOf(
  points: readonly FocuserPoint[],
  { before, line, chiSquare }: FittedBranch,
  degreesOfFreedom: number,
): string | undefined {
  if (degreesOfFreedom < 1 || chiSquare < mostReducedChiSquare * degreesOfFreedom) return undefined;
  const squares = points.reduce((sum, { position, outerDiameterPx: { value } }, k) => {
    const expected = line.offset.value + line.slope.value * (position - line.x0);
    return sum + ((k < before ? -value : value) - expected) ** 2;
  }, 0);
  const rms = Math.sqrt(squares / degreesOfFreedom);
  if (rms < mostMisfit * Math.max(...points.map(({ outerDiameterPx }) => outerDiameterPx.value)))
    return undefined;
  return (
    `the rings lie ${rms.toPrecision(2)} px off a straight line, ` +
    `${Math.sqrt(chiSquare / degreesOfFreedom).toPrecision(2)} times their errors: the focuser slips, or the frames are not in the ` +
    'order they were taken in. Take six positions or more again, each approached from the same side by a long move'
  );
}

function requireOptions(points: readonly FocuserPoint[], options: FocuserOptions): void {
  const { knownUmPerStep, roughUmPerStep } = requireObject('options', options);
  requirePositive('pixelSizeUm', options.pixelSizeUm);
  requireTelescope(options);
  if (knownUmPerStep !== undefined) requirePositive('knownUmPerStep', knownUmPerStep);
  if (roughUmPerStep !== undefined) requirePositive('roughUmPerStep', roughUmPerStep);
  if (roughUmPerStep !== undefined && options.fNumber === undefined)
    throw new TypeError('roughUmPerStep needs fNumber, which turns it into a growth of the ring');
  for (const [k, point] of requireList('points', points).entries()) {
    const { position, outerDiameterPx } = requireNames(
      `points[${k}]`,
      point,
      'position outerDiameterPx obstructionRatio',
    );
    requireObject(`points[${k}].outerDiameterPx`, outerDiameterPx);
    requireFinite(`points[${k}].position`, position);
    requirePositive(`points[${k}].outerDiameterPx.value`, outerDiameterPx.value);
    requirePositive(`points[${k}].outerDiameterPx.standardError`, outerDiameterPx.standardError);
  }
}

interface FittedBranch extends FocusBranch {
  readonly line: StraightLine;
}

/**
 * Undefined unless the diameters grow from a zero that lies between the sides (within 3 sigma of a diameter).
 */
function branchOf(points: readonly FocuserPoint[], before: number): FittedBranch | undefined {
  const signed = points.map(
    ({ position, outerDiameterPx: { value, standardError } }, k): LinePoint => ({
      x: position,
      y: k < before ? -value : value,
      sigma: standardError,
    }),
  );
  const plain = fitLine(signed);
  if (plain === undefined) return undefined;
  const line = scaledByScatter(plain, 1);
  const { slope, offset, x0, chiSquare } = line;
  if (!(slope.value > 2 * slope.standardError)) return undefined;
  const zero = x0 - offset.value / slope.value;
  // a line with a growth of its own sign on each side only: a ring cannot lie on the wrong side of focus
  const astray = signed.some(({ x, y, sigma }) => Math.sign(y) * slope.value * (x - zero) < -3 * sigma);
  if (astray) return undefined;
  const error = Math.sqrt(
    (offset.standardError / slope.value) ** 2 +
      ((offset.value * slope.standardError) / slope.value ** 2) ** 2,
  );
  return {
    before,
    line,
    pxPerStep: slope,
    zeroFocusPosition: { value: zero, standardError: error },
    chiSquare,
  };
}

/** The best of those that agree with what is known roughly; without that, the best. */
function chosen(
  branches: readonly FittedBranch[],
  { roughUmPerStep, knownUmPerStep, fNumber, pixelSizeUm }: FocuserOptions,
): FittedBranch | undefined {
  const um = roughUmPerStep ?? knownUmPerStep;
  if (um === undefined || fNumber === undefined) return branches[0];
  const expected = (2 * um) / pixelSizeUm / Math.sqrt(4 * fNumber * fNumber - 1);
  const agreeing = branches.filter(({ pxPerStep }) => {
    const ratio = pxPerStep.value / expected;
    return ratio < roughFactor && ratio > 1 / roughFactor;
  });
  return agreeing[0] ?? branches[0];
}

function opticsOf(
  { value, standardError }: Estimate,
  { pixelSizeUm, fNumber, knownUmPerStep, higherIsOutward }: FocuserOptions,
): Pick<FocuserCalibration, 'umPerStep' | 'fNumber'> {
  const relative = standardError / value;
  const out: { umPerStep?: Estimate; fNumber?: Estimate } = {};
  if (fNumber !== undefined) {
    const um = ((value * pixelSizeUm) / 2) * Math.sqrt(4 * fNumber * fNumber - 1);
    out.umPerStep = { value: higherIsOutward === false ? -um : um, standardError: um * relative };
  }
  if (knownUmPerStep !== undefined) {
    const tangent = (value * pixelSizeUm) / (2 * knownUmPerStep);
    const found = Math.sqrt(1 + 1 / tangent ** 2) / 2;
    // dF/dt = -1 / (4 F t^3)
    out.fNumber = { value: found, standardError: relative / (4 * found * tangent * tangent) };
  }
  return out;
}

function obstructionOf(points: readonly FocuserPoint[]): Estimate | undefined {
  let [sum, weights] = [0, 0];
  const ratios = points.flatMap(({ obstructionRatio }) =>
    obstructionRatio === undefined || !(obstructionRatio.standardError > 0) ? [] : [obstructionRatio],
  );
  if (ratios.length === 0) return undefined;
  for (const { value, standardError } of ratios) {
    const weight = 1 / standardError ** 2;
    sum += weight * value;
    weights += weight;
  }
  const value = sum / weights;
  const chiSquare = ratios.reduce(
    (total, ratio) => total + ((ratio.value - value) / ratio.standardError) ** 2,
    0,
  );
  const scatter = ratios.length > 1 ? Math.sqrt(chiSquare / (ratios.length - 1)) : 1;
  return { value, standardError: Math.max(1, scatter) / Math.sqrt(weights) };
}
