/** From a rig, a star and a focus shift to what the guide camera is expected to see. */

import {
  type Camera,
  defocusBlur,
  fNumber,
  pixelNoiseE,
  plateScaleArcsecPerPx,
  prepareStar,
  type StarPlan,
  type StarShape,
  saturationE,
  skyElectronsPerPx,
  starElectrons,
} from '@holdfast/psf';
import { requireFinite, requireInteger, requireNames } from '@holdfast/psf/numerics';
import { loopEffect } from '../motion/guide-loop.ts';
import { type EdgeStar, starAtEdge } from '../pickoff/edge-star.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { fluxForSnr, matchedSnr } from './matched-snr.ts';
import { type OwnStar, ownSceneShape } from './own-star.ts';
import { type BeamSetting, sceneShape } from './scene-shape.ts';
import { stampHalfPx, windowFor, windowOf } from './window.ts';

/** What may differ from the rig in one cell of a sweep; what is left out is as the rig says. */
export interface SceneSetting {
  /** Distance of the guide sensor beyond best focus, um. */
  readonly focusShiftUm: number;
  /** Linear central obstruction, in [0, 1). Default: the rig's. */
  readonly obstructionRatio?: number;
  /** V magnitude of the star. Default: the rig's. */
  readonly magnitude?: number;
  /** Brightness of the star by the SNR of its image as it falls on the sensor; overrides the magnitude. */
  readonly snr?: number;
  /**
   * Electrons of the star in an exposure of the rig's own length, as measured; overrides magnitude and snr.
   */
  readonly fluxE?: number;
  /** Exposure time, s. Default: the rig's. */
  readonly exposureS?: number;
  /** Pixels per side that are summed. Default: the rig's. */
  readonly binning?: number;
  /** Side of a pixel before binning, um. */
  readonly pixelSizeUm?: number;
  /** FWHM by the air alone, arcsec. Default: the rig's. */
  readonly seeingFwhmArcsec?: number;
  /**
   * Distance of the star from the optical axis, mm; needs the telescope's design. Default: as the rig's
   * pick-off gives it.
   */
  readonly offAxisMm?: number;
  /**
   * Where a straight edge cuts the beam, radii of the aperture from its center, in (-1, 1]; 1 = nothing is
   * cut.
   */
  readonly clipDistance?: number;
  /** Side of the square that is measured, px. */
  readonly windowPx?: number;
  /** A second star beside the guide star: its distance along x, px. */
  readonly neighborDistancePx?: number;
  /** Magnitude of that star less that of the guide star. Default 2. */
  readonly neighborMagnitudeDifference?: number;
  /**
   * A star of your own in place of the one that the rig's optics draw: a shape of '@holdfast/psf', such as a
   * table of light, or one that changes with focus. It is drawn as it is, seeing included.
   */
  readonly ownStar?: StarShape | OwnStar;
}

/** One expected view of the guide star. Lengths in (binned) pixels. */
export interface Scene {
  /** The setting that it was made for. */
  readonly setting: SceneSetting;
  /** What is drawn, a neighbor included. */
  readonly shape: StarShape;
  /** FWHM of what blurs the geometric star, px; of your own star its half-light diameter. */
  readonly blurFwhmPx: number;
  /** Linear central obstruction. */
  readonly obstructionRatio: number;
  /** Where the star stands and what clips it. */
  readonly star: EdgeStar;
  /**
   * Center of mass of the star's light from the point where a perfect star would stand, px. It is the true
   * position.
   */
  readonly lightOffsetPx: { readonly x: number; readonly y: number };
  /** The guide camera. */
  readonly camera: Camera;
  /** Columns of the stamp, px. */
  readonly width: number;
  /** Rows of the stamp, px. */
  readonly height: number;
  /** Pixel in whose square the star lies. */
  readonly column: number;
  /** The same along y. */
  readonly row: number;
  /** Electrons of the star in one exposure, over the whole plane. */
  readonly fluxE: number;
  /** Sky and dark electrons of one pixel in one exposure. */
  readonly backgroundE: number;
  /** Read and quantization noise of one pixel, electrons rms. */
  readonly pixelNoiseE: number;
  /** Pixel value that counts as saturated, electrons. */
  readonly saturationE: number;
  /** Flux over its least possible error, for a known position. */
  readonly snr: number;
  /** Radius around the star that holds its light, px. */
  readonly radiusPx: number;
  /** Side of the square that is measured, px. */
  readonly windowPx: number;
  /** Side that would hold this star, px. */
  readonly windowToHoldPx: number;
  /** How far from its last position the star is looked for, px; undefined: half of the window. */
  readonly searchPx: number | undefined;
  /** Threshold of the thresholded center of mass, in sigmas of an empty pixel's noise. */
  readonly thresholdSigma: number;
  /** Rms of one axis by which frames see the star off its set point, by air and mount, px. */
  readonly motionPx: number;
  /** Electrons of the brightest pixel, at most; the camera cuts it at `saturationE`. */
  readonly peakE: number;
  /** Diameter of the geometric ring on the sensor, um; 0 for a star of your own. */
  readonly outerDiameterUm: number;
  /** Outer diameter of the ring, px. */
  readonly outerDiameterPx: number;
  /** Plate scale, arcsec per px. */
  readonly arcsecPerPx: number;
  /** Exposure time, s. */
  readonly exposureS: number;
  /** Pixels per side that are summed. */
  readonly binning: number;
  /** Side of a pixel before binning, um. */
  readonly pixelSizeUm: number;
  /** FWHM by the air alone, arcsec. */
  readonly seeingFwhmArcsec: number;
  /** Defocus at the edge of the pupil, waves; below about 1 the geometric ring is a coarse picture. */
  readonly edgeWaves: number;
}

/**
 * The expected view of a rig's guide star at one setting.
 *
 * ```ts
 * const scene = buildScene(rig, { focusShiftUm: 150 })
 * ```
 * @throws RangeError when a value of the setting is outside its range
 */
export function buildScene(rig: Rig, setting: SceneSetting): Scene {
  requireNames(
    'setting',
    setting,
    'focusShiftUm obstructionRatio magnitude snr fluxE exposureS binning pixelSizeUm',
    'seeingFwhmArcsec offAxisMm clipDistance windowPx neighborDistancePx',
    'neighborMagnitudeDifference ownStar',
  );
  const { ownStar, ...numbers } = setting;
  for (const [name, value] of Object.entries(numbers)) if (value !== undefined) requireFinite(name, value);
  const { telescope, guideCamera, sky } = rig;
  const obstructionRatio = setting.obstructionRatio ?? telescope.obstructionRatio;
  const exposureS = setting.exposureS ?? guideCamera.exposureS;
  const binning = setting.binning ?? guideCamera.binning;
  const pixelSizeUm = setting.pixelSizeUm ?? guideCamera.pixelSizeUm;
  const seeingFwhmArcsec = setting.seeingFwhmArcsec ?? sky.seeingFwhmArcsec;
  requireScene({ ...setting, binning, exposureS });
  const pixelUm = pixelSizeUm * binning;
  const { apertureMm, focalLengthMm } = telescope;
  const arcsecPerPx = plateScaleArcsecPerPx({ pixelSizeUm: pixelUm, focalLengthMm });
  if (setting.windowPx !== undefined) requireInteger('windowPx', setting.windowPx, 5, 2 * 2048 + 1);
  const star = starAtEdge(rig, setting);
  const ring = defocusBlur({
    focusShiftUm: setting.focusShiftUm,
    fNumber: fNumber({ apertureMm, focalLengthMm }),
    obstructionRatio,
    wavelengthNm: guideCamera.wavelengthNm,
  });
  const beam: BeamSetting = {
    focusShiftUm: setting.focusShiftUm,
    obstructionRatio,
    seeingFwhmArcsec,
    arcsecPerPx,
    pixelUm,
    star,
    starModel: rig.starModel,
  };
  const drawn = ownStar === undefined ? sceneShape(rig, beam) : ownSceneShape(ownStar, beam);
  const outerDiameterUm = ownStar === undefined ? ring.outerDiameterUm : 0;
  const camera = binnedCamera(rig, exposureS, binning);
  const light = {
    band: 'clear' as const,
    apertureMm,
    obstructionRatio,
    throughput: telescope.throughput * star.lightShare,
    quantumEfficiency: guideCamera.quantumEfficiency,
    bandwidthNm: guideCamera.bandwidthNm,
    exposureS,
  };
  const backgroundE =
    skyElectronsPerPx({ ...light, skyMagPerArcsec2: sky.skyMagPerArcsec2, pixelScaleArcsec: arcsecPerPx }) +
    guideCamera.darkEPerS * exposureS * binning * binning;
  const windowPx = setting.windowPx ?? windowOf(rig, beam, binning, ownStar);
  const half = stampHalfPx(drawn.radiusPx, windowPx);
  const size = { width: 2 * half + 1, height: 2 * half + 1 };
  const noise = pixelNoiseE(camera);
  const variance = backgroundE + noise * noise;
  const profile = new Float64Array(size.width * size.height);
  prepareStar(drawn.shape, size).renderInto(
    profile,
    half - drawn.lightOffsetPx.x,
    half - drawn.lightOffsetPx.y,
    1,
  );
  const fluxE = starFlux(rig, setting, { ...light, profile, variance });
  const { searchPx, thresholdSigma } = rig.tracking;
  const moving = loopEffect(rig, { exposureS, seeingFwhmArcsec });
  return {
    setting,
    ...drawn,
    shape: withNeighbor(drawn.shape, setting),
    obstructionRatio,
    star,
    camera,
    ...size,
    column: half,
    row: half,
    fluxE,
    backgroundE,
    pixelNoiseE: noise,
    saturationE: saturationE(camera),
    windowPx,
    windowToHoldPx: windowFor(drawn.radiusPx),
    searchPx: searchPx === undefined ? undefined : (searchPx * guideCamera.binning) / binning,
    thresholdSigma,
    motionPx: (moving?.seenArcsec ?? 0) / arcsecPerPx,
    peakE: fluxE * profile.reduce((a, b) => Math.max(a, b), 0) + backgroundE,
    snr: matchedSnr(profile, variance, fluxE),
    outerDiameterUm,
    outerDiameterPx: outerDiameterUm / pixelUm,
    arcsecPerPx,
    exposureS,
    binning,
    pixelSizeUm,
    seeingFwhmArcsec,
    edgeWaves: ring.edgeWaves,
  };
}

interface Light {
  readonly band: 'clear';
  readonly apertureMm: number;
  readonly obstructionRatio: number;
  readonly throughput: number;
  readonly quantumEfficiency: number;
  readonly bandwidthNm: number;
  readonly exposureS: number;
  /** Share of the star in each pixel. */
  readonly profile: Float64Array;
  /** Variance of a pixel without star. */
  readonly variance: number;
}

/**
 * Electrons of the star in one exposure, by the first that the setting names: measured flux, SNR, magnitude.
 */
function starFlux(rig: Rig, setting: SceneSetting, { profile, variance, ...light }: Light): number {
  if (setting.fluxE !== undefined) return (setting.fluxE * light.exposureS) / rig.guideCamera.exposureS;
  if (setting.snr !== undefined) return fluxForSnr(profile, variance, setting.snr);
  return starElectrons({
    ...light,
    magnitude: setting.magnitude ?? rig.guideStar.magnitude,
    airmass: rig.sky.airmass,
    extinctionMagPerAirmass: rig.sky.extinctionMagPerAirmass,
  });
}

/** The scene's star, ready to be drawn with the center of its light at a given place. */
export function prepareScene(scene: Scene): StarPlan {
  const plan = prepareStar(scene.shape, scene);
  const { x: offsetX, y: offsetY } = scene.lightOffsetPx;
  return {
    ...plan,
    renderInto: (out, x, y, flux) => plan.renderInto(out, x - offsetX, y - offsetY, flux),
  };
}

function withNeighbor(star: StarShape, setting: SceneSetting): StarShape {
  const { neighborDistancePx: dxPx, neighborMagnitudeDifference: magnitudeDifference = 2 } = setting;
  return dxPx === undefined
    ? star
    : { kind: 'group', star, neighbors: [{ dxPx, dyPx: 0, magnitudeDifference }] };
}

/** What psf does not check by itself. */
function requireScene({
  binning,
  exposureS,
  offAxisMm = 0,
  clipDistance = 1,
}: Pick<SceneSetting, 'binning' | 'exposureS' | 'offAxisMm' | 'clipDistance'> & {
  binning: number;
  exposureS: number;
}): void {
  requireInteger('binning', binning, 1, 8);
  if (!(exposureS > 0 && exposureS <= 3600))
    throw new RangeError(`exposureS must be in (0, 3600], got ${exposureS}`);
  if (!(offAxisMm >= 0 && offAxisMm <= 1000))
    throw new RangeError(`offAxisMm must be in [0, 1000], got ${offAxisMm}`);
  if (!(clipDistance > -1 && clipDistance <= 1))
    throw new RangeError(`clipDistance must be in (-1, 1], got ${clipDistance}`);
}

/**
 * Pixels that are summed after reading act as one pixel of their summed noise, dark current and full well.
 */
function binnedCamera(rig: Rig, exposureS: number, binning: number): Camera {
  const { readNoiseE, gainEPerAdu, offsetAdu, bitDepth, fullWellE } = rig.guideCamera;
  const pixels = binning * binning;
  return {
    readNoiseE: readNoiseE * binning,
    darkEPerS: 0, // counted in the scene's background
    exposureS,
    gainEPerAdu,
    offsetAdu: offsetAdu * pixels,
    bitDepth: bitDepth + Math.ceil(Math.log2(pixels)),
    fullWellE: Math.min(fullWellE, ((1 << bitDepth) - 1 - offsetAdu) * gainEPerAdu) * pixels,
  };
}
