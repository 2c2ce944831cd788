/**
 * Numbers that others have published, and what this page computes for them. A selection of those that the project's tests
 * hold to: one or two a topic, quick to compute.
 */
import { positionBound } from '@holdfast/centroid';
import {
  bands,
  createImage,
  defocusBlur,
  depthOfFocusUm,
  glassFocusShiftUm,
  glassIndex,
  lightCentroid,
  magnitudeError,
  moffatAlpha,
  moffatNoiseEquivalentArea,
  offAxisAberrations,
  prepareStar,
  seeingFwhmArcsec,
  snrOfStar,
} from '@holdfast/psf';
import { loopNoiseFactor } from '@holdfast/sim';

export interface PublishedCheck {
  readonly what: string;
  readonly unit: string;
  readonly value: number;
  /** Largest difference that the tests allow: mostly the digits printed. */
  readonly tolerance: number;
  readonly source: string;
  readonly ours: () => number;
}

const noll = 'textbook geometry; R. J. Noll, J. Opt. Soc. Am. 66, 207 (1976)';
const moffat = { fwhmPx: 1, beta: 3 };
const arcmin = Math.PI / (180 * 60);
const exposure = {
  pixels: 50,
  backgroundPixels: 500,
  skyEPerPx: 100,
  darkEPerPx: 5,
  readNoiseE: 8,
  gainEPerAdu: 1.5,
};

export const publishedChecks: readonly PublishedCheck[] = [
  {
    what: 'Ring, 500 µm out of focus at F/5',
    unit: 'µm',
    value: 100,
    tolerance: 0.0005,
    source: noll,
    ours: () => atF5(500).outerDiameterUm,
  },
  {
    what: 'Delay at its rim at 550 nm',
    unit: 'waves',
    value: 4.5455,
    tolerance: 0.00005,
    source: noll,
    ours: () => atF5(500).edgeWaves,
  },
  {
    what: 'Depth of focus, Strehl ratio 0.8, obstruction 0.33',
    unit: 'λF²',
    value: 2.3119,
    tolerance: 0.000051,
    source: 'V. N. Mahajan, Optical Imaging and Aberrations II: root of (sin u / u)² = 0.8; from memory',
    ours: () =>
      depthOfFocusUm({ criterion: 'strehl-0.8', fNumber: 1, wavelengthNm: 1000, obstructionRatio: 0.33 }),
  },
  {
    what: 'Index of N-BK7 at 587.6 nm',
    unit: '',
    value: 1.5168,
    tolerance: 5.1e-7,
    source: 'SCHOTT catalogue (2017)',
    ours: () => glassIndex('N-BK7', 587.5618),
  },
  {
    what: 'Focus shift of a plate over its thickness',
    unit: '',
    value: 0.340717,
    tolerance: 5.1e-7,
    source: 'textbook: t (1 − 1/n)',
    ours: () => glassFocusShiftUm({ thicknessMm: 1, refractiveIndex: glassIndex('N-BK7', 587.5618) }) / 1000,
  },
  {
    what: 'Coma of a paraboloid, F/5, 10′ off axis',
    unit: 'arcsec',
    value: 4.5,
    tolerance: 0.0005,
    source: 'textbook: 3θ / (16 F²)',
    ours: () =>
      offAxisAberrations({
        design: 'paraboloid',
        apertureMm: 200,
        focalLengthMm: 1000,
        offAxisMm: 10_000 * arcmin,
      }).tangentialComaArcsec,
  },
  {
    what: 'Centre of mass of half a wave of coma, obstruction 0.3',
    unit: 'λF',
    value: 1.09,
    tolerance: 1e-12,
    source: 'V. N. Mahajan, J. Opt. Soc. Am. A 2, 833 (1985); from memory',
    ours: () =>
      lightCentroid({
        pupil: { obstructionRatio: 0.3 },
        wavefront: { seidelNm: { coma: 250, defocus: 1500 } },
        fNumber: 10,
      }).xUm /
      (0.5 * 10),
  },
  {
    what: 'FWHM of seeing, r₀ = 100 mm at 500 nm',
    unit: 'arcsec',
    value: 1.0065,
    tolerance: 1e-4,
    source: 'D. L. Fried, J. Opt. Soc. Am. 56, 1372 (1966): 0.9759 λ / r₀; from memory',
    ours: () => seeingFwhmArcsec({ friedParameterMm: 100 }, 500),
  },
  {
    what: 'Moffat star, β = 3: α over FWHM',
    unit: '',
    value: 0.98073,
    tolerance: 6e-7,
    source: 'I. Trujillo et al., Mon. Not. R. Astron. Soc. 328, 977 (2001)',
    ours: () => moffatAlpha(moffat),
  },
  {
    what: 'Its noise-equivalent area over FWHM²',
    unit: '',
    value: 3.7771,
    tolerance: 6e-7,
    source: 'I. R. King, Publ. Astron. Soc. Pac. 95, 163 (1983); from memory',
    ours: () => moffatNoiseEquivalentArea(moffat),
  },
  {
    what: 'Photons of V = 0 a second, cm² and ångström',
    unit: '',
    value: 996.2,
    tolerance: 0.051,
    source: 'M. S. Bessell, F. Castelli and B. Plez, Astron. Astrophys. 333, 231 (1998)',
    ours: () => bands.V.photonsPerSCm2Nm / 10,
  },
  {
    what: 'SNR of 10,000 electrons on 50 pixels',
    unit: '',
    value: 71.9716,
    tolerance: 2e-4,
    source: 'W. J. Merline and S. B. Howell, Exp. Astron. 6, 163 (1995)',
    ours: () => snrOfStar({ starE: 10_000, ...exposure }),
  },
  {
    what: 'Magnitude error at SNR 1',
    unit: 'mag',
    value: 1.085736,
    tolerance: 5e-7,
    source: 'textbook: 2.5 / ln 10',
    ours: () => magnitudeError(1),
  },
  {
    what: 'Least error, Gaussian of σ 1.5 px, 1000 e⁻, background 10, read noise 5',
    unit: 'px',
    value: 0.091755,
    tolerance: 1e-6,
    source: 'K. A. Winick, J. Opt. Soc. Am. A 3, 1809 (1986)',
    ours: () => gaussianBound(1.5),
  },
  {
    what: 'Noise that a loop of gain 0.5 passes on, variance',
    unit: '',
    value: 1 / 3,
    tolerance: 1e-9,
    source: 'S. W. Roberts, Technometrics 1, 239 (1959); from memory',
    ours: () => loopNoiseFactor(0.5) ** 2,
  },
];

const atF5 = (focusShiftUm: number) =>
  defocusBlur({ focusShiftUm, fNumber: 5, obstructionRatio: 0.35, wavelengthNm: 550 });

/** Bound of a Gaussian star on 61 x 61 pixels, its gradient by difference. */
function gaussianBound(sigma: number): number {
  const [side, step, flux] = [61, 1e-3, 1000];
  const fwhmPx = 2 * Math.sqrt(2 * Math.log(2)) * sigma;
  const plan = prepareStar({ kind: 'gaussian', fwhmPx }, { width: side, height: side });
  const draw = (dx: number, dy: number) => {
    const image = createImage(side, side);
    plan.renderInto(image, 30 + dx, 30 + dy, flux);
    return image;
  };
  const gradient = (dx: number, dy: number) => {
    const before = draw(-dx, -dy).data;
    return createImage(
      side,
      side,
      draw(dx, dy).data.map((value, k) => (value - before[k]) / (2 * step)),
    );
  };
  const star = { image: draw(0, 0), gradientX: gradient(step, 0), gradientY: gradient(0, step) };
  return positionBound(star, { backgroundE: 10, readNoiseE: 5 }).sigmaX;
}
