/** From a rig, a star and a focus shift to what the guide camera is expected to see. */
import {
  type AnnulusShape,
  airyFwhmUm,
  type Camera,
  defocusBlur,
  fNumber,
  pixelNoiseE,
  plateScaleArcsecPerPx,
  prepareStar,
  type StarPlan,
  saturationE,
  skyElectronsPerPx,
  starElectrons,
} from '@holdfast/psf';
import { fluxForSnr, matchedSnr } from './matched-snr.ts';
import type { Rig } from './rig-schema.ts';

/** What may differ from the rig in one cell of a sweep; what is left out is as the rig says. */
export interface SceneSetting {
  /** Distance of the guide sensor beyond best focus, um. */
  readonly focusShiftUm: number;
  readonly obstructionRatio?: number;
  readonly magnitude?: number;
  /** Brightness of the star by the SNR of its image as it falls on the sensor; overrides the magnitude. */
  readonly snr?: number;
  /** Electrons of the star in an exposure of the rig's own length, as measured; overrides magnitude and snr. */
  readonly fluxE?: number;
  readonly exposureS?: number;
  readonly binning?: number;
  /** Side of a pixel before binning, um. */
  readonly pixelSizeUm?: number;
  readonly seeingFwhmArcsec?: number;
}

/** One expected view of the guide star. Lengths in (binned) pixels. */
export interface Scene {
  readonly setting: SceneSetting;
  readonly shape: AnnulusShape;
  readonly camera: Camera;
  readonly width: number;
  readonly height: number;
  /** Pixel in whose square the star lies. */
  readonly column: number;
  readonly row: number;
  /** Electrons of the star in one exposure, over the whole plane. */
  readonly fluxE: number;
  /** Sky and dark electrons of one pixel in one exposure. */
  readonly backgroundE: number;
  /** Read and quantisation noise of one pixel, electrons rms. */
  readonly pixelNoiseE: number;
  /** Pixel value that counts as saturated, electrons. */
  readonly saturationE: number;
  /** Flux over its least possible error, for a known position. */
  readonly snr: number;
  /** Radius around the star that holds its light, px. */
  readonly radiusPx: number;
  /** Diameter of the geometric ring on the sensor, um and px. */
  readonly outerDiameterUm: number;
  readonly outerDiameterPx: number;
  readonly arcsecPerPx: number;
  readonly exposureS: number;
  readonly binning: number;
  /** Side of a pixel before binning, um. */
  readonly pixelSizeUm: number;
  readonly seeingFwhmArcsec: number;
  /** Defocus at the edge of the pupil, waves; below about 1 the geometric ring is a coarse picture. */
  readonly edgeWaves: number;
}

/** Pixels beyond the star's own radius in which the background is measured. */
const backgroundMarginPx = 4;

/**
 * The expected view of a rig's guide star at one setting.
 *
 * ```ts
 * const scene = buildScene(rig, { focusShiftUm: 150 })
 * ```
 * @throws RangeError when a value of the setting is outside its range
 */
export function buildScene(rig: Rig, setting: SceneSetting): Scene {
  const { telescope, guideCamera, sky } = rig;
  const obstructionRatio = setting.obstructionRatio ?? telescope.obstructionRatio;
  const exposureS = setting.exposureS ?? guideCamera.exposureS;
  const binning = setting.binning ?? guideCamera.binning;
  const pixelSizeUm = setting.pixelSizeUm ?? guideCamera.pixelSizeUm;
  const seeingFwhmArcsec = setting.seeingFwhmArcsec ?? sky.seeingFwhmArcsec;
  const pixelUm = pixelSizeUm * binning;
  const { apertureMm, focalLengthMm } = telescope;
  const arcsecPerPx = plateScaleArcsecPerPx({ pixelSizeUm: pixelUm, focalLengthMm });
  const beam = fNumber(apertureMm, focalLengthMm);
  const { wavelengthNm } = guideCamera;
  const { outerDiameterUm, edgeWaves } = defocusBlur({
    focusShiftUm: setting.focusShiftUm,
    fNumber: beam,
    obstructionRatio,
    wavelengthNm,
  });
  const shape: AnnulusShape = {
    kind: 'annulus',
    outerDiameterPx: outerDiameterUm / pixelUm,
    obstructionRatio,
    blurFwhmPx: Math.sqrt(
      (seeingFwhmArcsec / arcsecPerPx) ** 2 + (airyFwhmUm({ fNumber: beam, wavelengthNm }) / pixelUm) ** 2,
    ),
  };
  const camera = binnedCamera(rig, exposureS, binning);
  const light = {
    band: 'clear' as const,
    apertureMm,
    obstructionRatio,
    throughput: telescope.throughput,
    quantumEfficiency: guideCamera.quantumEfficiency,
    bandwidthNm: guideCamera.bandwidthNm,
    exposureS,
  };
  const backgroundE =
    skyElectronsPerPx({ ...light, skyMagPerArcsec2: sky.skyMagPerArcsec2, pixelScaleArcsec: arcsecPerPx }) +
    guideCamera.darkEPerS * exposureS * binning * binning;
  const radiusPx = shape.outerDiameterPx / 2 + 1.25 * shape.blurFwhmPx + 0.5;
  const half = Math.ceil(radiusPx + backgroundMarginPx);
  const size = { width: 2 * half + 1, height: 2 * half + 1 };
  const noise = pixelNoiseE(camera);
  const variance = backgroundE + noise * noise;
  const profile = new Float64Array(size.width * size.height);
  prepareStar(shape, size).renderInto(profile, half, half, 1);
  const fluxE = starFlux(rig, setting, { ...light, profile, variance });
  return {
    setting,
    shape,
    camera,
    ...size,
    column: half,
    row: half,
    fluxE,
    backgroundE,
    pixelNoiseE: noise,
    saturationE: saturationE(camera),
    snr: matchedSnr(profile, variance, fluxE),
    radiusPx,
    outerDiameterUm,
    outerDiameterPx: shape.outerDiameterPx,
    arcsecPerPx,
    exposureS,
    binning,
    pixelSizeUm,
    seeingFwhmArcsec,
    edgeWaves,
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

/** Electrons of the star in one exposure, by the first that the setting names: measured flux, SNR, magnitude. */
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

/** The scene's star, ready to be drawn. */
export function prepareScene(scene: Scene): StarPlan {
  return prepareStar(scene.shape, scene);
}

/** Pixels that are summed after reading act as one pixel of their summed noise, dark current and full well. */
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
