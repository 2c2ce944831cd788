/**
 * How a rig's camera took a frame: what measuring it needs, by the rig and by what the frame's own header
 * says.
 */
import { imagePixels } from '@holdfast/psf/internal';
import { median } from '@holdfast/psf/numerics';
import type { Rig } from '../../rig/rig-schema.ts';
import { frameFacts } from '../files/frame-facts.ts';
import type { FrameImage } from '../files/frame-image.ts';
import { mostHeldObstruction } from '../rings/ring-fit.ts';
import type { MeasureFrameOptions } from './measure-frame.ts';

/** The camera of a frame, by the guide camera where the header is silent; lengths in pixels only. */
export interface FrameCamera {
  /** What `measureFrame` takes, by camera and header. */
  readonly measure: MeasureFrameOptions;
  /** Pixels of the sensor a side in one of the image: binning, times two for a color mosaic. */
  readonly binning: number;
  /** Exposure time, s. */
  readonly exposureS: number;
  /** Electrons of a star in an exposure of the rig's own length for each electron on this frame. */
  readonly perRigExposure: number;
  /** Where frame and rig do not agree, for people. */
  readonly notes: readonly string[];
}

/** The same with the lengths that turn pixels into micrometers. */
export interface RigCamera extends FrameCamera {
  /** What `measureFrame` takes, by rig and header. */
  readonly measure: MeasureFrameOptions & { readonly fNumber: number; readonly pixelSizeUm: number };
}

/** Pixels looked at to tell the level of a frame. */
const sampled = 20_000;

/**
 * The camera of a rig's frame, as `frameCamera` finds it, with F-number and pixel. The rig's obstruction
 * holds the hole of a ring where the header says none; one of 0 does not, since a rig that was started from
 * few numbers assumes it.
 *
 * ```ts
 * const { measure, perRigExposure } = rigCamera(rig, frame)
 * const [star] = measureFrame(frame.image, measure)
 * ```
 */
export function rigCamera({ guideCamera, telescope }: Rig, frame: FrameImage): RigCamera {
  const camera = frameCamera(guideCamera, frame);
  return {
    ...camera,
    measure: {
      ...heldHole(telescope.obstructionRatio || undefined),
      ...camera.measure,
      fNumber: telescope.focalLengthMm / telescope.apertureMm,
      pixelSizeUm: guideCamera.pixelSizeUm * camera.binning,
    },
  };
}

/**
 * The header is believed where it says its gain (EGAIN), exposure and binning; else the rig is. An
 * obstruction that it says holds the hole of a ring. The offset of the rig is taken off a frame that is not
 * darker than it. A frame whose values go beyond the rig's bits is taken to fill its 16 bits from the top
 * where all its values are multiples of the step that this means.
 */
export function frameCamera(
  guideCamera: Omit<Rig['guideCamera'], 'pixelSizeUm'>,
  frame: FrameImage,
): FrameCamera {
  const facts = frameFacts(frame.header);
  const notes: string[] = [];
  const differs = (what: string, said: number, known: number) => {
    if (Math.abs(said - known) > 1e-3 * known)
      notes.push(`the frame says ${what} ${said}, the rig ${known}: the frame is believed`);
  };
  const exposureS = facts.exposureS ?? guideCamera.exposureS;
  if (facts.exposureS !== undefined) differs('exposure, s:', facts.exposureS, guideCamera.exposureS);
  const binned = facts.binning ?? guideCamera.binning;
  if (facts.binning !== undefined) differs('binning', facts.binning, guideCamera.binning);

  const { pitchPx, pixelsSummed } = frame.sampling;
  const reads = binned * binned * pixelsSummed;
  const pixels = imagePixels(frame.image);
  const topAdu = Math.min(
    2 ** guideCamera.bitDepth - 1,
    guideCamera.fullWellE / guideCamera.gainEPerAdu + guideCamera.offsetAdu,
  );
  const { step, isOther } = stepOf(pixels, guideCamera.bitDepth, reads, notes);
  const gainEPerAdu = facts.gainEPerAdu ?? guideCamera.gainEPerAdu / step;
  if (facts.gainEPerAdu !== undefined) differs('e-/ADU', facts.gainEPerAdu, guideCamera.gainEPerAdu);

  const level = median(spread(pixels));
  const offset = guideCamera.offsetAdu * reads * step;
  // half a percent and two units: the median of a dark frame lies about its offset
  const isRaw = level > 0.995 * offset - 2 * step;
  if (!isRaw)
    notes.push(
      `its sky of ${Number(level.toPrecision(4))} lies below the rig's offset of ${offset}: taken as if the offset were off already`,
    );
  const ofRig = topAdu * reads * step;
  // a frame of another camera ends where its own numbers do, if they say
  const saturationAdu = Math.min(
    frame.saturationAdu ?? Infinity,
    isOther ? Infinity : isRaw ? ofRig : ofRig - offset,
  );
  return {
    measure: {
      gainEPerAdu,
      offsetAdu: isRaw ? offset : 0,
      readNoiseE: guideCamera.readNoiseE * Math.sqrt(reads),
      ...(saturationAdu < Infinity ? { saturationAdu } : {}),
      ...heldHole(facts.obstructionRatio),
    },
    binning: binned * pitchPx,
    exposureS,
    perRigExposure: guideCamera.exposureS / exposureS,
    notes,
  };
}

const heldHole = (obstructionRatio: number | undefined): Pick<MeasureFrameOptions, 'obstructionRatio'> =>
  obstructionRatio !== undefined && obstructionRatio < mostHeldObstruction ? { obstructionRatio } : {};

/**
 * Values of fewer bits than 16 are sometimes stored from the top: in steps of 2^(16 - bits). Other values
 * beyond these bits come from another camera.
 */
function stepOf(
  pixels: Float64Array,
  bitDepth: number,
  reads: number,
  notes: string[],
): { step: number; isOther: boolean } {
  const top = (2 ** bitDepth - 1) * reads;
  let most = 0;
  for (let k = 0; k < pixels.length; k++) if (pixels[k] > most) most = pixels[k];
  if (!(most > top)) return { step: 1, isOther: false };
  const step = 2 ** (16 - bitDepth);
  let stepped = step > 1;
  for (let k = 0; k < pixels.length && stepped; k++) stepped = pixels[k] % step === 0;
  notes.push(
    stepped
      ? `its values are multiples of ${step}: ${bitDepth} bits stored from the top of 16; the gain is taken to be ${step} times smaller`
      : `it holds values up to ${most}, the rig's ${bitDepth} bits end at ${top}: another camera, or processed values; these bits call none of its pixels saturated`,
  );
  return { step: stepped ? step : 1, isOther: !stepped };
}

function spread(pixels: Float64Array): number[] {
  const every = Math.max(1, Math.floor(pixels.length / sampled));
  const out: number[] = [];
  for (let k = 0; k < pixels.length; k += every) if (Number.isFinite(pixels[k])) out.push(pixels[k]);
  return out;
}
