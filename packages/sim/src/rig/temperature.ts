/** What a falling temperature does to the focus of main and guide camera. */
import { depthOfFocusUm } from '@holdfast/psf';
import { requireFinite, requireNames, requirePositive } from '@holdfast/psf/numerics';
import { type RigFault, shown } from './rig-fault.ts';
import type { Rig } from './rig-schema.ts';
import { temperatureSchema } from './temperature-schema.ts';
import { mirrorFaults, secondMirror, type TwoMirrors } from './two-mirrors.ts';

/** The second mirror of a telescope, as far as its distance from the first one matters. */
export interface SecondMirror {
  /** Focal length of the telescope over that of the first mirror. */
  readonly magnification: number;
  /** Distance of the two mirrors, mm. */
  readonly separationMm: number;
  /** From the first mirror back to the sensor, mm. Default 0. */
  readonly backFocusMm?: number;
}

/** Tube and mirrors, and how they grow with the temperature. */
export interface ThermalFocusOptions {
  /** Focal length, mm, > 0. */
  readonly focalLengthMm: number;
  /** Linear expansion of what holds the optics apart, 1/K. */
  readonly tubeExpansionPerK: number;
  /** Of the mirrors, 1/K. Default 0. */
  readonly mirrorExpansionPerK?: number;
  /** The second mirror, where there is one. */
  readonly secondary?: SecondMirror;
}

/**
 * How far a sensor that is not refocused moves beyond best focus for each kelvin of warming, um.
 *
 *   one mirror or lens   f (a_tube - a_mirror)
 *   two mirrors          ((m^2 + 1) s + b) (a_tube - a_mirror)
 *
 * f = focal length, s = distance of the mirrors, m = magnification of the second one, b = back focus.
 * (Textbook for one mirror. For two: mirrors that move apart by ds bring the image (m^2 + 1) ds nearer to the
 * first one (Wilson, Reflecting Telescope Optics, from memory; derived), and the sensor moves away by b da;
 * mirrors that expand with the tube leave it all in focus.) What a lens does of itself, by its index and its
 * curves, is not in it and is often as large: measure it.
 *
 * ```ts
 * thermalFocusUmPerK({ focalLengthMm: 1000, tubeExpansionPerK: 23.6e-6 }) // 23.6
 * ```
 */
export function thermalFocusUmPerK(options: ThermalFocusOptions): number {
  const {
    focalLengthMm,
    tubeExpansionPerK,
    mirrorExpansionPerK = 0,
    secondary,
  } = requireNames('options', options, 'focalLengthMm tubeExpansionPerK mirrorExpansionPerK secondary');
  requirePositive('focalLengthMm', focalLengthMm);
  requireFinite('tubeExpansionPerK', tubeExpansionPerK);
  requireFinite('mirrorExpansionPerK', mirrorExpansionPerK);
  if (secondary !== undefined) {
    requireNames('secondary', secondary, 'magnification separationMm backFocusMm');
    requireFinite('secondary.magnification', secondary.magnification);
    requirePositive('secondary.separationMm', secondary.separationMm);
    requireFinite('secondary.backFocusMm', secondary.backFocusMm ?? 0);
  }
  const lengthMm =
    secondary === undefined
      ? focalLengthMm
      : (secondary.magnification ** 2 + 1) * secondary.separationMm + (secondary.backFocusMm ?? 0);
  return 1000 * lengthMm * (tubeExpansionPerK - mirrorExpansionPerK);
}

/** What the night does to the focus. Focus shifts at the sensor, um; > 0 = beyond best focus. */
export interface ThermalDrift {
  /** Shift of either camera for each kelvin of warming when the main camera is not refocused. */
  readonly umPerK: number;
  /** How the shift per kelvin was found. */
  readonly from: 'as given' | 'one mirror or lens' | 'two mirrors';
  /** Fall of the temperature from one refocus of the main camera to the next, K. */
  readonly betweenRefocusesK: number;
  /**
   * What main and guide camera alike have gone to just before a refocus of the main camera; it takes both
   * back to 0.
   */
  readonly beforeRefocusUm: number;
  /**
   * What the guide path has added of its own by the end of the night; no refocus of the main camera undoes
   * it.
   */
  readonly guidePathUm: number;
  /** The guide camera's shift stays between these, beside that of the filter. */
  readonly lowUm: number;
  /** The largest, um. */
  readonly highUm: number;
  /**
   * Quarter-wave depth of focus of the main camera, um on either side, and the fall of the temperature that
   * uses it up, K.
   */
  readonly mainDepthUm: number;
  /** Undefined when the focus does not move. */
  readonly mainDepthK: number | undefined;
}

/**
 * The drift of a rig's focus, when it names its temperature.
 *
 * The guide camera rides on the focuser of the main camera and looks at the same optics. So while the tube
 * cools and nobody refocuses, both cameras lose their focus by the same amount; when the main camera is
 * refocused, the focuser takes the guide camera along and back to where it was. Only what the guide path does
 * of its own stays. The guide star is thus out of its focus by the filter's shift, plus up to the drift since
 * the last refocus, plus what the guide path has added.
 */
export function thermalDrift({
  temperature,
  telescope,
  guideCamera,
}: Pick<Rig, 'temperature' | 'telescope' | 'guideCamera'>): ThermalDrift | undefined {
  if (temperature === undefined) return undefined;
  const { nightDropK, guidePathUmPerK, tubeExpansionPerK, mirrorExpansionPerK } = temperature;
  const secondary = secondMirrorOf({ temperature, telescope });
  const umPerK =
    temperature.umPerK ??
    thermalFocusUmPerK({
      focalLengthMm: telescope.focalLengthMm,
      tubeExpansionPerK: tubeExpansionPerK ?? 0,
      mirrorExpansionPerK,
      ...(secondary ? { secondary } : {}),
    });
  const betweenRefocusesK = Math.min(temperature.refocusEveryK ?? nightDropK, nightDropK);
  const beforeRefocusUm = fallen(umPerK, betweenRefocusesK);
  const guidePathUm = fallen(guidePathUmPerK, nightDropK);
  const mainDepthUm = depthOfFocusUm({
    criterion: 'quarter-wave',
    fNumber: telescope.focalLengthMm / telescope.apertureMm,
    wavelengthNm: guideCamera.wavelengthNm,
  });
  return {
    umPerK,
    from: temperature.umPerK !== undefined ? 'as given' : secondary ? 'two mirrors' : 'one mirror or lens',
    betweenRefocusesK,
    beforeRefocusUm,
    guidePathUm,
    lowUm: Math.min(0, beforeRefocusUm) + Math.min(0, guidePathUm),
    highUm: Math.max(0, beforeRefocusUm) + Math.max(0, guidePathUm),
    mainDepthUm,
    mainDepthK: umPerK === 0 ? undefined : mainDepthUm / Math.abs(umPerK),
  };
}

/** Shift after a fall of the temperature; 0 and not -0 where nothing moves. */
const fallen = (umPerK: number, dropK: number): number => (umPerK * dropK === 0 ? 0 : -umPerK * dropK);

function mirrorsOf({
  temperature,
  telescope,
}: Pick<Rig, 'temperature' | 'telescope'>): TwoMirrors | undefined {
  if (temperature?.twoMirrors !== undefined) return temperature.twoMirrors;
  const { design } = telescope;
  return design !== undefined && 'primaryFNumber' in design ? design : undefined;
}

function secondMirrorOf(rig: Pick<Rig, 'temperature' | 'telescope'>): SecondMirror | undefined {
  const mirrors = mirrorsOf(rig);
  return mirrors && secondMirror(rig.telescope, mirrors);
}

/** What is wrong between the numbers of a rig's temperature, whatever else is wrong with it. */
export function temperatureFaults(input: unknown): RigFault[] {
  const { temperature, telescope } = (input ?? {}) as Record<string, unknown>;
  if (typeof temperature !== 'object' || temperature === null) return [];
  const { umPerK, tubeExpansionPerK } = temperature as Record<string, unknown>;
  const faults: RigFault[] = [];
  if (umPerK === undefined && tubeExpansionPerK === undefined)
    faults.push({
      field: 'temperature.umPerK',
      got: 'nothing',
      allowed: 'given (or tubeExpansionPerK)',
    });
  if (umPerK !== undefined && tubeExpansionPerK !== undefined)
    faults.push({
      field: 'temperature.tubeExpansionPerK',
      got: shown(tubeExpansionPerK),
      allowed: 'left out, since umPerK gives the shift',
    });
  const mirrors = temperatureSchema().safeParse(temperature).data?.twoMirrors;
  return mirrors === undefined
    ? faults
    : [...faults, ...mirrorFaults('temperature.twoMirrors', mirrors, telescope)];
}
