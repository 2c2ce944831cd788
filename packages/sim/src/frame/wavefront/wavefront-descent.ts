/**
 * The descent of a wavefront fit: from a ring to a whole beam, from there to a clipped one where the picture
 * asks for it, and to waves where those are asked for.
 */
import { type DiffractionShape, prepareStar } from '@holdfast/psf';
import { angleFrom, arcsecPerRadian } from '@holdfast/psf/numerics';
import type { PictureModel } from '../rings/picture-model.ts';
import { binned, binsPerBlur, mostBins, toBins } from '../rings/ring-binned.ts';
import { ringFlux } from '../rings/ring-derived.ts';
import { type Descent, descend } from '../rings/ring-descent.ts';
import { ring } from '../rings/ring-model.ts';
import type { Expectation } from '../rings/ring-normal.ts';
import type { StampPixels } from '../rings/ring-start.ts';
import { prepareWavefrontModel, pupilAt, rimSlope, terms, wave, wholeUnknowns } from './wavefront-model.ts';

export interface WavefrontSetting {
  readonly obstructionRatio: number | undefined;
  readonly fixedVariance: number;
  readonly fNumber: number;
  readonly pixelSizeUm: number;
  /** For waves; undefined for rays. */
  readonly wavelengthNm: number | undefined;
}

/**
 * Where the descent ended, lengths in px of the stamp; undefined where it has no errors.
 *
 * @param from  unknowns of the ring that was fitted to the stamp
 */
export function descendWavefront(
  stamp: StampPixels,
  from: Float64Array,
  setting: WavefrontSetting,
): Descent | undefined {
  const { obstructionRatio } = setting;
  const blurPx = from[ring.blur];
  const longest = Math.max(stamp.width, stamp.height);
  const bin = Math.max(1, Math.floor(blurPx / binsPerBlur), Math.ceil(longest / mostBins));
  const pixels = binned(stamp, bin);
  const { width, height } = pixels;
  const variance = bin * bin * setting.fixedVariance;
  const go = (start: Float64Array): Descent | undefined => {
    const expected = expectations(start, obstructionRatio);
    const first = descend(
      pixels,
      prepareWavefrontModel(width, height, start),
      start,
      variance,
      expected,
      coarse,
    );
    // waves start from here; rays are placed anew for the blur and the size that were found
    if (first === undefined || setting.wavelengthNm !== undefined) return first;
    const again = first.unknowns;
    return descend(pixels, prepareWavefrontModel(width, height, again), again, variance, expected, coarse);
  };
  let descent = go(startOf(from, bin, obstructionRatio));
  if (descent === undefined) return undefined;
  const clipped = unexplained(descent, pixels) ? clipStart(pixels, descent, variance) : undefined;
  if (clipped !== undefined) {
    const cut = go(clipped);
    const isBetter =
      cut?.converged &&
      descent.chiSquare - cut.chiSquare > leastFall * Math.max(1, cut.reducedChiSquare) &&
      cut.unknowns[wave.clipDistance] < 1;
    if (isBetter) descent = cut;
  }
  if (setting.wavelengthNm !== undefined) {
    const model = wavesModel(width, height, descent.unknowns, bin, setting, setting.wavelengthNm);
    const expected = expectations(descent.unknowns, obstructionRatio);
    descent = descend(pixels, model, descent.unknowns, variance, expected, coarse);
  }
  return descent && inPixels(descent, bin);
}

/** A descent ends when chi-square can fall by no more: within 0.03 of the errors. */
const coarse = 1e-3;
/** Fall of chi-square that an edge must bring. */
const leastFall = 20;

/** Whether residuals exceed the noise by more than chance. */
const unexplained = ({ reducedChiSquare }: Descent, { use }: StampPixels): boolean =>
  reducedChiSquare > 1 + 2 * Math.sqrt(2 / use.length);

function startOf(from: Float64Array, bin: number, obstructionRatio: number | undefined): Float64Array {
  const u = new Float64Array(wholeUnknowns);
  // The middle of the hole lies at -3 C (1 - e^2) for a sagittal coma C, which is 3 sqrt(8) times the
  // coefficient; the rim's middle lies at 4 sqrt(8) of that.
  const perHole = -1 / (9 * Math.sqrt(8) * (1 - from[ring.hole]));
  const comaX = perHole * from[ring.holeX];
  const comaY = perHole * from[ring.holeY];
  u[wave.x] = toBins(from[ring.x] - 4 * Math.sqrt(8) * comaX, bin);
  u[wave.y] = toBins(from[ring.y] - 4 * Math.sqrt(8) * comaY, bin);
  u[wave.blur] = from[ring.blur] / bin;
  u[wave.flux] = ringFlux(from, 0);
  u[wave.background] = from[ring.background] * bin * bin;
  u[wave.obstruction] = obstructionRatio ?? Math.min(0.7, Math.sqrt(from[ring.hole]));
  u[wave.defocus] = from[ring.radius] / rimSlope / bin;
  u[wave.defocus + terms.indexOf(7)] = comaY / bin;
  u[wave.defocus + terms.indexOf(8)] = comaX / bin;
  return u;
}

/**
 * Weak against any ring that shows: an obstruction as telescopes have, its center within a twentieth of the
 * radius of the middle, light that rises by less than a tenth to one side, aberrations below the defocus.
 */
function expectations(start: Float64Array, obstructionRatio: number | undefined): readonly Expectation[] {
  const aberration = start[wave.defocus] / 2;
  return [
    obstructionRatio === undefined
      ? { unknown: wave.obstruction, value: 0.35, sigma: 0.25 }
      : { unknown: wave.obstruction, value: obstructionRatio, sigma: 1e-3 },
    { unknown: wave.holeX, value: 0, sigma: 0.05 },
    { unknown: wave.holeY, value: 0, sigma: 0.05 },
    { unknown: wave.slopeX, value: 0, sigma: 0.1 },
    { unknown: wave.slopeY, value: 0, sigma: 0.1 },
    ...terms.slice(1).map((_, i) => ({ unknown: wave.defocus + 1 + i, value: 0, sigma: aberration })),
  ];
}

/** Unknowns with the edge that explains most of what a whole beam leaves, or undefined where none helps. */
function clipStart({ width, height, pixels, use }: StampPixels, { unknowns }: Descent, variance: number) {
  const tried = new Float64Array(wholeUnknowns + 2);
  tried.set(unknowns);
  // an uneven light and a hole off the middle may have taken the place of the edge
  for (const k of [wave.holeX, wave.holeY, wave.slopeX, wave.slopeY]) tried[k] = 0;
  tried[wave.clipDistance] = 1;
  const model = prepareWavefrontModel(width, height, tried);
  const values = new Float64Array(pixels.length);
  const costAt = (): number => {
    model.valuesInto(values, tried);
    let sum = 0;
    for (let k = 0; k < values.length; k++)
      if (use[k]) sum += (pixels[k] - values[k]) ** 2 / (variance + Math.max(0, values[k]) + 1e-6);
    return sum;
  };
  let least = costAt();
  let best: Float64Array | undefined;
  for (const distance of [0.9, 0.7])
    for (let k = 0; k < 8; k++) {
      tried[wave.clipDistance] = distance;
      tried[wave.clipAngle] = (k * Math.PI) / 4;
      const cost = costAt();
      if (cost >= least) continue;
      least = cost;
      best = tried.slice();
    }
  return best;
}

/** What a simulated star may get wrong, as in a scene. */
const accuracy = { minPupilSamples: 16, foldedLight: 0.02, pixelError: 1e-6 } as const;
/** Any aperture serves: the blur is given in px. */
const apertureMm = 200;

/**
 * The picture by waves, with the slopes of the rays: they steer the descent, and where the residuals have no
 * part along them, the fit ends as it would by its own slopes.
 */
function wavesModel(
  width: number,
  height: number,
  start: Float64Array,
  bin: number,
  { fNumber, pixelSizeUm }: WavefrontSetting,
  wavelengthNm: number,
): PictureModel {
  const rays = prepareWavefrontModel(width, height, start);
  const side = pixelSizeUm * bin;
  const nmPerPx = (500 * side) / fNumber;
  const arcsecPerPx = (side / (1000 * apertureMm * fNumber)) * arcsecPerRadian;
  const drawInto = (out: Float64Array, u: Float64Array): void => {
    const { obstructionRatio, holeX, holeY, slopeX, slopeY, clipDistance = 1, clipAngle = 0 } = pupilAt(u);
    const perDeg = 180 / Math.PI;
    const shape: DiffractionShape = {
      kind: 'diffraction',
      pupil: {
        obstructionRatio,
        obstructionCenter: { x: holeX, y: holeY },
        illumination: {
          gradient: Math.sqrt(slopeX * slopeX + slopeY * slopeY),
          angleDeg: angleFrom(1, 0, slopeX, slopeY) * perDeg,
        },
        ...(clipDistance < 1 ? { clip: { distance: clipDistance, angleDeg: clipAngle * perDeg } } : {}),
      },
      wavefront: {
        zernikesNm: Object.fromEntries(terms.map((noll, i) => [noll, nmPerPx * u[wave.defocus + i]])),
      },
      fNumber,
      wavelengthNm,
      pixelSizeUm: side,
      seeing: { fwhmArcsec: u[wave.blur] * arcsecPerPx, wavelengthNm, apertureMm },
      accuracy,
    };
    prepareStar(shape, { width, height }).renderInto(out, u[wave.x], u[wave.y], u[wave.flux]);
    for (let k = 0; k < out.length; k++) out[k] += u[wave.background];
  };
  // A step that is taken is drawn once: the descent asks for its values again when it takes the slopes there.
  const drawn = { at: new Float64Array(0), values: new Float64Array(width * height) };
  const valuesInto = (out: Float64Array, u: Float64Array): void => {
    if (!isSame(drawn.at, u)) {
      drawInto(drawn.values, u);
      drawn.at = u.slice();
    }
    out.set(drawn.values);
  };
  return {
    ...rays,
    valuesInto,
    slopesInto(out, slopes, u) {
      rays.slopesInto(out, slopes, u);
      valuesInto(out, u);
    },
  };
}

const isSame = (a: Float64Array, b: Float64Array): boolean =>
  a.length === b.length && a.every((value, i) => value === b[i]);

/** Lengths and light in px of the stamp. */
function inPixels(descent: Descent, bin: number): Descent {
  if (bin === 1) return descent;
  const n = descent.unknowns.length;
  const scale = descent.unknowns.map((_, i) => {
    if (i === wave.background) return 1 / (bin * bin);
    return i <= wave.blur || (i >= wave.defocus && i < wave.clipDistance) ? bin : 1;
  });
  return {
    ...descent,
    unknowns: descent.unknowns.map((value, i) =>
      i === wave.x || i === wave.y ? bin * (value + 0.5) - 0.5 : value * scale[i],
    ),
    covariances: descent.covariances.map((covariance) =>
      covariance.map((value, at) => value * scale[Math.floor(at / n)] * scale[at % n]),
    ),
    unevennessE: descent.unevennessE / (bin * bin),
  };
}
