/**
 * The rig that took a frame, by what the frame's own header says; what it does not say is asked for by name.
 */
import { imagePixels } from '@holdfast/psf/internal';
import { type RigAssumption, type StartedRig, startRig } from '../../rig/start-rig.ts';
import { type FrameFacts, frameFacts } from '../files/frame-facts.ts';
import type { FrameImage } from '../files/frame-image.ts';
import { type FrameCamera, frameCamera } from './rig-camera.ts';

/** What a user may give beside the header; it comes before what the header says. */
export interface GivenForFrame {
  /** Diameter of the entrance pupil, mm, > 0. */
  readonly apertureMm?: number;
  /** Focal length at the sensor, mm, > 0. */
  readonly focalLengthMm?: number;
  /** Side of a pixel of the sensor before binning, um. */
  readonly pixelSizeUm?: number;
  /** What else is known, by its field in the rig file: `{ 'guideCamera.readNoiseE': 1.5 }`. */
  readonly known?: Readonly<Record<string, number | string>>;
}

/** A length without which a ring's pixels are no micrometers. */
export interface MissingForFrame {
  /** Name of the option that would say it. */
  readonly field: 'apertureMm' | 'focalLengthMm' | 'pixelSizeUm';
  /** What people call it. */
  readonly label: string;
  /** Unit of its value. */
  readonly unit: 'mm' | 'µm';
  /** The option of the programs that gives it. */
  readonly option: string;
}

/** A rig, or what is missing for one. Without a rig only lengths in pixels are known. */
export type FrameRig =
  | {
      readonly ok: true;
      readonly started: StartedRig;
      /** Fields of the rig that the header said. */
      readonly fromHeader: readonly string[];
    }
  | {
      readonly ok: false;
      readonly reason: 'lengths-missing';
      readonly missing: readonly MissingForFrame[];
      /** What `measureFrame` needs for lengths in pixels. */
      readonly camera: FrameCamera;
      /** What was assumed of the camera. */
      readonly assumptions: readonly RigAssumption[];
    };

const needed: readonly MissingForFrame[] = [
  { field: 'apertureMm', label: 'aperture', unit: 'mm', option: '--aperture' },
  { field: 'focalLengthMm', label: 'focal length', unit: 'mm', option: '--focal-length' },
  { field: 'pixelSizeUm', label: 'pixel of the guide camera', unit: 'µm', option: '--pixel' },
];

/**
 * Build the rig of a frame from its header: pixel, focal length, aperture, gain, offset, range, binning,
 * exposure, read noise and obstruction, as far as it says them, by the keywords that `frameFacts` reads. No
 * other rig stands in for what is missing.
 *
 * ```ts
 * const found = rigOfFrame(frame, { apertureMm: 235 })
 * if (!found.ok) console.log(found.missing.map(({ label, option }) => `${label}: ${option}`))
 * ```
 * @throws RigError for a header or a given value that no rig can have
 */
export function rigOfFrame(frame: FrameImage, { known = {}, ...given }: GivenForFrame = {}): FrameRig {
  const facts = frameFacts(frame.header);
  const binning = facts.binning ?? 1;
  const lengths = {
    apertureMm: given.apertureMm ?? facts.apertureMm,
    focalLengthMm: given.focalLengthMm ?? facts.focalLengthMm,
    // A header's pixel is that of the image, a user's that of the sensor.
    pixelSizeUm: given.pixelSizeUm ?? (facts.pixelSizeUm && facts.pixelSizeUm / binning),
  };
  const said = saidOfCamera(facts, binning, beyondUsualBits(frame, binning));
  const start = (apertureMm: number, focalLengthMm: number, pixelSizeUm: number): StartedRig =>
    startRig({
      apertureMm,
      focalLengthMm,
      pixelSizeUm,
      binning,
      known: { ...said, ...known },
      name: 'the telescope of this frame',
    });
  const { apertureMm, focalLengthMm, pixelSizeUm } = lengths;
  if (apertureMm === undefined || focalLengthMm === undefined || pixelSizeUm === undefined) {
    // Any lengths serve here: only the camera is taken from it, and its numbers do not depend on them.
    const { rig, assumptions } = start(1, 1, 1);
    return {
      ok: false,
      reason: 'lengths-missing',
      missing: needed.filter(({ field }) => lengths[field] === undefined),
      camera: frameCamera(rig.guideCamera, frame),
      assumptions: assumptions.filter(({ field }) => field.startsWith('guideCamera.')),
    };
  }
  return {
    ok: true,
    started: start(apertureMm, focalLengthMm, pixelSizeUm),
    fromHeader: [
      ...needed.map(({ field }) => field).filter((field) => given[field] === undefined),
      ...Object.keys(said).filter((field) => !(field in known)),
      ...(facts.binning === undefined ? [] : ['guideCamera.binning']),
    ],
  };
}

/**
 * A header speaks of a pixel of the image, a rig of one of the sensor: `binning` squared of them were summed
 * after reading.
 */
function saidOfCamera(
  facts: FrameFacts,
  binning: number,
  reachedAdu: number | undefined,
): Record<string, number> {
  const pixels = binning * binning;
  const { saturationAdu = reachedAdu, offsetAdu = 0, gainEPerAdu } = facts;
  const topAdu = saturationAdu === undefined ? undefined : saturationAdu / pixels;
  const values: Record<string, number | undefined> = {
    'telescope.obstructionRatio': facts.obstructionRatio,
    'guideCamera.exposureS': facts.exposureS,
    'guideCamera.gainEPerAdu': gainEPerAdu,
    'guideCamera.readNoiseE': facts.readNoiseE && facts.readNoiseE / binning,
    'guideCamera.offsetAdu': facts.offsetAdu && Math.round(offsetAdu / pixels),
    'guideCamera.bitDepth': topAdu && Math.min(16, Math.max(8, Math.ceil(Math.log2(topAdu + 1)))),
    'guideCamera.fullWellE': topAdu && gainEPerAdu && (topAdu - offsetAdu / pixels) * gainEPerAdu,
  };
  return Object.fromEntries(
    Object.entries(values).filter((entry): entry is [string, number] => entry[1] !== undefined),
  );
}

/** Bits of a usual guide camera, as `startRig` assumes them. */
const usualBits = 12;

/**
 * The end of a file's range where its values pass those of a usual camera, and are not such values stored
 * from the top.
 */
function beyondUsualBits(
  { image, saturationAdu, sampling }: FrameImage,
  binning: number,
): number | undefined {
  const top = (2 ** usualBits - 1) * binning * binning * sampling.pixelsSummed;
  const step = 2 ** (16 - usualBits);
  const pixels = imagePixels(image);
  let isBeyond = false;
  let isStepped = true;
  for (let k = 0; k < pixels.length; k++) {
    if (pixels[k] > top) isBeyond = true;
    if (pixels[k] % step !== 0) isStepped = false;
  }
  return isBeyond && !isStepped && saturationAdu !== undefined
    ? saturationAdu / sampling.pixelsSummed
    : undefined;
}
