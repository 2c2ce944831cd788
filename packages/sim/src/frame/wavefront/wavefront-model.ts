/**
 * The picture of a star by its wavefront, and its slopes: each ray of the pupil lands where the slope of the
 * wavefront sends it, blurred by a Gaussian and integrated over the pixels. Here the sensor stands before the
 * focus, so that the picture shows the pupil upright; the other side gives the same picture with every term
 * of even m negated and the pupil turned by half a turn.
 */
import { zernikeSum } from '@holdfast/psf/internal';
import { normalInto } from '@holdfast/psf/numerics';
import type { PictureModel, PictureTraits } from '../rings/picture-model.ts';
import { type PupilRays, preparePupilRays, type RayPupil } from './pupil-rays.ts';

/** Noll indices of the terms fitted: defocus, astigmatism, coma, trefoil, spherical. */
export const terms = [4, 5, 6, 7, 8, 9, 10, 11] as const;

/** Places of the unknowns in the vector of a fit. */
export const wave = {
  /** Where the chief ray lands, px. */
  x: 0,
  y: 1,
  /** FWHM of the blur, px. */
  blur: 2,
  /** Electrons of the star. */
  flux: 3,
  /** Electrons per pixel beside it. */
  background: 4,
  /** The obstruction and its center, radii of the pupil. */
  obstruction: 5,
  holeX: 6,
  holeY: 7,
  /** Rise of the illumination from the center to the rim. */
  slopeX: 8,
  slopeY: 9,
  /** The first term: where the light lands per unit slope of its polynomial, px. */
  defocus: 10,
  /** Where the beam is clipped: distance of the edge, radii, and its direction, radians. */
  clipDistance: 10 + terms.length,
  clipAngle: 11 + terms.length,
} as const;

/** Unknowns of a whole beam; a clipped one has two more. */
export const wholeUnknowns = wave.clipDistance;

/** Largest slope of the first term, at the rim: Z4 = sqrt(3) (2 rho^2 - 1). */
export const rimSlope = 4 * Math.sqrt(3);

const fwhmPerSigma = 2.3548200450309493;
/** A ray's light ends at so many rms widths of the blur: 6e-5 of it lies beyond. */
const reach = 4;
/**
 * Rays lie so many rms widths of blur and pixel apart at most: of the picture, and of its slopes, which steer
 * the descent and take most of its time. An even field then has ripples of 1e-4 and of 2 %.
 */
const spacingOfPicture = 1.5;
const spacingOfSlopes = 2.2;
/** Step by which the slopes of the pupil's own unknowns are taken: wider than the kink at an edge. */
const step = 5e-3;

/** The pupil at some unknowns. */
export const pupilAt = (u: Float64Array): RayPupil => ({
  obstructionRatio: u[wave.obstruction],
  holeX: u[wave.holeX],
  holeY: u[wave.holeY],
  slopeX: u[wave.slopeX],
  slopeY: u[wave.slopeY],
  ...(u.length > wholeUnknowns ? { clipDistance: u[wave.clipDistance], clipAngle: u[wave.clipAngle] } : {}),
});

const pupilUnknowns = [wave.obstruction, wave.holeX, wave.holeY, wave.slopeX, wave.slopeY];

/** @param start  unknowns near those of the fit: how many rays are traced follows from them */
export function prepareWavefrontModel(width: number, height: number, start: Float64Array): PictureModel {
  const picture = prepareModel(width, height, start, spacingOfPicture);
  const { slopesInto } = prepareModel(width, height, start, spacingOfSlopes);
  return {
    ...picture,
    slopesInto(out, slopes, u) {
      slopesInto(out, slopes, u);
      picture.valuesInto(out, u);
    },
  };
}

function prepareModel(width: number, height: number, start: Float64Array, spacing: number): PictureModel {
  const n = start.length;
  const ofPupil = n > wholeUnknowns ? [...pupilUnknowns, wave.clipDistance, wave.clipAngle] : pupilUnknowns;
  // a fit may find less blur than it started from
  const narrow = Math.sqrt(((0.85 * start[wave.blur]) / fwhmPerSigma) ** 2 + 1 / 12);
  const radius = rimSlope * Math.abs(start[wave.defocus]);
  const lines = Math.max(24, Math.ceil((2 * Math.PI * radius) / (spacing * narrow)));
  const perLine = 4 + Math.ceil((Math.PI * radius * (1 - start[wave.obstruction])) / (2 * spacing * narrow));
  const placeRays = preparePupilRays(lines, perLine);
  const count = lines * perLine;
  const newRays = (): PupilRays => ({
    x: new Float64Array(count),
    y: new Float64Array(count),
    shares: new Float64Array(count),
  });
  const rays = newRays();
  const movedRays = newRays();
  const spotX = new Float64Array(count);
  const spotY = new Float64Array(count);
  const point = { value: 0, slopeX: 0, slopeY: 0 };
  const basis = terms.map((noll) => {
    const coefficients = new Float64Array(noll + 1);
    coefficients[noll] = 1;
    return { surface: zernikeSum(coefficients), x: new Float64Array(count), y: new Float64Array(count) };
  });
  /** What unknown i of the pupil does to share and spot of each ray. */
  const pupilSlopes = ofPupil.map(() => newRays());
  const surfaceAt = (u: Float64Array) => {
    const coefficients = new Float64Array(terms[terms.length - 1] + 1);
    for (let i = 0; i < terms.length; i++) coefficients[terms[i]] = u[wave.defocus + i];
    return zernikeSum(coefficients);
  };

  const trace = (u: Float64Array): void => {
    placeRays(rays, pupilAt(u));
    const surface = surfaceAt(u);
    for (let k = 0; k < count; k++) {
      surface.evaluate(rays.x[k], rays.y[k], point);
      spotX[k] = point.slopeX;
      spotY[k] = point.slopeY;
    }
  };

  const traceSlopes = (u: Float64Array): void => {
    trace(u);
    for (const { surface, x, y } of basis)
      for (let k = 0; k < count; k++) {
        surface.evaluate(rays.x[k], rays.y[k], point);
        x[k] = point.slopeX;
        y[k] = point.slopeY;
      }
    const surface = surfaceAt(u);
    const tried = u.slice();
    ofPupil.forEach((unknown, i) => {
      tried[unknown] = u[unknown] + step;
      placeRays(movedRays, pupilAt(tried));
      tried[unknown] = u[unknown];
      const { x, y, shares } = pupilSlopes[i];
      for (let k = 0; k < count; k++) {
        surface.evaluate(movedRays.x[k], movedRays.y[k], point);
        x[k] = (point.slopeX - spotX[k]) / step;
        y[k] = (point.slopeY - spotY[k]) / step;
        shares[k] = (movedRays.shares[k] - rays.shares[k]) / step;
      }
    });
  };

  // what each unknown does to the share and the spot of one ray
  const byShare = new Float64Array(n);
  const byX = new Float64Array(n);
  const byY = new Float64Array(n);
  const across = pixelProfile(width);
  const along = pixelProfile(height);

  return {
    ...shared(n),
    traits,
    valuesInto(out, u) {
      trace(u);
      out.fill(u[wave.background]);
      const sigma = u[wave.blur] / fwhmPerSigma;
      for (let k = 0; k < count; k++) {
        across.set(u[wave.x] + spotX[k], sigma, false);
        along.set(u[wave.y] + spotY[k], sigma, false);
        const light = u[wave.flux] * rays.shares[k];
        for (let y = along.from; y < along.to; y++) {
          const row = light * along.light[y];
          for (let x = across.from, at = y * width + x; x < across.to; x++, at++)
            out[at] += row * across.light[x];
        }
      }
    },
    slopesInto(out, slopes, u) {
      traceSlopes(u);
      for (const slope of slopes) slope.fill(0);
      slopes[wave.background].fill(1);
      const sigma = u[wave.blur] / fwhmPerSigma;
      const flux = u[wave.flux];
      const { light: lightX, moved: movedX, wider: widerX } = across;
      for (let k = 0; k < count; k++) {
        across.set(u[wave.x] + spotX[k], sigma, true);
        along.set(u[wave.y] + spotY[k], sigma, true);
        const share = rays.shares[k];
        const light = flux * share;
        for (let i = 0; i < terms.length; i++) {
          byX[wave.defocus + i] = light * basis[i].x[k];
          byY[wave.defocus + i] = light * basis[i].y[k];
        }
        for (let i = 0; i < ofPupil.length; i++) {
          const by = pupilSlopes[i];
          byShare[ofPupil[i]] = flux * by.shares[k];
          byX[ofPupil[i]] = light * by.x[k];
          byY[ofPupil[i]] = light * by.y[k];
        }
        byShare[wave.flux] = share;
        byX[wave.x] = light;
        byY[wave.y] = light;
        const { from, to } = across;
        for (let y = along.from; y < along.to; y++) {
          const at = y * width;
          const p = along.light[y];
          const q = along.moved[y];
          const high = (light * along.wider[y]) / fwhmPerSigma;
          const wide = (light * p) / fwhmPerSigma;
          const blur = slopes[wave.blur];
          for (let x = from; x < to; x++) blur[at + x] += wide * widerX[x] + high * lightX[x];
          for (let i = 0; i < n; i++) {
            if (i === wave.blur || i === wave.background) continue;
            // along a row: light (dShare p + dY q) + moved dX p
            const a = byShare[i] * p + byY[i] * q;
            const b = byX[i] * p;
            const slope = slopes[i];
            for (let x = from; x < to; x++) slope[at + x] += a * lightX[x] + b * movedX[x];
          }
        }
      }
      const ofFlux = slopes[wave.flux];
      const background = u[wave.background];
      for (let k = 0; k < out.length; k++) out[k] = background + flux * ofFlux[k];
    },
  };
}

/** A Gaussian integrated over the pixels of a line, with its derivatives by place and by rms width. */
interface PixelProfile {
  from: number;
  to: number;
  readonly light: Float64Array;
  readonly moved: Float64Array;
  readonly wider: Float64Array;
  set(center: number, sigma: number, withSlopes: boolean): void;
}

function pixelProfile(size: number): PixelProfile {
  const normal = new Float64Array(2);
  const profile: PixelProfile = {
    from: 0,
    to: 0,
    light: new Float64Array(size),
    moved: new Float64Array(size),
    wider: new Float64Array(size),
    set(center, sigma, withSlopes) {
      const far = reach * sigma + 0.5;
      const from = Math.min(size, Math.max(0, Math.ceil(center - far)));
      const to = Math.max(from, Math.min(size, Math.floor(center + far) + 1));
      profile.from = from;
      profile.to = to;
      if (from === to) return;
      const { light, moved, wider } = profile;
      const perSigma = 1 / sigma;
      let t = (from - 0.5 - center) * perSigma;
      normalInto(normal, t);
      let below = normal[0];
      let density = normal[1];
      for (let i = from; i < to; i++) {
        const next = t + perSigma;
        normalInto(normal, next);
        light[i] = normal[0] - below;
        if (withSlopes) {
          moved[i] = (density - normal[1]) * perSigma;
          wider[i] = (t * density - next * normal[1]) * perSigma;
        }
        below = normal[0];
        density = normal[1];
        t = next;
      }
    },
  };
  return profile;
}

function traits(u: Float64Array): PictureTraits {
  const radius = rimSlope * Math.abs(u[wave.defocus]);
  const areaPx2 = Math.PI * radius * radius * (1 - u[wave.obstruction] ** 2);
  const blurPx = u[wave.blur];
  return {
    background: u[wave.background],
    level: u[wave.flux] / Math.max(areaPx2, 1),
    blurPx,
    areaPx2,
    reachPx: Math.max(radius, blurPx),
    isPoint: false,
  };
}

function shared(n: number): Pick<PictureModel, 'lower' | 'upper' | 'lengths' | 'lights'> {
  const lower = new Float64Array(n).fill(-Infinity);
  const upper = new Float64Array(n).fill(Infinity);
  lower[wave.blur] = 0.4;
  lower[wave.flux] = 0;
  lower[wave.obstruction] = 0;
  upper[wave.obstruction] = 0.8;
  lower[wave.defocus] = 0;
  for (const k of [wave.holeX, wave.holeY]) [lower[k], upper[k]] = [-0.3, 0.3];
  for (const k of [wave.slopeX, wave.slopeY]) [lower[k], upper[k]] = [-0.7, 0.7];
  if (n > wholeUnknowns) [lower[wave.clipDistance], upper[wave.clipDistance]] = [0.05, 1];
  const lengths = [wave.x, wave.y, wave.blur, ...terms.map((_, i) => wave.defocus + i)];
  return { lower, upper, lengths, lights: [wave.background] };
}
