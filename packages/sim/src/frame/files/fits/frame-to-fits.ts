/** A simulated frame as a FITS file that says how it was made. */
import { type Camera, createImage, frameToAdu, type Image } from '@holdfast/psf';
import { requireFinite } from '@holdfast/psf/numerics';
import { version } from '../../../version.ts';
import { writeFits } from './fits-write.ts';
import type { FitsKeyword } from './fits-write-card.ts';

/** What the header says of a frame. */
export interface FrameInfo {
  /** Start of the exposure, ms since 1970 began (UTC): DATE-OBS. */
  readonly startMs?: number;
  /** Pixels a side in one of the frame, where the camera itself is described as binned. Default: the camera's `binning`. */
  readonly binning?: number;
  /** Side of a pixel of the frame, um: XPIXSZ and YPIXSZ. */
  readonly pixelSizeUm?: number;
  /** Focal length at the sensor, mm. */
  readonly focalLengthMm?: number;
  /** Diameter of the entrance pupil, mm. */
  readonly apertureMm?: number;
  /** What was pointed at: OBJECT. */
  readonly object?: string;
  /** Name of the telescope. */
  readonly telescope?: string;
  /** Position of the focuser, steps: FOCUSPOS. */
  readonly focuserPosition?: number;
  /** Lines of HISTORY: seed, focus shift, whatever made the frame. Printable ASCII. */
  readonly history?: readonly string[];
  /** Further keywords. */
  readonly keywords?: readonly FitsKeyword[];
}

/**
 * Write a frame as the camera's own numbers: unsigned 16-bit where the output ends below 65536, else floating point. Says the
 * exposure (EXPTIME), electrons per ADU (EGAIN), read noise (RDNOISE), saturation (SATURATE) and binning (XBINNING, YBINNING),
 * and that the frame is simulated, by HISTORY.
 *
 * ```ts
 * const frame = exposeFrame(expected, camera, randomStream('night', 1))
 * const bytes = frameToFits(frame, camera, { startMs: Date.UTC(2024, 2, 1), history: ['seed night, 1'] })
 * ```
 * @param frame  electrons, as `exposeFrame` returns them for this camera
 * @throws RangeError or TypeError for a frame that is not finite, an option out of range, or text that FITS cannot hold
 */
export function frameToFits(frame: Image, camera: Camera, info: FrameInfo = {}): Uint8Array<ArrayBuffer> {
  const { startMs, pixelSizeUm, focalLengthMm, apertureMm, object, telescope, focuserPosition } = info;
  for (const [name, value] of Object.entries({
    startMs,
    pixelSizeUm,
    focalLengthMm,
    apertureMm,
    focuserPosition,
  }))
    if (value !== undefined) requireFinite(name, value);
  const adu = frameToAdu(frame, camera);
  // the top of the range as the camera itself has it, binning included
  const topAdu = frameToAdu(createImage(1, 1, new Float64Array([1e300])), camera).data[0];
  const factor = info.binning ?? camera.binning?.factor ?? 1;
  const given = <Value extends string | number>(
    keyword: string,
    value: Value | undefined,
    comment: string,
  ): FitsKeyword[] => (value === undefined ? [] : [{ keyword, value, comment }]);
  const header: FitsKeyword[] = [
    ...given('OBJECT', object, 'what was pointed at'),
    ...given('TELESCOP', telescope, 'simulated'),
    ...given('DATE-OBS', startMs === undefined ? undefined : dateText(startMs), 'start of the exposure, UTC'),
    { keyword: 'EXPTIME', value: camera.exposureS ?? 1, comment: '[s] exposure' },
    { keyword: 'EGAIN', value: camera.gainEPerAdu, comment: '[electron/adu]' },
    { keyword: 'RDNOISE', value: camera.readNoiseE, comment: '[electron] rms of a single read' },
    { keyword: 'SATURATE', value: topAdu, comment: '[adu] end of the range' },
    { keyword: 'XBINNING', value: factor, comment: 'columns binned' },
    { keyword: 'YBINNING', value: factor, comment: 'rows binned' },
    ...given('XPIXSZ', pixelSizeUm, '[um] side of a pixel of this image'),
    ...given('YPIXSZ', pixelSizeUm, '[um] side of a pixel of this image'),
    ...given('FOCALLEN', focalLengthMm, '[mm] focal length'),
    ...given('APTDIA', apertureMm, '[mm] aperture'),
    ...given('FOCUSPOS', focuserPosition, 'position of the focuser, steps'),
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

/** FITS 4.0, section 9.1.1: no zone, to the millisecond. */
const dateText = (ms: number): string => new Date(ms).toISOString().replace('Z', '');
