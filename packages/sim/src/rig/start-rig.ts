/**
 * A rig from what an imager sees at the telescope: a ring of so many pixels, aperture, focal length, pixel.
 * All else is a stated assumption with the range in which it usually lies.
 */

import { thresholdedDefaults } from '@holdfast/centroid/internal';
import { fNumber } from '@holdfast/psf';
import { requireNames, shown } from '@holdfast/psf/numerics';
import { buildScene } from '../trials/scene.ts';
import { parseRig } from './rig.ts';
import type { Rig } from './rig-schema.ts';

/** What is known of a rig without a rig file. */
export interface SeenRig {
  /** Diameter of the entrance pupil, mm. */
  readonly apertureMm: number;
  /** Focal length at the guide sensor, mm. */
  readonly focalLengthMm: number;
  /** Side of a pixel of the guide camera before binning, um. */
  readonly pixelSizeUm: number;
  /** Pixels per side that are summed. Default 1. */
  readonly binning?: number;
  /** Outer diameter of the star's ring in (binned) pixels, 0 to 300. Default 0: in focus. */
  readonly ringDiameterPx?: number;
  /** V magnitude of the guide star; give this or `snr` or neither. */
  readonly magnitude?: number;
  /** SNR of the ring: flux over its least possible error. The magnitude follows from it. */
  readonly snr?: number;
  /** What else is known, by its field in the rig file: `{ 'guideCamera.readNoiseE': 1.5 }`. */
  readonly known?: Readonly<Record<string, number | string>>;
  /** What the rig is called. Default: aperture and F-number. */
  readonly name?: string;
}

/** A value that was not given, and the range in which it usually lies. */
export interface RigAssumption {
  /** Field of the rig file, as `guideCamera.readNoiseE`. */
  readonly field: string;
  /** What people call it. */
  readonly label: string;
  /** Empty for a number without a unit or a word. */
  readonly unit: string;
  /** The value that was assumed. */
  readonly value: number | string;
  /**
   * Two other values that are as usual, the low one first; absent where the answer is about one value only.
   */
  readonly others?: readonly [number | string, number | string];
}

/** A rig made from what one sees. */
export interface StartedRig {
  /** The rig, complete. */
  readonly rig: Rig;
  /** Focus shift of the ring, um: the distance from focus. Its sign is not known from one ring. */
  readonly absFocusShiftUm: number;
  /** All that was assumed for it. */
  readonly assumptions: readonly RigAssumption[];
}

/**
 * What is assumed when nothing is said, and what is as usual: common practice, no source. The values of the
 * rig schema's own defaults are the same; the window is a number here, as one that follows the ring that is
 * asked about would move the limit.
 */
const usual: readonly RigAssumption[] = [
  {
    field: 'telescope.obstructionRatio',
    label: 'central obstruction',
    unit: '',
    value: 0,
    others: [0, 0.35],
  },
  {
    field: 'telescope.throughput',
    label: 'light passed by the optics',
    unit: '',
    value: 0.8,
    others: [0.6, 0.95],
  },
  { field: 'guideCamera.exposureS', label: 'guide exposure', unit: 's', value: 2, others: [1, 4] },
  { field: 'guideCamera.readNoiseE', label: 'read noise', unit: 'e⁻', value: 3, others: [1, 5] },
  {
    field: 'guideCamera.quantumEfficiency',
    label: 'quantum efficiency',
    unit: '',
    value: 0.7,
    others: [0.5, 0.85],
  },
  { field: 'guideCamera.bandwidthNm', label: 'bandwidth', unit: 'nm', value: 300, others: [200, 400] },
  { field: 'guideCamera.wavelengthNm', label: 'effective wavelength', unit: 'nm', value: 550 },
  {
    field: 'guideCamera.darkEPerS',
    label: 'dark current',
    unit: 'e⁻ per s',
    value: 0.1,
    others: [0.01, 2],
  },
  { field: 'guideCamera.widthPx', label: 'columns of the guide sensor', unit: 'px', value: 1280 },
  { field: 'guideCamera.heightPx', label: 'rows of the guide sensor', unit: 'px', value: 960 },
  { field: 'guideCamera.gainEPerAdu', label: 'gain', unit: 'e⁻ per ADU', value: 0.5, others: [0.1, 2] },
  { field: 'guideCamera.offsetAdu', label: 'offset', unit: 'ADU', value: 100 },
  { field: 'guideCamera.bitDepth', label: 'bits of the digitizer', unit: '', value: 12 },
  {
    field: 'guideCamera.fullWellE',
    label: 'full well',
    unit: 'e⁻',
    value: 15000,
    others: [7000, 50000],
  },
  { field: 'guideCamera.hotPixelsPerMillion', label: 'hot pixels', unit: 'per million', value: 50 },
  {
    field: 'mainCamera.pixelSizeUm',
    label: 'pixel of the main camera',
    unit: 'µm',
    value: 3.76,
    others: [2.4, 9],
  },
  { field: 'mainCamera.exposureS', label: 'exposure of the picture', unit: 's', value: 300 },
  { field: 'sky.seeingFwhmArcsec', label: 'seeing', unit: '″', value: 2.5, others: [1.5, 4] },
  {
    field: 'sky.skyMagPerArcsec2',
    label: 'sky brightness',
    unit: 'mag per square arcsec',
    value: 20.5,
    others: [18.5, 21.5],
  },
  {
    field: 'sky.extinctionMagPerAirmass',
    label: 'extinction',
    unit: 'mag per airmass',
    value: 0.2,
    others: [0.12, 0.35],
  },
  { field: 'sky.airmass', label: 'airmass', unit: '', value: 1.2, others: [1, 2] },
  { field: 'sky.windMPerS', label: 'wind aloft', unit: 'm/s', value: 10, others: [5, 25] },
  { field: 'sky.turbulenceHeightM', label: 'height of the turbulent air', unit: 'm', value: 5000 },
  { field: 'guideStar.magnitude', label: 'guide star', unit: 'mag', value: 11, others: [9, 13] },
  {
    field: 'tracking.otherRmsArcsec',
    label: 'other tracking errors',
    unit: '″ rms',
    value: 0.5,
    others: [0.25, 1],
  },
  {
    field: 'tracking.proportionalGain',
    label: 'proportional gain',
    unit: '',
    value: 0.6,
    others: [0.4, 0.9],
  },
  {
    field: 'tracking.estimator',
    label: 'method',
    unit: '',
    value: 'thresholdedCenterOfMass',
    others: ['centerOfMass', 'gaussianFit'],
  },
  { field: 'tracking.windowPx', label: 'window', unit: 'px', value: 33, others: [21, 51] },
  {
    field: 'tracking.thresholdSigma',
    label: 'threshold',
    unit: 'sigmas of an empty pixel',
    value: thresholdedDefaults.thresholdSigma,
    others: [2, 4],
  },
  { field: 'tracking.templateFrames', label: 'frames of a template', unit: '', value: 20 },
  {
    field: 'budget.fwhmGrowthPercent',
    label: 'accepted growth of the stars',
    unit: '%',
    value: 5,
    others: [2, 10],
  },
  {
    field: 'budget.lostFractionPercent',
    label: 'accepted share of lost frames',
    unit: '%',
    value: 2,
    others: [1, 5],
  },
];

/** Rings beyond this are not simulated. */
const largestRingPx = 300;

/**
 * A whole rig from a few numbers. The guide camera stands out of focus by the ring's focus shift,
 *
 *   |shift| = ring diameter x pixel x binning x focal length / aperture        (geometry of a cone)
 *
 * and there is one filter, "as it is now". What is neither given nor known is assumed, and listed. The
 * command line (`holdfast --ring 22 ...`) and the page both start a rig here.
 *
 * ```ts
 * const { rig, absFocusShiftUm, assumptions } = startRig({ apertureMm: 120, focalLengthMm: 840, pixelSizeUm: 2.9, ringDiameterPx: 22 })
 * ```
 * @throws RangeError when a number of `seen` is outside its range, or aperture and focal length cannot belong
 *   together
 * @throws RigError for a field of `known` that no rig file has, or a value that it cannot have
 */
export function startRig(seen: SeenRig): StartedRig {
  requireSeen(
    requireNames(
      'seen',
      seen,
      'apertureMm focalLengthMm pixelSizeUm binning ringDiameterPx magnitude snr known name',
    ),
  );
  const { apertureMm, focalLengthMm, pixelSizeUm, binning = 1, ringDiameterPx = 0, known = {} } = seen;
  const ratio = fNumber({ apertureMm, focalLengthMm });
  const absFocusShiftUm = ringDiameterPx * pixelSizeUm * binning * ratio;
  const given: Record<string, number | string> = {
    ...known,
    'telescope.apertureMm': apertureMm,
    'telescope.focalLengthMm': focalLengthMm,
    'guideCamera.pixelSizeUm': pixelSizeUm,
    'guideCamera.binning': binning,
    ...(seen.magnitude === undefined ? {} : { 'guideStar.magnitude': seen.magnitude }),
  };
  const assumptions = usual.filter(({ field }) => !(field in given || (field === brightness && seen.snr)));
  const values = { ...Object.fromEntries(usual.map(({ field, value }) => [field, value])), ...given };
  const base = parseRig(
    nested({
      name: seen.name ?? `${apertureMm} mm f/${Number(ratio.toPrecision(2))}`,
      ...values,
      guideFocusShiftUm: absFocusShiftUm,
      filters: [{ name: 'as it is now', focusShiftUm: 0 }],
    }),
  );
  if (seen.snr === undefined) return { rig: base, absFocusShiftUm, assumptions };
  const magnitude = magnitudeOf(base, absFocusShiftUm, seen.snr);
  return {
    rig: parseRig({ ...base, guideStar: { ...base.guideStar, magnitude } }),
    absFocusShiftUm,
    assumptions,
  };
}

const brightness = 'guideStar.magnitude';

/** `{ 'a.b': 1 }` as `{ a: { b: 1 } }`. */
function nested(flat: Readonly<Record<string, unknown>>): Record<string, unknown> {
  const whole: Record<string, unknown> = {};
  for (const [field, value] of Object.entries(flat)) {
    const parts = field.split('.');
    let place = whole;
    for (const part of parts.slice(0, -1)) {
      place[part] ??= {};
      place = place[part] as Record<string, unknown>;
    }
    place[parts[parts.length - 1]] = value;
  }
  return whole;
}

/** The V magnitude at which the ring has this SNR, to 0.01 mag. */
function magnitudeOf(rig: Rig, focusShiftUm: number, snr: number): number {
  const { fluxE } = buildScene(rig, { focusShiftUm, snr });
  const reference = buildScene(rig, { focusShiftUm, magnitude: 10 }).fluxE;
  const magnitude = Number((10 - 2.5 * Math.log10(fluxE / reference)).toFixed(2));
  if (!(magnitude >= -2 && magnitude <= 20))
    throw new RangeError(
      `snr must be that of a star of V -2 to 20, got ${snr}, which asks for V ${magnitude}`,
    );
  return magnitude;
}

function requireSeen({
  apertureMm,
  focalLengthMm,
  pixelSizeUm,
  binning,
  ringDiameterPx,
  magnitude,
  snr,
}: SeenRig) {
  const within = (
    name: string,
    value: number | undefined,
    isAllowed: (value: number) => boolean,
    allowed: string,
  ) => {
    if (value !== undefined && !(typeof value === 'number' && isAllowed(value)))
      throw new RangeError(`${name} must be ${allowed}, got ${shown(value)}`);
  };
  within('apertureMm', apertureMm ?? Number.NaN, (mm) => mm > 0 && mm <= 20000, '> 0 and <= 20000');
  within('focalLengthMm', focalLengthMm ?? Number.NaN, (mm) => mm > 0 && mm <= 200000, '> 0 and <= 200000');
  within('pixelSizeUm', pixelSizeUm ?? Number.NaN, (um) => um > 0 && um <= 100, '> 0 and <= 100');
  within(
    'binning',
    binning,
    (side) => Number.isInteger(side) && side >= 1 && side <= 8,
    'a whole number from 1 to 8',
  );
  within(
    'ringDiameterPx',
    ringDiameterPx,
    (px) => px >= 0 && px <= largestRingPx,
    `from 0 to ${largestRingPx}`,
  );
  within('snr', snr, (ratio) => ratio > 0 && ratio <= 1e5, '> 0 and <= 100000');
  within('magnitude', magnitude, (mag) => mag >= -2 && mag <= 20, 'from -2 to 20');
  if (magnitude !== undefined && snr !== undefined)
    throw new RangeError(`snr must be left out, since magnitude says how bright the star is, got ${snr}`);
  const ratio = focalLengthMm / apertureMm;
  if (!(ratio >= 1))
    throw new RangeError(
      `focalLengthMm must be at least apertureMm (f/1), got f/${Number(ratio.toPrecision(2))}: aperture and focal length swapped?`,
    );
}
