/** A real frame: its brightest star measured, and what to do about the focus of the camera that took it. */
import { readFileSync } from 'node:fs';
import type { Centroid } from '@holdfast/centroid';
import {
  adviseStar,
  type Estimate,
  type EstimatorName,
  estimatorNames,
  type FocusLimit,
  type FrameCamera,
  type FrameFileOptions,
  type FrameImage,
  type FrameSurvey,
  focusLimit,
  type GivenForFrame,
  type LongWorkOptions,
  type MeasuredStar,
  type MissingForFrame,
  type Rig,
  type RigAssumption,
  type RigCamera,
  RigError,
  readFrameFile,
  rigCamera,
  rigOfFrame,
  type StarAdvice,
  surveyFrame,
} from '@holdfast/sim';
import { estimatorLabels, significant, starToJudge, withError } from '@holdfast/sim/internal';
import { type FrameMark, frameMarks, lightBeside, starTable } from './frame-marks.ts';
import { listText } from './quantity-text.ts';
import { assumptionList } from './ring-answer.ts';
import { limitLines, starLines } from './terminal-report.ts';
import { textTable } from './text-table.ts';
import { UnusableInput } from './unusable-input.ts';
import { wrapped } from './wrapped-text.ts';

/** What is known of the telescope of a frame: a rig, else some numbers beside what its own header says. */
export interface FrameSource extends GivenForFrame {
  readonly rig?: Rig | undefined;
}

/**
 * What the options of a program say of a frame's telescope.
 *
 * @throws UnusableInput when a rig file is given and numbers of a telescope, too
 */
export function frameSource({
  rig,
  aperture,
  focalLength,
  pixel,
  set,
}: {
  readonly rig: Rig | undefined;
  readonly aperture: number | undefined;
  readonly focalLength: number | undefined;
  readonly pixel: number | undefined;
  readonly set: Readonly<Record<string, number | string>>;
}): FrameSource {
  const lengths = { apertureMm: aperture, focalLengthMm: focalLength, pixelSizeUm: pixel };
  const given = Object.fromEntries(Object.entries(lengths).filter(([, value]) => value !== undefined));
  if (rig !== undefined && (Object.keys(given).length > 0 || Object.keys(set).length > 0))
    throw new UnusableInput(
      '--aperture, --focal-length, --pixel and --set must be left out, since --rig gives the rig',
    );
  return { rig, ...given, known: set };
}

/** The telescope of a frame. */
export type FrameTelescope =
  | {
      readonly rig: Rig;
      readonly camera: RigCamera;
      /** What neither header nor user said; empty for a rig that was given. */
      readonly assumptions: readonly RigAssumption[];
    }
  | {
      readonly rig?: never;
      readonly camera: FrameCamera;
      readonly assumptions: readonly RigAssumption[];
      /** Lengths without which pixels are no micrometers. */
      readonly missing: readonly MissingForFrame[];
    };

export type FrameReport = FrameTelescope & {
  readonly file: string;
  readonly kind: FrameImage['kind'];
  readonly width: number;
  readonly height: number;
  readonly warnings: readonly string[];
  /** Stars that stand out in the frame. */
  readonly stars: number;
  /** Lights that stand out and are no stars of this frame, with the reason. */
  readonly rejected: FrameSurvey['rejected'];
  /** The stars as lines, where there is more than one. */
  readonly table: readonly string[];
  /** What is marked in a picture of the frame, numbered as in the table. */
  readonly marks: readonly FrameMark[];
  readonly star: MeasuredStar;
  /** Absent without a star whose focus can be judged. */
  readonly advice?: StarAdvice;
  /** The focus limit of a star as bright as this one. */
  readonly limit?: FocusLimit;
  /** Why there is no advice. */
  readonly noVerdict?: string;
};

export interface FrameReportOptions extends LongWorkOptions {
  readonly seed: string;
  readonly trials: number;
  readonly read?: FrameFileOptions;
}

/**
 * The telescope of a frame: the rig that is given, else the one that its header and the given numbers
 * describe.
 *
 * @throws UnusableInput with the faults of what header and numbers describe
 */
export function telescopeOf({ rig, ...given }: FrameSource, file: string, frame: FrameImage): FrameTelescope {
  if (rig !== undefined) return { rig, camera: rigCamera(rig, frame), assumptions: [] };
  try {
    const found = rigOfFrame(frame, given);
    if (!found.ok) return { camera: found.camera, assumptions: found.assumptions, missing: found.missing };
    const { rig: own, assumptions } = found.started;
    // How bright the star is, the frame itself says.
    const needed = assumptions.filter(({ field }) => field !== 'guideStar.magnitude');
    return { rig: own, camera: rigCamera(own, frame), assumptions: needed };
  } catch (error) {
    if (!(error instanceof RangeError || error instanceof RigError)) throw error;
    throw new UnusableInput(
      `what the header of ${file} and the options say makes no rig (give another value, or --rig):\n${error.message}`,
    );
  }
}

/** `aperture (--aperture)`, for each length that is missing. */
export const missingText = (missing: readonly MissingForFrame[]): string =>
  listText(missing.map(({ label, option }) => `the ${label} (${option})`));

/**
 * Measure the brightest star of a file's frame and advise on it.
 *
 * @throws UnusableInput with the exact reason when the file gives no image or the image no star
 */
export async function frameReport(
  source: FrameSource,
  file: string,
  options: FrameReportOptions,
): Promise<FrameReport> {
  const frame = await readFrameFile(bytesOf(file), options.read);
  if (!frame.ok) throw new UnusableInput(`${file} gives no image: ${frame.message}`);
  return reportOn(source, file, frame, options);
}

/** @throws UnusableInput when the image shows no star */
export async function reportOn(
  source: FrameSource,
  file: string,
  frame: FrameImage,
  options: FrameReportOptions,
): Promise<FrameReport> {
  const telescope = telescopeOf(source, file, frame);
  const { stars, rejected } = surveyFrame(frame.image, telescope.camera.measure);
  const judged = starToJudge(stars);
  const star = judged.ok ? judged.star : stars[0];
  const [height, width] = frame.image.shape;
  if (star?.light === undefined)
    throw new UnusableInput(
      `${file} shows no star: nothing stands out of the noise of its ${width} x ${height} px`,
    );
  const { kind, warnings } = frame;
  const lights = {
    stars: stars.length,
    rejected,
    marks: frameMarks({ stars, rejected }),
    table: stars.length > 1 ? starTable(stars) : [],
  };
  const seen = { ...telescope, file, kind, width, height, warnings, ...lights, star };
  if (telescope.rig === undefined)
    return {
      ...seen,
      noVerdict: `lengths in µm and an advice need ${missingText(telescope.missing)}, or a rig file (--rig)`,
    };
  if (!judged.ok) return { ...seen, noVerdict: judged.reason };
  const { rig, camera } = telescope;
  return { ...seen, ...(await adviseOn(rig, camera, focusShiftOf(star), star.light.fluxE.value, options)) };
}

/** The advice on a star of this flux in electrons of the frame, at this distance from focus. */
export async function adviseOn(
  rig: Rig,
  { perRigExposure, binning }: RigCamera,
  focusShiftUm: number,
  fluxE: number,
  options: FrameReportOptions,
): Promise<{ advice: StarAdvice; limit: FocusLimit }> {
  const { seed, trials } = options;
  const long = {
    seed,
    trials,
    ...(options.onProgress ? { onProgress: options.onProgress } : {}),
    ...(options.signal ? { signal: options.signal } : {}),
  };
  const binned = binning === rig.guideCamera.binning || binning > 8 ? {} : { binning };
  const setting = { fluxE: fluxE * perRigExposure, ...binned };
  const advice = await adviseStar(rig, { focusShiftUm, ...setting }, long);
  const limit = await focusLimit(rig, { ...long, setting });
  return { advice, limit };
}

/** Distance from focus, um; 0 for a star without ring. */
const focusShiftOf = ({ ring }: MeasuredStar): number => (ring.ok && ring.absFocusShiftUm?.value) || 0;

/** The report as lines for the terminal. */
export function frameLines(report: FrameReport): string[] {
  const { file, kind, width, height, warnings, camera, stars, table, star, advice, limit, noVerdict, rig } =
    report;
  const { gainEPerAdu, readNoiseE, offsetAdu = 0 } = camera.measure;
  return [
    `${file}: ${kind.toUpperCase()}, ${width} x ${height} px, ${stars} ${stars === 1 ? 'star' : 'stars'}`,
    `  measured with ${significant(gainEPerAdu, 3)} e⁻/ADU, ${significant(readNoiseE, 3)} e⁻ of read noise, offset ${significant(offsetAdu, 4)} ADU, ${significant(camera.exposureS, 3)} s`,
    ...[...warnings, ...camera.notes].map((note) => `  note: ${note}`),
    ...rejectedLines(report),
    ...telescopeLines(report),
    '',
    ...(table.length === 0 ? [] : [...table, '']),
    ...positionTable(star),
    '',
    ...starSummary(star, camera.measure.obstructionRatio !== undefined),
    '',
    ...(rig && advice && limit
      ? [
          `What a guide star like this one does (simulated with ${rig.name}):`,
          ...starLines(rig, advice),
          '',
          ...limitLines(limit),
          ...marginLines(star, advice, limit),
        ]
      : [`No verdict: ${noVerdict}.`]),
  ];
}

const rejectedWords: Readonly<Record<FrameSurvey['rejected'][number]['reason'], string>> = {
  larger: 'larger than the stars (halo, cloud, flat field)',
  smaller: 'smaller than the stars (hot pixels, cosmic rays)',
  elongated: 'longer than wide (trail, galaxy)',
  'other-profile': 'of another profile (galaxy)',
  shapeless: 'too faint to have the shape of the stars',
};

/** What stands out in the frame and was not taken for a star. */
function rejectedLines({ rejected }: FrameReport): string[] {
  const counts = Object.entries(rejectedWords).flatMap(([reason, words]) => {
    const count = rejected.filter((light) => light.reason === reason).length;
    return count === 0 ? [] : [`${count} ${words}`];
  });
  return counts.length === 0 ? [] : [`  not taken for stars: ${counts.join('; ')}`];
}

/** Of a telescope that no rig file describes: what it was taken for, and what was assumed. */
export function telescopeLines({ rig, assumptions }: FrameTelescope): string[] {
  if (assumptions.length === 0) return [];
  const { apertureMm, focalLengthMm } = rig?.telescope ?? {};
  return [
    ...(apertureMm !== undefined && focalLengthMm !== undefined
      ? [
          `  telescope by header and options: ${significant(apertureMm, 4)} mm f/${significant(focalLengthMm / apertureMm, 3)}, ` +
            `pixels of ${significant(rig?.guideCamera.pixelSizeUm ?? 0, 3)} µm`,
        ]
      : []),
    ...wrapped(`assumed: ${assumptionList(assumptions)}. Set any with --set.`, {
      first: '  ',
      rest: '    ',
    }),
  ];
}

/** Where the brightest star is, by every estimator. */
export function positionTable(star: MeasuredStar): string[] {
  return [
    ...textTable([
      ['position of the brightest star', 'x', 'y', 'flux'],
      ['', 'px', 'px', 'e-'],
      ...estimatorNames.map((name) => positionRow(name, star.positions[name])),
    ]),
    ...(star.unevenShiftPx.x + star.unevenShiftPx.y > 0
      ? [
          `The ring's light is uneven: it may shift each position by ${shiftText(star)} px more, in part the same for all.`,
        ]
      : []),
  ];
}

function positionRow(name: EstimatorName, found: Centroid): string[] {
  if (!found.ok) return [estimatorLabels[name], found.reason, '', ''];
  return [
    estimatorLabels[name],
    withError({ value: found.x, standardError: found.sigmaX ?? 0 }),
    withError({ value: found.y, standardError: found.sigmaY ?? 0 }),
    significant(found.flux, 4),
  ];
}

const shiftText = ({ unevenShiftPx: { x, y } }: MeasuredStar): string =>
  significant(Math.sqrt((x * x + y * y) / 2), 2);

/** Brightness, ring, coma and focus of a star; `isHeld`: rig or header told the obstruction. */
function starSummary(star: MeasuredStar, isHeld: boolean): string[] {
  const { light, ring } = star;
  return [
    `SNR ${significant(star.snr, 3)}; background ${withError(star.backgroundE)} e⁻ per pixel; half-light diameter ${
      light ? withError(light.halfFluxDiameterPx) : 'none'
    } px${star.saturatedFraction > 0 ? `; ${significant(100 * star.saturatedFraction, 2)} % of its pixels saturated` : ''}${
      star.missingPixels > 0 ? `; ${star.missingPixels} of its pixels are missing` : ''
    }${lightBeside(star)}`,
    ...(ring.ok
      ? [
          `Ring by fit: outer diameter ${withError(ring.outerDiameterPx)} px, inner ${withError(ring.innerDiameterPx)} px, obstruction ratio ${
            isHeld
              ? `held at ${significant(ring.obstructionRatio.value, 3)}`
              : `${withError(ring.obstructionRatio)}${ring.holeResolved ? '' : ' (the hole is not resolved: these two mean little)'}`
          }, blur FWHM ${withError(ring.blurFwhmPx)} px${ring.fitted === 'ring' ? '' : '; the outer diameter is the mean of two discs, since no single one explains the light'}`,
        ]
      : []),
    ...comaLines(star),
    focusText(star),
  ];
}

function comaLines({ coma, ring }: MeasuredStar): string[] {
  const told = [
    ['by the place of the hole', coma.fromHole],
    ['by the third moments of the light', coma.fromMoments],
  ] as const;
  const words = told.flatMap(([how, found]) => {
    if (found === undefined) return [];
    const { sagittalComaPx, angleDeg } = found;
    const toward = angleDeg ? ` toward ${withError(angleDeg)} degrees` : '';
    return [`${withError(sagittalComaPx)} px${toward} ${how}`];
  });
  if (words.length === 0) return [];
  const strong = coma.fromMoments;
  const isComet =
    strong?.angleDeg !== undefined &&
    ring.ok &&
    strong.sagittalComaPx.value - strong.sagittalComaPx.standardError > 0.1 * ring.outerDiameterPx.value;
  return [
    `Sagittal coma: ${words.join('; ')}.`,
    ...(isComet
      ? ['This star is more like a comet than a ring: its diameter and focus shift are upper limits.']
      : []),
  ];
}

function focusText({ ring, absFocusShiftAtMostUm }: MeasuredStar): string {
  if (ring.ok && ring.absFocusShiftUm === undefined)
    return 'Its distance from focus in µm is not known without the lengths named below.';
  if (ring.ok && ring.absFocusShiftUm)
    return `Implied focus shift: ${withError(ring.absFocusShiftUm)} µm, either side of focus (one frame cannot tell which)`;
  const why = ring.ok ? '' : ` (${ring.reason})`;
  const bound =
    absFocusShiftAtMostUm === undefined
      ? ''
      : `; if all of its width came from defocus, it would be ${significant(absFocusShiftAtMostUm, 2)} µm`;
  return `No ring was measured${why}: nothing is known of its focus${bound}`;
}

/** Where the star stands on the curve that ends at the limit. */
export function marginLines(
  star: Pick<MeasuredStar, 'ring'>,
  { focusShiftUm }: StarAdvice,
  { limitUm }: FocusLimit,
): string[] {
  if (!(limitUm.value > 0)) return [];
  const shiftError = star.ring.ok ? (star.ring.absFocusShiftUm?.standardError ?? 0) : 0;
  const limitError = (limitUm.high - limitUm.low) / (2 * 1.96);
  const margin: Estimate = {
    value: limitUm.value - Math.abs(focusShiftUm),
    standardError: Math.sqrt(shiftError ** 2 + limitError ** 2),
  };
  const share = significant((100 * Math.abs(focusShiftUm)) / limitUm.value, 2);
  return [
    margin.value >= 0
      ? `  This star stands at ${share} % of that limit: ${withError(margin)} µm are left.`
      : `  This star stands at ${share} % of that limit: ${withError({ ...margin, value: -margin.value })} µm too far.`,
  ];
}

function bytesOf(file: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(file));
  } catch (error) {
    throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
  }
}
