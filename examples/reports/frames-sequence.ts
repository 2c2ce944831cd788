/** A sequence of real frames: what it says, as data and as lines. */

import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import { median } from '@holdfast/psf/numerics';
import {
  type CalibrationResult,
  calibrateFocuser,
  estimatorNames,
  type FocusLimit,
  type FrameFileOptions,
  type FrameImage,
  focuserPoints,
  measureSequence,
  type Rig,
  type RigAssumption,
  type RigCamera,
  rigCamera,
  type SequenceFrame,
  type SequenceResult,
  type StarAdvice,
} from '@holdfast/sim';
import { estimatorLabels, significant, withError } from '@holdfast/sim/internal';
import {
  adviseOn,
  type FrameReportOptions,
  type FrameSource,
  marginLines,
  missingText,
  telescopeLines,
  telescopeOf,
} from './frame-report.ts';
import { limitLines, starLines } from './terminal-report.ts';
import { textTable } from './text-table.ts';
import { UnusableInput } from './unusable-input.ts';

/** Which frames, and how they are read. */
export interface SequenceOfFiles {
  /** In the natural order of their names. */
  readonly files: readonly string[];
  /** Of the focuser, one per file, where the headers have none. */
  readonly positions: readonly number[] | undefined;
  readonly read: FrameFileOptions;
  readonly maxStars: number;
  /** Frames with a fainter brightest star are left out. */
  readonly leastSnr: number;
  readonly title: string;
}

export interface SequenceReport {
  readonly title: string;
  readonly files: number;
  /** What was odd about the first frame that could be read. */
  readonly warnings: readonly string[];
  readonly rig: Rig;
  /** Of the first frame that could be read. */
  readonly camera: RigCamera;
  /** What neither header nor user said; empty for a rig that was given. */
  readonly assumptions: readonly RigAssumption[];
  readonly width: number;
  readonly height: number;
  readonly sequence: SequenceResult;
  /** Where the focuser stood at two positions or more. */
  readonly calibration?: CalibrationResult;
  /** On the brightest star at its mean distance from focus; absent where the focuser was moved. */
  readonly advised?: { readonly advice: StarAdvice; readonly limit: FocusLimit };
}

/**
 * The telescope is that of the first frame that can be read.
 *
 * @throws UnusableInput when none of the frames can be read or shows a star, or a length of the telescope is
 *   missing
 */
export async function sequenceReport(
  source: FrameSource,
  { files, positions, read, maxStars, leastSnr, title }: SequenceOfFiles,
  options: FrameReportOptions,
): Promise<{ report: SequenceReport; first: FrameImage }> {
  let first: FrameImage | undefined;
  let rig: Rig | undefined;
  let assumptions: readonly RigAssumption[] = [];
  const sequence = await measureSequence(framesOf(files, positions), {
    read,
    maxStars,
    leastSnr,
    total: files.length,
    measure: (frame) => {
      if (rig === undefined) {
        first = frame;
        ({ rig, assumptions } = knownTelescope(source, title, frame));
      }
      // The hole is fitted: a calibration tells the obstruction that the frames show.
      const { obstructionRatio: _, ...measure } = rigCamera(rig, frame).measure;
      return measure;
    },
    ...(options.onProgress ? { onProgress: options.onProgress } : {}),
  });
  const [brightest] = sequence.stars;
  if (first === undefined || rig === undefined || brightest === undefined)
    throw new UnusableInput(
      `${title}: none of ${files.length} files shows a star; the first: ${sequence.failed[0]?.message ?? 'no file'}`,
    );
  const camera = rigCamera(rig, first);
  const [height, width] = first.image.shape;
  const points = focuserPoints(sequence.frames);
  const moved = new Set(points.map(({ position }) => position)).size > 1;
  const { umPerStep } = rig.focuser ?? {};
  const { warnings } = first;
  const report = { title, files: files.length, warnings, rig, assumptions, camera, width, height, sequence };
  if (moved) {
    const calibration = calibrateFocuser(points, {
      pixelSizeUm: camera.measure.pixelSizeUm,
      fNumber: camera.measure.fNumber,
      ...(umPerStep === undefined ? {} : { knownUmPerStep: Math.abs(umPerStep) }),
    });
    return { report: { ...report, calibration }, first };
  }
  const shift = sequence.focus?.absFocusShiftUm.value ?? 0;
  const advised = await adviseOn(rig, camera, shift, brightest.fluxE.value, options);
  return { report: { ...report, advised }, first };
}

function knownTelescope(source: FrameSource, title: string, frame: FrameImage) {
  const telescope = telescopeOf(source, title, frame);
  if (telescope.rig === undefined)
    throw new UnusableInput(
      `${title}: a sequence needs ${missingText(telescope.missing)}, or a rig file (--rig)`,
    );
  return telescope;
}

function* framesOf(
  files: readonly string[],
  positions: readonly number[] | undefined,
): Generator<SequenceFrame> {
  for (const [k, file] of files.entries()) {
    let bytes: Uint8Array;
    try {
      bytes = new Uint8Array(readFileSync(file));
    } catch (error) {
      throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
    }
    const focuserPosition = positions?.[k];
    yield { name: basename(file), bytes, ...(focuserPosition === undefined ? {} : { focuserPosition }) };
  }
}

/** The report as lines for the terminal. */
export function sequenceLines(report: SequenceReport): string[] {
  const { rig, sequence, camera, calibration, advised } = report;
  return [
    ...headLines(report),
    ...telescopeLines(report),
    '',
    ...noiseLines(rig, report),
    '',
    ...motionLines(rig, report),
    ...(calibration ? ['', ...calibrationLines(rig, calibration, camera)] : focusLines(sequence)),
    ...(advised
      ? [
          '',
          `What a guide star like the brightest one does (simulated with ${rig.name}):`,
          ...starLines(rig, advised.advice),
          '',
          ...limitLines(advised.limit),
          ...marginLines({ ring: { ok: false, reason: 'not-asked' } }, advised.advice, advised.limit),
        ]
      : []),
  ];
}

function headLines({ title, width, height, warnings, camera, sequence }: SequenceReport): string[] {
  const { frames, stars, failed, order, bytes, seconds, megabytesPerS } = sequence;
  const last = frames[frames.length - 1].time;
  const span = order.timed ? ` over ${significant(last, 3)} s` : ', without complete time stamps';
  const missing = order.gaps.reduce((sum, gap) => sum + gap.missing, 0);
  const oddities = [
    ...(missing > 0 ? [`${missing} missing in ${order.gaps.length} gaps`] : []),
    ...(order.outOfOrder > 0
      ? [`${order.outOfOrder} taken earlier than the file before them in the list`]
      : []),
    ...(order.sameTime > 0 ? [`${order.sameTime} with the same time as the one before`] : []),
  ];
  return [
    `${title}: ${frames.length} of ${frames.length + failed.length} frames of ${width} x ${height} px${span}${oddities.length > 0 ? `; ${oddities.join('; ')}` : ''}`,
    `  ${stars.length} ${stars.length === 1 ? 'star' : 'stars'} followed; ${significant(bytes / 1e6, 3)} MB in ${significant(seconds, 2)} s, ${significant(megabytesPerS, 2)} MB/s`,
    ...[...warnings, ...camera.notes].map((note) => `  note: ${note}`),
    ...transparencyLines(frames),
    ...failed.slice(0, 5).map(({ name, message }) => `  not used: ${name}: ${message}`),
    ...(failed.length > 5 ? [`  not used: ${failed.length - 5} more`] : []),
  ];
}

/** Where a frame has less light than the median one by more than its error tells. */
function transparencyLines(frames: SequenceResult['frames']): string[] {
  const dim = frames.flatMap(({ name, transparency }) =>
    transparency && transparency.value + 3 * transparency.standardError < 0.9 ? [{ name, transparency }] : [],
  );
  if (dim.length === 0) return [];
  const least = dim.reduce((a, b) => (a.transparency.value <= b.transparency.value ? a : b));
  return [
    `  clouds: ${dim.length} of ${frames.length} frames have less than 90 % of the median frame's light; ` +
      `least ${withError({ value: 100 * least.transparency.value, standardError: 100 * least.transparency.standardError })} %, ${least.name}`,
  ];
}

const sources = {
  differences: 'from the differences between stars',
  'one difference': 'from the difference of two stars, shared out as stated',
  'stated errors': 'as stated: one star alone cannot tell',
} as const;

/** Noise of each star by the rig's estimator, and of the brightest by all. */
function noiseLines(rig: Rig, { sequence }: SequenceReport): string[] {
  const { estimator } = rig.tracking;
  const own = sequence.split[estimator];
  if (own === undefined)
    return [
      `No star has three positions by the ${estimatorLabels[estimator]}: motion and noise are not known.`,
    ];
  const row = (name: string, split: (typeof own.stars)[number]) =>
    split === undefined
      ? [name, 'none', '', '', '', '']
      : [
          name,
          String(split.framesUsed),
          withError(split.scatterPx),
          withError(split.noisePx),
          significant(split.statedPx, 3),
          split.noiseFrom === 'stated errors' ? 'unknown' : withError(split.perStated),
        ];
  const columns = ['frames', 'scatter', 'noise', 'stated', 'noise over'];
  const units = ['', 'px', 'px', 'px', 'stated'];
  const source = own.stars.find((star) => star !== undefined)?.noiseFrom;
  return [
    `Position of each star by ${estimatorLabels[estimator]}; px, one axis:`,
    ...textTable([
      ['star', 'x', 'y', 'flux', ...columns],
      ['', 'px', 'px', 'e-', ...units],
      ...sequence.stars.map((star, k) => {
        const [, ...rest] = row('', own.stars[k]);
        return [
          String(k + 1),
          star.x.toFixed(1),
          star.y.toFixed(1),
          significant(star.fluxE.value, 3),
          ...rest,
        ];
      }),
    ]),
    ...(source
      ? [`Noise is what the other stars do not share, ${sources[source]}; the rest of the scatter is motion.`]
      : []),
    ...(own.perStated
      ? [`All stars together: noise ${withError(own.perStated)} times as large as stated.`]
      : []),
    '',
    'The brightest star by every method:',
    ...textTable([
      ['estimator', ...columns],
      ['', ...units],
      ...estimatorNames.map((name) => row(estimatorLabels[name], sequence.split[name]?.stars[0])),
    ]),
  ];
}

function motionLines(rig: Rig, { sequence, camera }: SequenceReport): string[] {
  const split = sequence.split[rig.tracking.estimator];
  if (split === undefined) return [];
  const arcsecPerPx = (206.264806 * camera.measure.pixelSizeUm) / rig.telescope.focalLengthMm;
  const { x, y } = split.motion;
  const inArcsec = (px: { value: number; standardError: number }, factor = 1) =>
    withError({
      value: px.value * arcsecPerPx * factor,
      standardError: px.standardError * arcsecPerPx * factor,
    });
  const perTime = sequence.order.timed
    ? { factor: 60, unit: 'arcsec/min' }
    : { factor: 1, unit: 'arcsec/frame' };
  return [
    `Motion that all stars share, rms, noise removed: x ${inArcsec(x.rmsPx)}, y ${inArcsec(y.rmsPx)} arcsec;`,
    `  about its straight line: x ${inArcsec(x.wanderPx)}, y ${inArcsec(y.wanderPx)} arcsec;`,
    `  drift: x ${inArcsec(x.drift, perTime.factor)}, y ${inArcsec(y.drift, perTime.factor)} ${perTime.unit}.`,
    ...split.steps.map(
      (step) =>
        `  step before ${sequence.frames[step.frame].name}: x ${inArcsec(step.x)}, y ${inArcsec(step.y)} arcsec, not counted as motion.`,
    ),
  ];
}

function focusLines({ focus, frames }: SequenceResult): string[] {
  if (focus === undefined) {
    const diameters = frames.flatMap(({ halfFluxDiameterPx }) => halfFluxDiameterPx?.value ?? []);
    return [
      `No ring on three frames or more: the stars are taken to be in focus; median half-light diameter ${significant(median(diameters), 3)} px.`,
    ];
  }
  const { absFocusShiftUm, umPerHour, umPerFrame, scatterUm } = focus;
  const pace = umPerHour ? `${withError(umPerHour)} µm per hour` : `${withError(umPerFrame)} µm per frame`;
  return [
    `Distance from focus by ${focus.frames} rings: ${withError(absFocusShiftUm)} µm on average, growing by ${pace}; scatter ${significant(scatterUm, 2)} µm per frame.`,
  ];
}

function calibrationLines(rig: Rig, found: CalibrationResult, camera: RigCamera): string[] {
  if (!found.ok) return [`The focuser was moved, but gives no calibration: ${found.message}.`];
  const { umPerStep, zeroFocusPosition, backlash, obstructionRatio, fNumber, alternatives } = found;
  const known = rig.focuser?.umPerStep;
  return [
    `Focuser, by ${found.points.length} rings (chi-square ${significant(found.chiSquare, 2)} for ${found.degreesOfFreedom} degrees of freedom):`,
    ...(umPerStep
      ? [
          `  ${withError(umPerStep)} µm of focus shift per step${known === undefined ? '' : ` (the rig says ${significant(Math.abs(known), 4)})`}; rings do not show in which direction`,
        ]
      : []),
    `  focus at ${withError(zeroFocusPosition)} steps`,
    ...(backlash === undefined
      ? []
      : [
          `  backlash of ${withError(backlash)} steps, by moves up and down: coming from below, focus is half of it higher, from above half of it lower`,
        ]),
    ...(obstructionRatio
      ? [
          `  obstruction ratio ${withError(obstructionRatio)} (the rig says ${rig.telescope.obstructionRatio})`,
        ]
      : []),
    ...(fNumber
      ? [
          `  with the rig's steps the beam is F/${withError(fNumber)} (the rig says F/${significant(camera.measure.fNumber, 3)})`,
        ]
      : []),
    ...alternatives.map(
      (other) =>
        `  these frames also allow: focus at ${withError(other.zeroFocusPosition)} steps, ${withError(other.pxPerStep)} px per step instead of ${withError(found.pxPerStep)}`,
    ),
  ];
}
