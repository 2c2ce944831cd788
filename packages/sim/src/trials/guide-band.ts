/** The colors of the guide light: which wavelengths draw the star, and where each comes to a focus. */
import { achromatSpread, colorFocusUm } from '@holdfast/psf';
import { gaussLegendre } from '@holdfast/psf/numerics';
import type { Rig } from '../rig/rig-schema.ts';

/** A wavelength of the guide light. */
export interface BandLine {
  readonly wavelengthNm: number;
  /** Share of the detected electrons. */
  readonly weight: number;
  /** Focus of this wavelength behind that of the whole band, along the light, um. */
  readonly focusBehindUm: number;
}

/** Glass formulas hold in this range, nm. */
const [shortest, longest] = [360, 1090];

/**
 * Waves of defocus at the edge from which on the fringes of one wavelength change the error by more than 1 %
 * (measured).
 */
const fringedWaves = 6;

/**
 * The guide band as a few wavelengths, each with the same share of electrons per nm: 5 where the color moves
 * the focus, else 3 for a wide ring, whose fringes they wash out, and 1 for a small one, whose error that
 * changes by less than 0.6 %. The guide camera counts as focused where the mean of the light is in focus.
 */
export function guideBand(
  { guideCamera: { wavelengthNm, bandwidthNm }, telescope }: Pick<Rig, 'guideCamera' | 'telescope'>,
  focusShiftUm: number,
): BandLine[] {
  const { design, apertureMm, focalLengthMm } = telescope;
  const edgeWaves =
    (Math.abs(focusShiftUm) * 1000 * apertureMm ** 2) / (8 * focalLengthMm ** 2 * wavelengthNm);
  const spreadUm =
    design?.secondarySpectrumUm ?? (design?.kind === 'refractor' ? 1000 * focalLengthMm * achromatSpread : 0);
  const { nodes, weights } = gaussLegendre(spreadUm > 0 ? 5 : edgeWaves > fringedWaves ? 3 : 1);
  const lines = Array.from(nodes, (node, k) => {
    const nm = Math.min(longest, Math.max(shortest, wavelengthNm + (node * bandwidthNm) / 2));
    return { wavelengthNm: nm, weight: weights[k] / 2, focusBehindUm: colorFocusUm(nm, spreadUm) };
  });
  const mean = lines.reduce((sum, line) => sum + line.weight * line.focusBehindUm, 0);
  return lines.map((line) => ({ ...line, focusBehindUm: line.focusBehindUm - mean }));
}

/**
 * How far the mean focus of a red or a blue star lies from that of a white one, um: electrons per nm that
 * rise or fall by 60 % from the middle of the band to either end, as of a star of 4000 or 12000 K over 400 to
 * 700 nm (derived, Planck's law).
 */
export function bandColorShiftUm(lines: readonly BandLine[]): number {
  const middle = lines.reduce((sum, line) => sum + line.weight * line.wavelengthNm, 0);
  const reach = Math.max(...lines.map((line) => Math.abs(line.wavelengthNm - middle)), 1);
  const tilted = lines.reduce(
    (sum, line) =>
      sum + line.weight * line.focusBehindUm * (1 + (0.6 * (line.wavelengthNm - middle)) / reach),
    0,
  );
  return Math.abs(tilted);
}

/** Rms focus of the band's wavelengths about their mean, um. */
export function bandFocusSpreadUm(lines: readonly BandLine[]): number {
  return Math.sqrt(lines.reduce((sum, line) => sum + line.weight * line.focusBehindUm ** 2, 0));
}
