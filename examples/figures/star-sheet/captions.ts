/**
 * The words beneath a plate: what was asked for, as phrases to be set in lines, and what was measured on it.
 */
import type { DiffractionShape, Pupil, Seeing, StarShape, Wavefront } from '@holdfast/psf';
import { significant } from '@holdfast/sim/internal';
import { shiftText, shown } from '../number-words.ts';
import type { MeasuredStar } from './measure.ts';
import type { SheetStar, SpeckledStar } from './stars.ts';

/** The parameters of a star with their units. */
export function parametersOf(shape: SheetStar['shape']): string[] {
  return (shape.kind === 'short-exposure' ? speckledWords(shape) : shapeWords(shape)).map(shown);
}

function shapeWords(shape: StarShape): string[] {
  switch (shape.kind) {
    case 'gaussian':
      return [`FWHM ${shape.fwhmPx} px`, ...axisWords(shape)];
    case 'moffat':
      return [`FWHM ${shape.fwhmPx} px`, `β ${shape.beta}`, ...axisWords(shape)];
    case 'annulus':
      return [
        `outer diameter ${shape.outerDiameterPx} px`,
        `obstruction ${shape.obstructionRatio}`,
        `blur ${shape.blurFwhmPx} px`,
      ];
    case 'coma':
      return [
        `sagittal coma ${shape.sagittalComaPx} px at ${shape.angleDeg}°`,
        ...(shape.defocusDiameterPx === undefined ? [] : [`ring ${shape.defocusDiameterPx} px`]),
        `obstruction ${shape.obstructionRatio}`,
        `blur ${shape.blurFwhmPx} px`,
      ];
    case 'rays':
      return [...beamWords(shape), `blur ${shape.blurFwhmPx} px`];
    case 'diffraction':
      return [
        ...beamWords(shape),
        lightWords(shape.wavelengthNm),
        ...(shape.seeing === undefined
          ? []
          : [`aperture ${shape.seeing.apertureMm} mm`, ...seeingWords(shape.seeing)]),
      ];
    case 'table':
      return [`${shape.columns} columns, ${shape.cellsPerPx ?? 1} per px`];
    case 'own':
      return [shape.name];
    case 'trailed':
      return [
        'lengthPx' in shape.motion
          ? `by ${shape.motion.lengthPx} px at ${shape.motion.angleDeg}°`
          : `a path of ${shape.motion.length} points`,
        ...shapeWords(shape.shape),
      ];
    case 'group':
      return [
        ...shape.neighbors.map(
          ({ dxPx, dyPx, magnitudeDifference }) =>
            `${magnitudeDifference} mag fainter at (${signed(dxPx)}, ${signed(dyPx)}) px`,
        ),
        ...shapeWords(shape.star),
      ];
  }
}

function speckledWords({ options }: SpeckledStar): string[] {
  return [
    `${1000 * options.exposureS} ms`,
    `wind ${options.windMPerS} m/s at ${options.windAngleDeg ?? 0}°`,
    ...beamWords(options),
    lightWords(options.wavelengthNm),
    `aperture ${options.apertureMm} mm`,
    ...seeingWords(options.seeing),
  ];
}

function axisWords({ axisRatio, angleDeg = 0 }: { axisRatio?: number; angleDeg?: number }): string[] {
  return axisRatio === undefined ? [] : [`axes 1 : ${axisRatio} at ${angleDeg}°`];
}

function beamWords(
  beam: Pick<DiffractionShape, 'wavefront' | 'pupil' | 'fNumber' | 'pixelSizeUm'>,
): string[] {
  return [
    ...waveWords(beam.wavefront),
    ...pupilWords(beam.pupil),
    `F/${beam.fNumber}`,
    `pixel ${beam.pixelSizeUm} µm`,
  ];
}

function waveWords({ focusShiftUm = 0, seidelNm = {}, zernikesNm = {} }: Wavefront): string[] {
  const { angleDeg = 0, ...terms } = seidelNm;
  const named = Object.entries(terms).filter(([, nm]) => nm !== 0);
  return [
    ...(focusShiftUm === 0 ? [] : [`focus ${shiftText(focusShiftUm)}`]),
    ...named.map(([name, nm]) => `${spelled(name)} ${significant(nm, 3)} nm`),
    ...(named.length === 0 ? [] : [`toward ${angleDeg}°`]),
    ...Object.entries(zernikesNm).map(([noll, nm]) => `Z${noll} ${significant(nm, 3)} nm`),
  ];
}

function pupilWords({ obstructionRatio, clip, vanes, ...rest }: Pupil): string[] {
  return [
    `obstruction ${obstructionRatio}`,
    ...(clip === undefined ? [] : [`cut at ${clip.distance} radii toward ${clip.angleDeg ?? 0}°`]),
    ...(vanes === undefined
      ? []
      : [`${vanes.count} vanes ${100 * vanes.widthRatio} % wide from ${vanes.angleDeg ?? 0}°`]),
    // Whatever else a pupil has, in the words of its fields.
    ...Object.entries(rest).map(
      ([name, fields]) =>
        `${spelled(name)} ${Object.entries(fields)
          .map(([field, value]) => `${spelled(field)} ${value}`)
          .join(' ')}`,
    ),
  ];
}

function lightWords(wavelengthNm: DiffractionShape['wavelengthNm']): string {
  if (typeof wavelengthNm === 'number') return `λ ${wavelengthNm} nm`;
  const all = wavelengthNm.map((sample) => sample.wavelengthNm);
  return `λ ${Math.min(...all)} to ${Math.max(...all)} nm`;
}

function seeingWords({ fwhmArcsec, friedParameterMm, wavelengthNm = 500, outerScaleMm }: Seeing): string[] {
  return [
    `${fwhmArcsec === undefined ? `r0 ${friedParameterMm} mm` : `seeing ${fwhmArcsec}″`} at ${wavelengthNm} nm`,
    ...(outerScaleMm === undefined ? [] : [`outer scale ${outerScaleMm / 1000} m`]),
  ];
}

/** The name of a field as words: `fieldCurvature` is field curvature. */
const spelled = (field: string): string => field.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);

export interface Measure {
  readonly name: string;
  readonly value: string;
}

/** What was measured on the stamp, and where the center of all the light must lie. */
export function measuresOf({ outside, center, expectedCenter, rms }: MeasuredStar): Measure[] {
  const round = rms.long - rms.short < 0.005 * rms.long;
  return [
    { name: 'outside', value: outside < 1e-6 ? '< 0.0001 %' : `${significant(100 * outside, 2)} %` },
    { name: 'center', value: pointText(center) },
    { name: 'of all light', value: pointText(expectedCenter) },
    {
      name: 'rms widths',
      value: round
        ? `${fixed(rms.long, 2)} px`
        : `${fixed(rms.long, 2)} × ${fixed(rms.short, 2)} px at ${fixed(rms.angleDeg, 0)}°`,
    },
  ].map(({ name, value }) => ({ name, value: shown(value) }));
}

function pointText({ x, y }: MeasuredStar['center']): string {
  return `${signedFixed(x)}, ${signedFixed(y)} px`;
}

/** So many decimals; a zero has no sign. */
export function fixed(value: number, places: number): string {
  const text = value.toFixed(places);
  return Number(text) === 0 ? text.replace('-', '') : text;
}

function signedFixed(px: number): string {
  const text = fixed(px, 2);
  return Number(text) > 0 ? `+${text}` : text;
}

const signed = (value: number): string => (value > 0 ? `+${value}` : String(value));
