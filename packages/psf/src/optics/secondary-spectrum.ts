/**
 * How far each color comes to a focus behind green: the secondary spectrum that an achromatic objective
 * leaves.
 */
import { requireNonNegative, requireWithin } from '../numerics/require.ts';
import { glassIndex, sellmeierIndex } from './glass.ts';

/**
 * SCHOTT F2 (catalog, from memory): flint of the plainest achromat. Tested against its catalog index and Abbe
 * number.
 */
const f2 = {
  b: [1.34533359, 0.209073176, 0.937357162],
  c: [0.00997743871, 0.0470450767, 111.886764],
} as const;

/** Spectral lines, nm: blue F, green e, red C. */
const lines = { f: 486.1327, e: 546.074, c: 656.2725 } as const;

const crown = (wavelengthNm: number): number => glassIndex('N-BK7', wavelengthNm);
/** Index of F2. */
export const flintIndex = (wavelengthNm: number): number => sellmeierIndex(f2, wavelengthNm);

/** Power of a thin pair of crown and flint that focuses F and C together, over its power in e. */
function power(wavelengthNm: number): number {
  const spread = (index: (nm: number) => number): number =>
    (index(lines.e) - 1) / (index(lines.f) - index(lines.c));
  const [v1, v2] = [spread(crown), spread(flintIndex)];
  const part = (index: (nm: number) => number): number => (index(wavelengthNm) - 1) / (index(lines.e) - 1);
  return (v1 * part(crown) - v2 * part(flintIndex)) / (v1 - v2);
}

/**
 * Secondary spectrum of that pair: focus of F and C behind that of e, over the focal length: 1 / 1900
 * (textbooks: 1 / 2000).
 */
export const achromatSpread = 1 / power(lines.f) - 1;

/**
 * Focus of a wavelength behind that of green (546 nm), um, for an objective whose F and C lines (486 and 656
 * nm) focus `secondarySpectrumUm` behind it. The course in between and beyond is that of a thin pair of N-BK7
 * and F2: any other pair or triplet differs in size rather than in shape.
 *
 * @param wavelengthNm         from 350 to 1100
 * @param secondarySpectrumUm  >= 0; `1000 * focalLengthMm * achromatSpread` for a plain achromat
 * @throws RangeError or TypeError naming the argument that is out of range
 */
export function colorFocusUm(wavelengthNm: number, secondarySpectrumUm: number): number {
  requireWithin('wavelengthNm', wavelengthNm, 350, 1100);
  requireNonNegative('secondarySpectrumUm', secondarySpectrumUm);
  return (secondarySpectrumUm * (1 / power(wavelengthNm) - 1)) / achromatSpread;
}
