/**
 * The light of the guide star at one setting: which shape draws it, where its center lies, how far it
 * reaches.
 */
import {
  type AnnulusShape,
  airyFwhmUm,
  type DiffractionShape,
  prepareStar,
  type StarShape,
  type Wavefront,
} from '@holdfast/psf';
import type { EdgeStar } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { type BandLine, bandFocusSpreadUm, guideBand } from './guide-band.ts';
import { starModelFor } from './star-model.ts';

/** What the shape of the star depends on, with every value filled in. */
export interface BeamSetting {
  readonly focusShiftUm: number;
  readonly obstructionRatio: number;
  readonly seeingFwhmArcsec: number;
  readonly arcsecPerPx: number;
  /** Side of a (binned) pixel, um. */
  readonly pixelUm: number;
  readonly star: EdgeStar;
  readonly starModel: Rig['starModel'];
}

export interface SceneShape {
  readonly shape: StarShape;
  /** FWHM of what blurs the geometric star: seeing and diffraction, px. */
  readonly blurFwhmPx: number;
  /** Center of mass of the light, from the point where a perfect star would stand, px. */
  readonly lightOffsetPx: { readonly x: number; readonly y: number };
  /** Radius around the center of mass that holds nearly all of the light, px. */
  readonly radiusPx: number;
}

/** No star that reaches farther is drawn, px: no guide camera could use it. */
const mostReachPx = 2048;

/** Light within `radiusPx` of a star that has no closed form. */
const heldShare = 0.985;

/**
 * A star is drawn by diffraction, or by rays where the rig asks for it: a ring on the axis is then an
 * annulus, and a star off the axis or behind an edge is drawn from the rays of its wavefront, both with a
 * Gaussian blur. The guide camera is taken to be focused for its own place in the field: the focus shift
 * counts from the median focus there.
 */
export function sceneShape(rig: Rig, setting: BeamSetting): SceneShape {
  const { apertureMm, focalLengthMm } = rig.telescope;
  const band = guideBand(rig, setting.focusShiftUm);
  const key = JSON.stringify([apertureMm, focalLengthMm, band, setting]);
  const kept = recent.get(key) ?? drawShape(rig, setting, band);
  recent.delete(key);
  recent.set(key, kept);
  for (const oldest of recent.keys()) {
    if (recent.size <= mostRecent) break;
    recent.delete(oldest);
  }
  return kept;
}

/** Estimators, brightness, exposure and place leave the shape as it is: one wavefront serves them all. */
const recent = new Map<string, SceneShape>();
const mostRecent = 64;

function drawShape(rig: Rig, setting: BeamSetting, band: readonly BandLine[]): SceneShape {
  const { apertureMm } = rig.telescope;
  const { wavelengthNm } = rig.guideCamera;
  const { focusShiftUm, obstructionRatio, seeingFwhmArcsec, pixelUm, star } = setting;
  const { beam, blurFwhmPx, outerDiameterPx } = blurAndRing(rig, setting, band);
  const { wavefront, extentUm } = wavefrontOf(star, focusShiftUm, beam);
  const reachPx = outerDiameterPx / 2 + extentUm / pixelUm + 2.5 * blurFwhmPx + 2;
  if (!(reachPx <= mostReachPx))
    throw new RangeError(
      `focusShiftUm, seeing and pixel must give a star within ${mostReachPx} px of its middle, got ${Math.round(reachPx)} px`,
    );
  const common = { pupil: star.pupil, wavefront, fNumber: beam, pixelSizeUm: pixelUm };
  const waves: DiffractionShape = {
    kind: 'diffraction',
    ...common,
    wavelengthNm: band,
    seeing: { fwhmArcsec: seeingFwhmArcsec, wavelengthNm, apertureMm },
    accuracy: waveAccuracy,
  };
  const model = setting.starModel === 'geometric' ? 'geometric' : starModelFor(waves);
  if (setting.starModel === 'diffraction' && model !== 'diffraction')
    throw new RangeError(
      `starModel must be auto for a star ${focusShiftUm} µm out of focus, got diffraction: its wave needs more than 1024 samples ` +
        'across the pupil, and auto draws it by rays',
    );
  if (model === 'diffraction')
    return { shape: waves, blurFwhmPx, ...lightOf(waves, reachPx, geometricRadiusPx(rig, setting)).light };
  if (star.isSymmetric) {
    const shape: AnnulusShape = { kind: 'annulus', outerDiameterPx, obstructionRatio, blurFwhmPx };
    return {
      shape,
      blurFwhmPx,
      lightOffsetPx: { x: 0, y: 0 },
      radiusPx: ringRadiusPx(outerDiameterPx, blurFwhmPx),
    };
  }
  const shape: StarShape = { kind: 'rays', ...common, blurFwhmPx, fineness: 'noisy' };
  return { shape, blurFwhmPx, ...lightOf(shape, reachPx, geometricRadiusPx(rig, setting)).light };
}

/**
 * What a simulated star may get wrong: the least possible error stays within 1 % of that at the defaults of
 * diffraction, at a twentieth of the time (tested).
 */
const waveAccuracy = { minPupilSamples: 16, foldedLight: 0.02, pixelError: 1e-6 } as const;

/** Radius that surely holds the star of a setting, px, by geometry alone. */
export function geometricRadiusPx(rig: Rig, setting: BeamSetting): number {
  const { blurFwhmPx, outerDiameterPx } = blurAndRing(rig, setting, guideBand(rig, setting.focusShiftUm));
  return (
    ringRadiusPx(outerDiameterPx, blurFwhmPx) +
    wavefrontOf(setting.star, setting.focusShiftUm, beamOf(rig.telescope)).extentUm / setting.pixelUm
  );
}

/** F-number of a telescope. */
const beamOf = ({ focalLengthMm, apertureMm }: Rig['telescope']): number => focalLengthMm / apertureMm;

function ringRadiusPx(outerDiameterPx: number, blurFwhmPx: number): number {
  return outerDiameterPx / 2 + 1.25 * blurFwhmPx + 0.5;
}

function blurAndRing(
  { telescope, guideCamera }: Rig,
  { focusShiftUm, obstructionRatio, seeingFwhmArcsec, arcsecPerPx, pixelUm }: BeamSetting,
  band: readonly BandLine[],
): { beam: number; blurFwhmPx: number; outerDiameterPx: number } {
  const beam = beamOf(telescope);
  const airyPx = airyFwhmUm({ fNumber: beam, wavelengthNm: guideCamera.wavelengthNm }) / pixelUm;
  const colorPx = colorBlurFwhmUm(bandFocusSpreadUm(band), beam, obstructionRatio) / pixelUm;
  const blurFwhmPx = Math.sqrt((seeingFwhmArcsec / arcsecPerPx) ** 2 + airyPx ** 2 + colorPx ** 2);
  return { beam, blurFwhmPx, outerDiameterPx: Math.abs(focusShiftUm) / beam / pixelUm };
}

/**
 * FWHM of a Gaussian of the second moment that a spread of the focus gives, um: discs of diameter dz / F with
 * a hole.
 */
function colorBlurFwhmUm(spreadUm: number, fNumber: number, obstructionRatio: number): number {
  return (2.354820045 * spreadUm * Math.sqrt(1 + obstructionRatio ** 2)) / (4 * fNumber);
}

/** Largest slope of Noll's terms 5 to 11 in the unit disc, at its rim. */
const steepest: Readonly<Record<number, number>> = {
  5: 2 * Math.sqrt(6),
  6: 2 * Math.sqrt(6),
  7: 7 * Math.sqrt(8),
  8: 7 * Math.sqrt(8),
  9: 3 * Math.sqrt(8),
  10: 3 * Math.sqrt(8),
  11: 12 * Math.sqrt(5),
};

/** The wavefront of a star, and how far its aberrations throw light beyond the ring at most, um. */
function wavefrontOf(
  { aberrations, measuredNm }: EdgeStar,
  focusShiftUm: number,
  beam: number,
): { wavefront: Wavefront; extentUm: number } {
  if (measuredNm !== undefined) {
    const slopes = Object.entries(measuredNm).map(([noll, nm]) => Math.abs(nm) * steepest[Number(noll)]);
    const extentUm = (2 * beam * slopes.reduce((sum, slope) => sum + slope, 0)) / 1000;
    return { wavefront: { focusShiftUm, zernikesNm: measuredNm }, extentUm };
  }
  if (aberrations === undefined) return { wavefront: { focusShiftUm }, extentUm: 0 };
  const { coma, astigmatism, angleDeg } = aberrations.seidel;
  return {
    // Focused for the median of the two line images: half of the astigmatism is taken back as defocus.
    wavefront: { focusShiftUm, seidelNm: { coma, astigmatism, fieldCurvature: -astigmatism / 2, angleDeg } },
    extentUm: Math.abs(aberrations.tangentialComaUm) + aberrations.astigmatismUm,
  };
}

/**
 * Center and reach of a star, measured on its noiseless image: `reachPx` bounds the light around the perfect
 * place. Its reach is `mostPx` at most: the far wings of turbulence hold more noise than light. Half of the
 * light lies within `halfLightPx` of its center.
 */
export function lightOf(
  shape: StarShape,
  reachPx: number,
  mostPx: number,
): { light: { lightOffsetPx: { x: number; y: number }; radiusPx: number }; halfLightPx: number } {
  const half = Math.ceil(reachPx);
  const side = 2 * half + 1;
  const image = new Float64Array(side * side);
  prepareStar(shape, { width: side, height: side }).renderInto(image, half, half, 1);
  let sum = 0;
  let sumX = 0;
  let sumY = 0;
  for (let y = 0, k = 0; y < side; y++)
    for (let x = 0; x < side; x++, k++) {
      sum += image[k];
      sumX += image[k] * (x - half);
      sumY += image[k] * (y - half);
    }
  const offset = { x: sumX / sum, y: sumY / sum };
  // Light by whole-pixel distance from its center, summed outwards.
  const byDistance = new Float64Array(2 * side);
  for (let y = 0, k = 0; y < side; y++)
    for (let x = 0; x < side; x++, k++) {
      const far = Math.sqrt((x - half - offset.x) ** 2 + (y - half - offset.y) ** 2);
      byDistance[Math.ceil(far)] += image[k];
    }
  let held = 0;
  let radius = 0;
  let halfLightPx = 0;
  while (held < heldShare * sum && radius < byDistance.length) {
    const here = byDistance[radius];
    // Between whole distances as if the light were even over the area.
    if (held < sum / 2 && held + here >= sum / 2) {
      const inner = Math.max(0, radius - 1);
      halfLightPx = Math.sqrt(inner ** 2 + ((sum / 2 - held) / here) * (radius ** 2 - inner ** 2));
    }
    held += here;
    radius++;
  }
  return { light: { lightOffsetPx: offset, radiusPx: Math.min(radius - 0.5, mostPx) }, halfLightPx };
}
