/** A frame from a file: its stars measured, and the brightest cut out to be looked at. */
import { imageHeight, imagePixels, imageWidth } from '@holdfast/psf/internal';
import {
  type EstimatorName,
  estimatorNames,
  type FrameImage,
  type MeasuredStar,
  type Rig,
  readFrameFile,
  rigCamera,
  rigOfFrame,
  surveyFrame,
} from '@holdfast/sim';
import { starToJudge } from '@holdfast/sim/internal';
import { type FramePlate, framePlate } from '../../figures/marked-frame.ts';
import { type FrameMark, frameMarks } from '../../reports/frame-marks.ts';
import { textOfRig, valueAt } from '../rig-form/rig-text.ts';
import type { FramePosition } from './one-frame.ts';

export interface FileStar
  extends Pick<
    MeasuredStar,
    'x' | 'y' | 'ring' | 'snr' | 'light' | 'saturatedFraction' | 'crowded' | 'disturbed' | 'backgroundE'
  > {
  readonly positions: readonly FramePosition[];
}

/** Pixels of a part of the frame, background taken off. */
export interface Cut {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
  readonly pixels: Float64Array;
}

export type FileMeasured =
  | { readonly ok: false; readonly message: string }
  | {
      readonly ok: true;
      readonly kind: string;
      readonly width: number;
      readonly height: number;
      /** What was odd about the file, and where frame and rig do not agree. */
      readonly notes: readonly string[];
      /** Brightest first. */
      readonly stars: readonly FileStar[];
      /** Which star an advice may rest on, by its place in the list, or why on none. */
      readonly judged:
        | { readonly ok: true; readonly star: number }
        | { readonly ok: false; readonly reason: string };
      /** Each star by its place in the list, and each light that was not taken for a star. */
      readonly marks: readonly FrameMark[];
      /** The whole frame. */
      readonly plate: FramePlate;
      /** Around the star of the advice, else around the brightest. */
      readonly cut: Cut;
      /** Electrons in an exposure of the rig's own for each on this frame. */
      readonly perRigExposure: number;
      readonly header: HeaderRig;
    };

/** What the header of a frame says of its rig. */
export interface HeaderRig {
  /** By the path of each field in the rig file. */
  readonly values: Readonly<Record<string, unknown>>;
  /** Lengths that it does not say, as people call them. */
  readonly missing: readonly string[];
}

/** A file that was given, measured; undefined before one was. */
export type GivenFile =
  | { readonly file: File; readonly name: string; readonly measured: FileMeasured }
  | undefined;

/** Of the picture of a whole frame, per row: more would show noise alone. */
const mostSquares = 310;
/** Larger than any camera's frame; a browser cannot hold much more. */
const mostBytes = 5e8;

/** Why a file is not even opened. */
export function refusal({ size }: Blob): FileMeasured | undefined {
  if (size <= mostBytes) return undefined;
  const message = `The file is too large for this page: ${(size / 1e6).toFixed(0)} MB, and at most ${mostBytes / 1e6} MB are read.`;
  return { ok: false, message };
}

export async function measureFile(rig: Rig, file: Blob): Promise<FileMeasured> {
  const frame = await readFrameFile(file);
  if (!frame.ok) return { ok: false, message: `The file gives no image: ${frame.message}.` };
  const { measure, notes, perRigExposure } = rigCamera(rig, frame);
  const width = imageWidth(frame.image);
  const height = imageHeight(frame.image);
  const survey = surveyFrame(frame.image, measure);
  const stars = survey.stars.map(fileStar);
  if (stars[0]?.light === undefined)
    return {
      ok: false,
      message: `No star was found: nothing stands out of the noise of these ${width} × ${height} pixels.`,
    };
  const found = starToJudge(stars);
  const judged = found.ok ? { ok: true as const, star: stars.indexOf(found.star) } : found;
  return {
    ok: true,
    kind: frame.kind,
    width,
    height,
    notes: [...frame.warnings, ...notes],
    stars,
    judged,
    marks: frameMarks(survey),
    plate: framePlate(frame, mostSquares),
    cut: cutAround(stars[judged.ok ? judged.star : 0], imagePixels(frame.image), width, height),
    perRigExposure,
    header: headerRig(rig, frame),
  };
}

const rigPaths: Readonly<Record<string, string>> = {
  apertureMm: 'telescope.apertureMm',
  focalLengthMm: 'telescope.focalLengthMm',
  pixelSizeUm: 'guideCamera.pixelSizeUm',
};

/** @throws RigError for a header that no rig can have */
function headerRig({ telescope, guideCamera }: Rig, frame: FrameImage): HeaderRig {
  const alone = rigOfFrame(frame);
  const missing = alone.ok ? [] : alone.missing;
  // The page's own lengths stand in, so that the rest of the header is read.
  const own = { ...telescope, pixelSizeUm: guideCamera.pixelSizeUm };
  const found = alone.ok
    ? alone
    : rigOfFrame(frame, Object.fromEntries(missing.map(({ field }) => [field, own[field]])));
  const fields = found.ok ? found.fromHeader.map((field) => rigPaths[field] ?? field) : [];
  const values = fields.map((path) => [
    path,
    found.ok ? valueAt(textOfRig(found.started.rig), path) : undefined,
  ]);
  return { values: Object.fromEntries(values), missing: missing.map(({ label }) => label) };
}

function fileStar(star: MeasuredStar): FileStar {
  const { x, y, ring, snr, light, saturatedFraction, crowded, disturbed, backgroundE } = star;
  const named = star.positions as Readonly<
    Partial<Record<EstimatorName, MeasuredStar['positions']['centerOfMass']>>
  >;
  const positions = estimatorNames.flatMap((estimator): FramePosition[] => {
    const found = named[estimator];
    if (found === undefined) return [];
    if (!found.ok) return [{ estimator, reason: found.reason }];
    const { sigmaX = 0, sigmaY = 0 } = found;
    return [{ estimator, x: found.x, y: found.y, sigmaPx: (sigmaX + sigmaY) / 2 }];
  });
  return { x, y, ring, snr, light, saturatedFraction, crowded, disturbed, backgroundE, positions };
}

/** Half as much again as the star's light is wide, and never beyond the frame. */
function cutAround(
  { x, y, ring, light }: FileStar,
  pixels: Float64Array,
  width: number,
  height: number,
): Cut {
  const diameter = ring.ok ? ring.outerDiameterPx.value : 2 * (light?.halfFluxDiameterPx.value ?? 10);
  const half = Math.max(12, Math.min(120, Math.ceil(0.9 * diameter + 6)));
  const left = Math.max(0, Math.round(x) - half);
  const top = Math.max(0, Math.round(y) - half);
  const right = Math.min(width - 1, Math.round(x) + half);
  const bottom = Math.min(height - 1, Math.round(y) + half);
  const cut = new Float64Array((right - left + 1) * (bottom - top + 1));
  let k = 0;
  for (let row = top; row <= bottom; row++)
    for (let column = left; column <= right; column++) cut[k++] = pixels[row * width + column];
  return { left, top, width: right - left + 1, height: bottom - top + 1, pixels: cut };
}
