/** The rig that took a frame, by what the frame's own header says; what it does not say is asked for by name. */
import { type StartedRig, startRig } from '../../rig/start-rig.ts';
import { frameFacts } from '../files/frame-facts.ts';
import type { FrameImage } from '../files/frame-image.ts';

/** What a user may give beside the header; it comes before what the header says. */
export interface GivenForFrame {
  /** Diameter of the entrance pupil, mm, > 0. */
  readonly apertureMm?: number;
  /** Focal length at the sensor, mm, > 0. */
  readonly focalLengthMm?: number;
  /** Side of a pixel of the sensor before binning, um. */
  readonly pixelSizeUm?: number;
}

/** A length without which a ring's pixels are no micrometers. */
export interface MissingForFrame {
  /** Name of the option that would say it. */
  readonly field: keyof GivenForFrame;
  /** What people call it. */
  readonly label: string;
  /** Unit of its value. */
  readonly unit: 'mm' | 'um';
  /** The option of the programs that gives it. */
  readonly option: string;
}

/** A rig, or what is missing for one. Without a rig only lengths in pixels are known. */
export type FrameRig =
  | { readonly ok: true; readonly started: StartedRig; readonly fromHeader: readonly string[] }
  | { readonly ok: false; readonly reason: 'lengths-missing'; readonly missing: readonly MissingForFrame[] };

const needed: readonly MissingForFrame[] = [
  { field: 'apertureMm', label: 'aperture', unit: 'mm', option: '--aperture' },
  { field: 'focalLengthMm', label: 'focal length', unit: 'mm', option: '--focal-length' },
  { field: 'pixelSizeUm', label: 'pixel of the guide camera', unit: 'um', option: '--pixel' },
];

/**
 * Build the rig of a frame from its header: pixel, focal length, aperture, gain, binning, exposure, read noise and obstruction,
 * as far as it says them, by the keywords that `frameFacts` reads. No other rig stands in for what is missing.
 *
 * ```ts
 * const found = rigOfFrame(frame, { apertureMm: 235 })
 * if (!found.ok) console.log(found.missing.map(({ label, option }) => `${label}: ${option}`))
 * ```
 * @throws RigError for a header or a given length that no rig can have
 */
export function rigOfFrame(frame: Pick<FrameImage, 'header'>, given: GivenForFrame = {}): FrameRig {
  const facts = frameFacts(frame.header);
  const binning = facts.binning ?? 1;
  const lengths = {
    apertureMm: given.apertureMm ?? facts.apertureMm,
    focalLengthMm: given.focalLengthMm ?? facts.focalLengthMm,
    // A header's pixel is that of the image, a user's that of the sensor.
    pixelSizeUm: given.pixelSizeUm ?? (facts.pixelSizeUm && facts.pixelSizeUm / binning),
  };
  const { apertureMm, focalLengthMm, pixelSizeUm } = lengths;
  if (apertureMm === undefined || focalLengthMm === undefined || pixelSizeUm === undefined)
    return {
      ok: false,
      reason: 'lengths-missing',
      missing: needed.filter(({ field }) => lengths[field] === undefined),
    };
  const known: [string, number | undefined][] = [
    ['telescope.obstructionRatio', facts.obstructionRatio],
    ['guideCamera.exposureS', facts.exposureS],
    ['guideCamera.gainEPerAdu', facts.gainEPerAdu],
    ['guideCamera.readNoiseE', facts.readNoiseE],
  ];
  const said = known.filter((pair): pair is [string, number] => pair[1] !== undefined);
  return {
    ok: true,
    started: startRig({
      apertureMm,
      focalLengthMm,
      pixelSizeUm,
      binning,
      known: Object.fromEntries(said),
      name: 'as the frame says',
    }),
    fromHeader: [
      ...needed.map(({ field }) => field).filter((field) => given[field] === undefined),
      ...said.map(([field]) => field),
      ...(facts.binning === undefined ? [] : ['guideCamera.binning']),
    ],
  };
}
