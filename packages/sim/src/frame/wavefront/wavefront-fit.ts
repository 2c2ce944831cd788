/** The wavefront of a star from its picture out of focus, each term with its error. */
import { emptyVariance } from '@holdfast/centroid/internal';
import type { Image, Pupil, Wavefront } from '@holdfast/psf';
import { zernikeOrder } from '@holdfast/psf';
import { zernikeSum } from '@holdfast/psf/internal';
import { angleFrom, requireNames, requireOneOf, requirePositive } from '@holdfast/psf/numerics';
import type { Estimate } from '../../trials/statistics.ts';
import { descendBinned } from '../rings/ring-binned.ts';
import { derivedEstimate } from '../rings/ring-derived.ts';
import type { Descent } from '../rings/ring-descent.ts';
import {
  leastEdge,
  leastSnr,
  type RingFailureReason,
  type RingFitOptions,
  requireTelescope,
  shareOfEdgeUsed,
  usablePixels,
} from '../rings/ring-fit.ts';
import { type PupilRays, preparePupilRays } from './pupil-rays.ts';
import { descendWavefront } from './wavefront-descent.ts';
import { pupilAt, rimSlope, terms, wave, wholeUnknowns } from './wavefront-model.ts';
import { defocusNmPerUm, sphericalNmPerUm, termNames } from './wavefront-terms.ts';

/** How a wavefront is fitted, and what turns pixels into nm. */
export interface WavefrontFitOptions
  extends Pick<RingFitOptions, 'noise' | 'valid' | 'guess' | 'radiusPx' | 'obstructionRatio'> {
  /** F-number of the beam, > 0.5. */
  readonly fNumber: number;
  /** Side of a pixel, um, > 0. */
  readonly pixelSizeUm: number;
  /**
   * Which side of focus the sensor is taken to stand on. One picture cannot tell: the other side gives the
   * same picture with the opposite sign of defocus, astigmatism and spherical aberration, and the pupil
   * turned by half a turn. Coma and trefoil are the same for both. Default 'beyond'.
   */
  readonly side?: 'beyond' | 'before';
  /**
   * 'rays': a Gaussian blurs the light of each ray. 'diffraction': waves, blurred by the air; takes some
   * times as long. Default 'rays'.
   */
  readonly model?: 'rays' | 'diffraction';
  /** Mean wavelength of the light, nm, > 0; needed for diffraction. */
  readonly wavelengthNm?: number;
}

/** One Zernike term of a wavefront. */
export interface WavefrontTerm {
  /** Noll index, 4 to 11. */
  readonly noll: number;
  /** What it is called. */
  readonly name: string;
  /** Coefficient, nm rms over the full circle, > 0 where the wave is late. */
  readonly nm: Estimate;
  /** Whether its sign follows from `side`, as that of every term of even m does. */
  readonly followsSide: boolean;
}

/** A wavefront that was fitted, each number with its 1 sigma error. */
export interface WavefrontFound {
  readonly ok: true;
  /** Defocus, astigmatism, coma, trefoil and spherical aberration, by Noll index. */
  readonly terms: readonly WavefrontTerm[];
  /** The side of focus that was taken for granted. */
  readonly side: 'beyond' | 'before';
  /** What the picture was compared with. */
  readonly model: 'rays' | 'diffraction';
  /**
   * Focus shift that makes the defocus term in an exact cone, um, its sign by `side`: counted from the focus
   * of least rms wavefront at this place in the field, whatever the other terms.
   */
  readonly focusShiftUm: Estimate;
  /** The other terms less what a focus shift alone makes in a fast cone, nm: they stay at another focus. */
  readonly aberrationsNm: Readonly<Record<number, number>>;
  /** Center of mass of the light, px: comparable to a center of mass. */
  readonly x: Estimate;
  /** Row, px. */
  readonly y: Estimate;
  /** Where the chief ray lands, px: where the star would stand in focus without its aberrations. */
  readonly chiefRay: { readonly x: Estimate; readonly y: Estimate };
  /** Outer diameter of the ring that the defocus term alone makes, px. */
  readonly outerDiameterPx: Estimate;
  /** Electrons of the star. */
  readonly fluxE: Estimate;
  /** Electrons per pixel beside the star. */
  readonly backgroundE: Estimate;
  /** FWHM of the blur: seeing and guiding, with rays diffraction too, px. */
  readonly blurFwhmPx: Estimate;
  /** Diameter of the obstruction over that of the aperture. */
  readonly obstructionRatio: Estimate;
  /** Where a straight edge clips the beam, radii of the aperture from its center; absent for a whole beam. */
  readonly clip?: { readonly distance: Estimate; readonly angleDeg: Estimate };
  /**
   * The fit put the obstruction more than a tenth of the radius off the middle, or lights one side of the
   * pupil by more than 30 %: the beam is cut in a way that the model lacks (by round edges), and coma is not
   * told apart from that.
   */
  readonly comaIsUncertain: boolean;
  /** The pupil as it can be drawn. */
  readonly pupil: Pupil;
  /** The wavefront as it can be drawn. */
  readonly wavefront: Wavefront;
  /** Residuals over photon and read noise: 1 for a picture that the model explains. */
  readonly reducedChiSquare: number;
  /** Rms of what the model leaves beyond the noise, as a fraction of the star's brightness. */
  readonly unevenness: number;
}

/** A wavefront, or the reason why there is none: those of a ring fit; discriminated by `ok`. */
export type WavefrontFit = WavefrontFound | { readonly ok: false; readonly reason: RingFailureReason };

/**
 * Fit the wavefront of a star out of focus to its picture: Noll's terms 4 to 11, the obstruction and its
 * place, uneven light, an edge that clips the beam, blur, flux and background. It starts from a ring that is
 * fitted first, as by `fitRing`; pixels that no such wavefront explains (vanes, a neighbor) count less, and
 * what is left over counts in the errors.
 *
 * Of one picture the sign of defocus, astigmatism and spherical aberration is not known: it follows from
 * `side`.
 *
 * ```ts
 * const fit = fitWavefront(stamp, { noise: { readNoiseE: 7 }, fNumber: 2.98, pixelSizeUm: 15 })
 * if (fit.ok) for (const { name, nm } of fit.terms) console.log(name, nm.value, nm.standardError)
 * ```
 * @param image  electrons per pixel with one star, background included or not; not modified
 * @throws RangeError or TypeError naming the option that is out of range
 */
export function fitWavefront(image: Image, options: WavefrontFitOptions): WavefrontFit {
  requireNames(
    'options',
    options,
    'noise valid guess radiusPx obstructionRatio fNumber pixelSizeUm side model wavelengthNm',
  );
  const { noise, guess, obstructionRatio, fNumber, pixelSizeUm } = options;
  requireTelescope(options);
  const { side = 'beyond', model = 'rays', wavelengthNm } = options;
  requirePositive('fNumber', fNumber);
  requirePositive('pixelSizeUm', pixelSizeUm);
  requireOneOf('side', side, ['beyond', 'before']);
  requireOneOf('model', model, ['rays', 'diffraction']);
  if (wavelengthNm !== undefined) requirePositive('wavelengthNm', wavelengthNm);
  if (model === 'diffraction' && wavelengthNm === undefined)
    throw new TypeError("model 'diffraction' needs wavelengthNm, the mean wavelength of the light");
  const fixedVariance = emptyVariance(noise);
  const { stamp, left, top } = usablePixels(image, options);
  if (stamp.use.reduce((sum, used) => sum + used, 0) < 3 * wholeUnknowns)
    return { ok: false, reason: 'too-few-pixels' };
  const inStamp = guess && { x: guess.x - left, y: guess.y - top };
  const ring = descendBinned(stamp, inStamp, obstructionRatio, 0, fixedVariance);
  if ('reason' in ring) return { ok: false, reason: ring.reason };
  if (shareOfEdgeUsed(stamp, ring.unknowns) < leastEdge) return { ok: false, reason: 'clipped' };
  const descent = descendWavefront(stamp, ring.unknowns, {
    obstructionRatio,
    fixedVariance,
    fNumber,
    pixelSizeUm,
    wavelengthNm: model === 'diffraction' ? wavelengthNm : undefined,
  });
  if (descent === undefined || !descent.converged) return { ok: false, reason: 'not-converged' };
  const flux = derivedEstimate(descent.unknowns, descent.covariances.slice(0, 1), (v) => v[wave.flux]);
  if (!(flux.value > leastSnr * flux.standardError)) return { ok: false, reason: 'too-faint' };
  return judge(descent, { left, top, fNumber, pixelSizeUm, side, model });
}

interface Setting {
  readonly left: number;
  readonly top: number;
  readonly fNumber: number;
  readonly pixelSizeUm: number;
  readonly side: 'beyond' | 'before';
  readonly model: 'rays' | 'diffraction';
}

function judge(descent: Descent, setting: Setting): WavefrontFound {
  const { left, top, fNumber, pixelSizeUm, side, model } = setting;
  const { unknowns: u, covariances } = descent;
  const from = (f: (v: Float64Array) => number): Estimate =>
    derivedEstimate(u, covariances, f, [wave.obstruction]);
  // light lands at 2 F times the slope of the wavefront
  const nmPerPx = (500 * pixelSizeUm) / fNumber;
  const turn = side === 'beyond' ? -1 : 1;
  const found = terms.map((noll, i): WavefrontTerm => {
    const followsSide = zernikeOrder(noll).m % 2 === 0;
    const scale = followsSide ? turn * nmPerPx : nmPerPx;
    return { noll, name: termNames[noll], nm: from((v) => scale * v[wave.defocus + i]), followsSide };
  });
  const perUm = defocusNmPerUm(fNumber);
  const focusShiftUm = {
    value: found[0].nm.value / perUm,
    standardError: found[0].nm.standardError / Math.abs(perUm),
  };
  const aberrationsNm = Object.fromEntries(
    found
      .slice(1)
      .map(({ noll, nm }) => [
        noll,
        noll === 11 ? nm.value - sphericalNmPerUm(fNumber) * focusShiftUm.value : nm.value,
      ]),
  );
  const { obstructionRatio, holeX, holeY, slopeX, slopeY, clipDistance, clipAngle } = pupilAt(u);
  const perDeg = 180 / Math.PI;
  const angleOf = (angle: number): number => {
    const turned = (angle * perDeg + (side === 'beyond' ? 180 : 0)) % 360;
    return turned > 180 ? turned - 360 : turned <= -180 ? turned + 360 : turned;
  };
  const pupil: Pupil = {
    obstructionRatio,
    obstructionCenter: { x: turn * holeX, y: turn * holeY },
    illumination: {
      gradient: Math.sqrt(slopeX * slopeX + slopeY * slopeY),
      angleDeg: angleOf(angleFrom(1, 0, slopeX, slopeY)),
    },
    ...(clipDistance === undefined || clipAngle === undefined
      ? {}
      : { clip: { distance: clipDistance, angleDeg: angleOf(clipAngle) } }),
  };
  const center = lightCenter();
  return {
    ok: true,
    terms: found,
    side,
    model,
    focusShiftUm,
    aberrationsNm,
    x: from((v) => left + center(v).x),
    y: from((v) => top + center(v).y),
    chiefRay: { x: from((v) => left + v[wave.x]), y: from((v) => top + v[wave.y]) },
    outerDiameterPx: from((v) => 2 * rimSlope * v[wave.defocus]),
    fluxE: from((v) => v[wave.flux]),
    backgroundE: from((v) => v[wave.background]),
    blurFwhmPx: from((v) => v[wave.blur]),
    obstructionRatio: from((v) => v[wave.obstruction]),
    ...(u.length > wholeUnknowns
      ? {
          clip: {
            distance: from((v) => v[wave.clipDistance]),
            angleDeg: {
              value: angleOf(u[wave.clipAngle]),
              standardError: perDeg * from((v) => v[wave.clipAngle]).standardError,
            },
          },
        }
      : {}),
    comaIsUncertain: holeX * holeX + holeY * holeY > 0.01 || slopeX * slopeX + slopeY * slopeY > 0.09,
    pupil,
    wavefront: { zernikesNm: Object.fromEntries(found.map(({ noll, nm }) => [noll, nm.value])) },
    reducedChiSquare: descent.reducedChiSquare,
    unevenness: (descent.unevennessE * ringArea(u)) / u[wave.flux],
  };
}

const ringArea = (u: Float64Array): number =>
  Math.PI * (rimSlope * u[wave.defocus]) ** 2 * (1 - u[wave.obstruction] ** 2);

/** Mean of where the rays land: a smooth sum, for which few rays will do. */
function lightCenter(): (u: Float64Array) => { x: number; y: number } {
  const [lines, perLine] = [72, 6];
  const place = preparePupilRays(lines, perLine);
  const rays: PupilRays = {
    x: new Float64Array(lines * perLine),
    y: new Float64Array(lines * perLine),
    shares: new Float64Array(lines * perLine),
  };
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const coefficients = new Float64Array(terms[terms.length - 1] + 1);
  return (u) => {
    place(rays, pupilAt(u));
    for (let i = 0; i < terms.length; i++) coefficients[terms[i]] = u[wave.defocus + i];
    const surface = zernikeSum(coefficients);
    let [x, y] = [u[wave.x], u[wave.y]];
    for (let k = 0; k < rays.shares.length; k++) {
      surface.evaluate(rays.x[k], rays.y[k], point);
      x += rays.shares[k] * point.slopeX;
      y += rays.shares[k] * point.slopeY;
    }
    return { x, y };
  };
}
