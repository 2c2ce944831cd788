/** A real frame: its brightest star measured, and what to do about the focus of the camera that took it. */

import { readFileSync } from 'node:fs';
import type { Centroid } from '@holdfast/centroid';
import {
  adviseStar,
  type EstimatorName,
  estimatorLabels,
  type FocusLimit,
  focusLimit,
  type LongWorkOptions,
  type MeasuredStar,
  measureFrame,
  type Rig,
  readFitsFile,
  type StarAdvice,
  significant,
  withError,
} from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';
import { limitLines, starLines } from './terminal-report.ts';
import { textTable } from './text-table.ts';

export interface FrameReport {
  readonly file: string;
  readonly width: number;
  readonly height: number;
  readonly warnings: readonly string[];
  /** Stars that stand out in the frame. */
  readonly stars: number;
  readonly star: MeasuredStar;
  readonly advice: StarAdvice;
  /** The focus limit of a star as bright as this one. */
  readonly limit: FocusLimit;
}

export interface FrameReportOptions extends LongWorkOptions {
  readonly seed: string;
  readonly trials: number;
}

/**
 * Measure the brightest star of a FITS file and advise on it.
 *
 * @throws UnusableInput with the exact reason when the file gives no image or the image no star
 */
export async function frameReport(rig: Rig, file: string, options: FrameReportOptions): Promise<FrameReport> {
  const frame = await readFitsFile(bytesOf(file));
  if (!frame.ok) throw new UnusableInput(`${file} gives no image: ${frame.message}`);
  const { gainEPerAdu, readNoiseE, pixelSizeUm, binning } = rig.guideCamera;
  const stars = measureFrame(frame.image, {
    gainEPerAdu,
    readNoiseE: readNoiseE * binning,
    fNumber: rig.telescope.focalLengthMm / rig.telescope.apertureMm,
    pixelSizeUm: pixelSizeUm * binning,
    ...(frame.saturationAdu === undefined ? {} : { saturationAdu: frame.saturationAdu }),
  });
  const [star] = stars;
  if (star?.light === undefined)
    throw new UnusableInput(
      `${file} shows no star: nothing stands out of the noise of its ${sizeOf(frame.image.shape)} px`,
    );
  const fluxE = star.light.fluxE.value;
  const focusShiftUm = (star.ring.ok && star.ring.absFocusShiftUm?.value) || 0;
  const advice = await adviseStar(rig, { focusShiftUm, fluxE }, options);
  const limit = await focusLimit(rig, { ...options, setting: { fluxE } });
  const [height, width] = frame.image.shape;
  return { file, width, height, warnings: frame.warnings, stars: stars.length, star, advice, limit };
}

/** The report as lines for the terminal. */
export function frameLines(
  rig: Rig,
  { file, width, height, warnings, stars, star, advice, limit }: FrameReport,
): string[] {
  const { light, ring } = star;
  return [
    `${file}: ${width} x ${height} px, ${stars} ${stars === 1 ? 'star' : 'stars'}; measured with ${rig.guideCamera.gainEPerAdu} e-/ADU and ${rig.guideCamera.readNoiseE} e- of read noise`,
    ...warnings.map((warning) => `  note: ${warning}`),
    '',
    ...textTable([
      ['position of the brightest star', 'x', 'y', 'flux'],
      ['', 'px', 'px', 'e-'],
      ...(Object.keys(star.positions) as EstimatorName[]).map((name) =>
        positionRow(name, star.positions[name]),
      ),
    ]),
    ...(star.unevenShiftPx.x + star.unevenShiftPx.y > 0
      ? [
          `The ring's light is uneven: it may shift each position by ${shiftText(star)} px more, in part the same for all.`,
        ]
      : []),
    '',
    `SNR ${significant(star.snr, 3)}; background ${withError(star.backgroundE)} e- a pixel; half-flux diameter ${
      light ? withError(light.halfFluxDiameterPx) : 'none'
    } px${star.saturatedFraction > 0 ? `; ${significant(100 * star.saturatedFraction, 2)} % of its pixels saturated` : ''}${
      star.crowded ? '; another star is near: trust the ring less' : ''
    }`,
    ...(ring.ok
      ? [
          `Ring by fit: outer diameter ${withError(ring.outerDiameterPx)} px, inner ${withError(ring.innerDiameterPx)} px, obstruction ratio ${withError(ring.obstructionRatio)}${
            ring.holeResolved ? '' : ' (the hole is not resolved: these two mean little)'
          }, blur FWHM ${withError(ring.blurFwhmPx)} px`,
          ring.absFocusShiftUm
            ? `Implied focus shift: ${withError(ring.absFocusShiftUm)} um, either side of focus (one frame cannot tell which)`
            : '',
        ]
      : [`No ring was measured (${ring.reason}): the star is taken to be in focus`]),
    '',
    'What a guide star like this one does (simulated with this rig):',
    ...starLines(advice),
    '',
    ...limitLines(limit),
    ...(limit.limitUm.value > 0
      ? [
          `  This star stands at ${significant((100 * advice.focusShiftUm) / limit.limitUm.value, 2)} % of that limit.`,
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

const sizeOf = ([height, width]: readonly number[]): string => `${width} x ${height}`;

function bytesOf(file: string): Uint8Array {
  try {
    return new Uint8Array(readFileSync(file));
  } catch (error) {
    throw new UnusableInput(`cannot read the frame: ${(error as Error).message}`);
  }
}
