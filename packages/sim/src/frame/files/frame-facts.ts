/**
 * What the header of a frame says of how it was taken, by the standard's keywords, our own, and the de facto
 * ones of programs.
 */
import { type FitsHeader, fitsNumber, fitsText } from './fits/fits-header.ts';

/** What the header of a frame tells of it; absent where it does not. */
export interface FrameFacts {
  /**
   * Start of the exposure, ms since 1970 began (UTC, leap seconds not counted): DATE-BEG, DATE-OBS, else
   * MJD-OBS.
   */
  readonly startMs?: number;
  /** XPOSURE, EXPTIME or EXPOSURE, s. */
  readonly exposureS?: number;
  /**
   * HFGAIN or EGAIN. (GAIN is not read: it is electrons per ADU to some and a setting of the camera to
   * others.)
   */
  readonly gainEPerAdu?: number;
  /** HFBIN1 or XBINNING, where HFBIN2 or YBINNING agrees. */
  readonly binning?: number;
  /** HFFOCUS, FOCUSPOS or FOCPOS, in steps of the focuser. */
  readonly focuserPosition?: number;
  /** HFPIXUM or XPIXSZ: side of a pixel of this image, um. */
  readonly pixelSizeUm?: number;
  /** HFFOCMM or FOCALLEN, mm. */
  readonly focalLengthMm?: number;
  /** HFAPTMM or APTDIA, mm. */
  readonly apertureMm?: number;
  /** HFOBSTR. */
  readonly obstructionRatio?: number;
  /** HFRDNOIS: of a pixel of this image, electrons. */
  readonly readNoiseE?: number;
  /** HFOFFSET: added to every pixel of this image, ADU. */
  readonly offsetAdu?: number;
  /** HFSATUR: end of the range of a pixel of this image, ADU. */
  readonly saturationAdu?: number;
}

/**
 * ```ts
 * const { startMs, exposureS } = frameFacts(frame.header)
 * ```
 */
export function frameFacts(header: FitsHeader): FrameFacts {
  const first = (...keywords: string[]) =>
    keywords.map((keyword) => fitsNumber(header, keyword)).find((value) => value !== undefined);
  const startMs = startOf(header);
  const exposureS = first('XPOSURE', 'EXPTIME', 'EXPOSURE');
  const gain = first('HFGAIN', 'EGAIN');
  const binning = first('HFBIN1', 'XBINNING');
  const focuserPosition = first('HFFOCUS', 'FOCUSPOS', 'FOCPOS');
  const positive = (
    name: 'pixelSizeUm' | 'focalLengthMm' | 'apertureMm' | 'readNoiseE' | 'offsetAdu' | 'saturationAdu',
    ...keywords: string[]
  ) => {
    const value = first(...keywords);
    return value !== undefined && value > 0 ? { [name]: value } : {};
  };
  const obstructionRatio = first('HFOBSTR');
  return {
    ...(startMs === undefined ? {} : { startMs }),
    ...(exposureS !== undefined && exposureS > 0 ? { exposureS } : {}),
    ...(gain !== undefined && gain > 0 ? { gainEPerAdu: gain } : {}),
    ...(binning !== undefined && binning === (first('HFBIN2', 'YBINNING') ?? binning) ? { binning } : {}),
    ...(focuserPosition === undefined ? {} : { focuserPosition }),
    ...positive('pixelSizeUm', 'HFPIXUM', 'XPIXSZ'),
    ...positive('focalLengthMm', 'HFFOCMM', 'FOCALLEN'),
    ...positive('apertureMm', 'HFAPTMM', 'APTDIA'),
    ...positive('readNoiseE', 'HFRDNOIS'),
    ...positive('offsetAdu', 'HFOFFSET'),
    ...positive('saturationAdu', 'HFSATUR'),
    ...(obstructionRatio !== undefined && obstructionRatio >= 0 && obstructionRatio < 1
      ? { obstructionRatio }
      : {}),
  };
}

function startOf(header: FitsHeader): number | undefined {
  const text = fitsText(header, 'DATE-BEG') ?? fitsText(header, 'DATE-OBS');
  const time = fitsText(header, 'TIME-OBS') ?? fitsText(header, 'UT');
  const start = text === undefined ? undefined : timeMs(text, time);
  if (start !== undefined) return start;
  const mjd = fitsNumber(header, 'MJD-OBS');
  // 1970 begins at MJD 40587
  return mjd === undefined ? undefined : (mjd - 40587) * 86_400_000;
}

/**
 * `2024-03-01T21:05:07.25`, `2024-03-01` with a time of its own, or the form of the last century, `01/03/98`
 * (FITS 4.0, section 4.4.2.1): ms since 1970 began, or undefined.
 */
function timeMs(date: string, time?: string): number | undefined {
  const iso = /^(\d{4})-(\d\d)-(\d\d)(?:[T ](\d\d):(\d\d)(?::(\d\d(?:\.\d*)?))?Z?)?$/.exec(date.trim());
  const old = /^(\d\d)\/(\d\d)\/(\d\d)$/.exec(date.trim());
  const day =
    iso !== null
      ? [Number(iso[1]), Number(iso[2]), Number(iso[3])]
      : old !== null
        ? [1900 + Number(old[3]), Number(old[2]), Number(old[1])]
        : undefined;
  if (day === undefined) return undefined;
  const [year, month, dayOfMonth] = day as [number, number, number];
  const midnight = Date.UTC(year, month - 1, dayOfMonth);
  // no 31st of February
  if (new Date(midnight).getUTCMonth() !== month - 1 || new Date(midnight).getUTCDate() !== dayOfMonth)
    return undefined;
  const clock =
    iso !== null && iso[4] !== undefined
      ? [iso[4], iso[5], iso[6] ?? '0']
      : /^(\d\d):(\d\d):(\d\d(?:\.\d*)?)/.exec(time?.trim() ?? '')?.slice(1);
  if (clock === undefined) return midnight;
  const [hours, minutes, seconds] = clock.map(Number) as [number, number, number];
  // 60 begins a leap second
  if (hours > 23 || minutes > 59 || seconds >= 61) return undefined;
  return midnight + ((hours * 60 + minutes) * 60 + seconds) * 1000;
}
