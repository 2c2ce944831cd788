/** A simulated frame as a FITS file that says how it was made. */
import { type Camera, createImage, frameToAdu, type Image } from '@holdfast/psf';
import { imageHeight, imageWidth, readsPerPixel } from '@holdfast/psf/internal';
import { requireFinite, requireNames, requireText, unitVector } from '@holdfast/psf/numerics';
import { version } from '../../../version.ts';
import { writeFits } from './fits-write.ts';
import type { FitsKeyword } from './fits-write-card.ts';
import { type OwnKeyword, ownKeywords } from './own-keywords.ts';

/** What the header says of a frame. */
export interface FrameInfo {
  /**
   * Start of the exposure, ms since 1970 began (UTC): DATE-OBS, DATE-BEG and, with the exposure, DATE-END.
   */
  readonly startMs?: number;
  /**
   * Pixels a side in one of the frame, where the camera itself is described as binned. Default: the camera's
   * `binning`.
   */
  readonly binning?: number;
  /** Side of a pixel of the frame, um. With the focal length it gives the scale: CDELTi. */
  readonly pixelSizeUm?: number;
  /** Focal length at the sensor, mm. */
  readonly focalLengthMm?: number;
  /** Diameter of the entrance pupil, mm. */
  readonly apertureMm?: number;
  /** Linear central obstruction, 0 to 1. */
  readonly obstructionRatio?: number;
  /** Direction of the rows against the second world axis, degrees: PCi_j. Default 0. */
  readonly rotationDeg?: number;
  /** What was pointed at: OBJECT. */
  readonly object?: string;
  /** TELESCOP and INSTRUME. */
  readonly telescope?: string;
  /** Name of the camera. */
  readonly instrument?: string;
  /** Position of the focuser, steps. */
  readonly focuserPosition?: number;
  /** Lines of HISTORY: seed, focus shift, whatever made the frame. Printable ASCII. */
  readonly history?: readonly string[];
  /** Further keywords. */
  readonly keywords?: readonly FitsKeyword[];
}

/**
 * Write a frame as the camera's own numbers: unsigned 16-bit where the output ends below 65536, else floating
 * point. The header holds the standard's keywords and those of `ownKeywords`; scale and orientation are world
 * coordinates: plain angles from the middle of the frame, since where a guide camera points is not known.
 * HISTORY says that the frame is simulated.
 *
 * ```ts
 * const frame = exposeFrame(expected, camera, randomStream('night', 1))
 * const bytes = frameToFits(frame, camera, { startMs: Date.UTC(2024, 2, 1), history: ['seed night, 1'] })
 * ```
 * @param frame  electrons, as `exposeFrame` returns them for this camera
 * @throws RangeError or TypeError for a frame that is not finite, an option out of range, or text that FITS
 *   cannot hold
 */
export function frameToFits(frame: Image, camera: Camera, info: FrameInfo = {}): Uint8Array<ArrayBuffer> {
  requireNames(
    'info',
    info,
    'startMs binning pixelSizeUm focalLengthMm apertureMm obstructionRatio rotationDeg object',
    'telescope instrument focuserPosition history keywords',
  );
  const { startMs, pixelSizeUm, focalLengthMm, apertureMm, obstructionRatio, focuserPosition } = info;
  for (const [name, value] of Object.entries({
    startMs,
    pixelSizeUm,
    focalLengthMm,
    apertureMm,
    obstructionRatio,
    focuserPosition,
    rotationDeg: info.rotationDeg,
  }))
    if (value !== undefined) requireFinite(name, value);
  for (const name of ['object', 'telescope', 'instrument'] as const) {
    const text = info[name];
    if (text !== undefined) requireText(name, text);
  }
  const adu = frameToAdu(frame, camera);
  // the top of the range as the camera itself has it, binning included
  const topAdu = frameToAdu(createImage(1, 1, new Float64Array([1e300])), camera).data[0];
  const factor = info.binning ?? camera.binning?.factor ?? 1;
  const reads = camera.binning === undefined ? 1 : readsPerPixel(camera.binning);
  const exposureS = camera.exposureS ?? 1;
  const given = <Value extends string | number>(
    keyword: string,
    value: Value | undefined,
    comment: string,
  ): FitsKeyword[] => (value === undefined ? [] : [{ keyword, value, comment }]);
  const own = (keyword: OwnKeyword, value: number | undefined): FitsKeyword[] =>
    given(keyword, value, ownKeywords[keyword]);
  const header: FitsKeyword[] = [
    ...given('OBJECT', info.object, 'what was pointed at'),
    ...given('TELESCOP', info.telescope, 'simulated'),
    ...given('INSTRUME', info.instrument, 'simulated'),
    ...(startMs === undefined ? [] : timeKeywords(startMs, exposureS)),
    { keyword: 'XPOSURE', value: exposureS, comment: '[s] exposure' },
    { keyword: 'BUNIT', value: 'adu', comment: 'unit of a pixel' },
    ...(pixelSizeUm === undefined || focalLengthMm === undefined
      ? []
      : worldKeywords(frame, (206_264.806 * pixelSizeUm) / 1000 / focalLengthMm, info.rotationDeg ?? 0)),
    ...own('HFGAIN', camera.gainEPerAdu),
    ...own('HFRDNOIS', camera.readNoiseE * Math.sqrt(reads)),
    ...own('HFSATUR', topAdu),
    ...own('HFOFFSET', camera.offsetAdu * reads),
    ...own('HFBIN1', factor),
    ...own('HFBIN2', factor),
    ...own('HFPIXUM', pixelSizeUm),
    ...own('HFFOCMM', focalLengthMm),
    ...own('HFAPTMM', apertureMm),
    ...own('HFOBSTR', obstructionRatio),
    ...own('HFFOCUS', focuserPosition),
    ...(info.keywords ?? []),
    { keyword: 'HISTORY', comment: `Simulated by holdfast ${version}: no light was measured.` },
    {
      keyword: 'HISTORY',
      comment: `Offset of the camera: ${camera.offsetAdu} adu; its bits: ${camera.bitDepth}.`,
    },
    ...(info.history ?? []).map((comment) => ({ keyword: 'HISTORY', comment })),
  ];
  return writeFits(adu, { bitpix: topAdu <= 65535 ? 16 : -64, header });
}

function timeKeywords(startMs: number, exposureS: number): FitsKeyword[] {
  const start = dateText(startMs);
  return [
    { keyword: 'TIMESYS', value: 'UTC', comment: 'time scale' },
    { keyword: 'DATE-OBS', value: start, comment: 'start of the exposure' },
    { keyword: 'DATE-BEG', value: start, comment: 'start of the exposure' },
    { keyword: 'DATE-END', value: dateText(startMs + 1000 * exposureS), comment: 'end of the exposure' },
  ];
}

/**
 * Linear world axes: angles from the middle of the frame along its rows and columns, turned by the rotation.
 */
function worldKeywords(frame: Image, arcsecPerPx: number, rotationDeg: number): FitsKeyword[] {
  const { x: cos, y: sin } = unitVector(rotationDeg);
  return [
    { keyword: 'WCSAXES', value: 2, comment: 'number of world axes' },
    ...[1, 2].flatMap((axis): FitsKeyword[] => [
      {
        keyword: `CTYPE${axis}`,
        value: axis === 1 ? 'XANGLE' : 'YANGLE',
        comment: 'linear: angle from the middle',
      },
      { keyword: `CUNIT${axis}`, value: 'arcsec', comment: 'unit of the axis' },
      {
        keyword: `CRPIX${axis}`,
        value: ((axis === 1 ? imageWidth(frame) : imageHeight(frame)) + 1) / 2,
        comment: 'middle of the frame',
      },
      { keyword: `CRVAL${axis}`, value: 0, comment: 'there the angle is 0' },
      { keyword: `CDELT${axis}`, value: arcsecPerPx, comment: '[arcsec] per pixel' },
    ]),
    { keyword: 'PC1_1', value: cos, comment: 'rotation of the frame' },
    { keyword: 'PC1_2', value: -sin, comment: 'rotation of the frame' },
    { keyword: 'PC2_1', value: sin, comment: 'rotation of the frame' },
    { keyword: 'PC2_2', value: cos, comment: 'rotation of the frame' },
  ];
}

/** FITS 4.0, section 9.1.1: no zone, to the millisecond. */
const dateText = (ms: number): string => new Date(ms).toISOString().replace('Z', '');
