/** Geometry and depth of focus of an out-of-focus star. */
import { airyFwhmUm, defocusBlur, depthOfFocusUm } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

describe('ring of a focus shift', () => {
  const source =
    'textbook geometry: outer = dz / F, W020 = dz / (8 F^2); Noll 1976, JOSA 66, 207 for the term of unit rms; computed with numpy';
  // dz um, F, obstruction -> outer um, inner um, W020 um, waves at 550 nm, rms radius per axis um, Noll a4 um
  const rows = [
    [100, 5, 0.35, 20.0, 7.0, 0.5, 0.9091, 5.2974, 0.14434],
    [500, 5, 0.35, 100.0, 35.0, 2.5, 4.5455, 26.487, 0.72169],
    [1000, 10, 0.3, 100.0, 30.0, 1.25, 2.2727, 26.1008, 0.36084],
    [200, 7, 0, 28.571, 0, 0.5102, 0.9276, 7.1429, 0.14728],
    [1000, 4, 0.4, 250.0, 100.0, 7.8125, 14.2045, 67.3146, 2.25527],
  ] as const;
  for (const [focusShiftUm, fNumber, obstructionRatio, outer, inner, w020, waves, rms, a4] of rows) {
    const label = `(${focusShiftUm} um, F/${fNumber}, obstruction ${obstructionRatio})`;
    const ours = defocusBlur({ focusShiftUm, fNumber, obstructionRatio, wavelengthNm: 550 });
    const w020Um = ours.edgeWaves * 0.55;
    const row = (what: string, value: number, digits: number, get: () => number) =>
      checkPublished(
        {
          what: `${what} ${label}`,
          value,
          tolerance: 0.5 * 10 ** -digits * 1.001,
          source,
          note: 'digits printed',
        },
        get,
      );
    row('outer diameter, um', outer, 3, () => ours.outerDiameterUm);
    row('inner diameter, um', inner, 3, () => ours.innerDiameterUm);
    row('W020, um', w020, 4, () => w020Um);
    row('edge defocus, waves of 550 nm', waves, 4, () => ours.edgeWaves);
    // A uniform ring from r to R has the rms sqrt(R^2 + r^2) / 2 along each axis.
    row(
      'rms radius per axis, um',
      rms,
      4,
      () => Math.sqrt(ours.outerDiameterUm ** 2 + ours.innerDiameterUm ** 2) / 4,
    );
    // sqrt(3) (2 rho^2 - 1) a4 has the coefficient 2 sqrt(3) a4 of rho^2.
    row('Noll a4, um', a4, 5, () => w020Um / (2 * Math.sqrt(3)));
  }
});

describe('exact cone over paraxial ring', () => {
  for (const [fNumber, percent, digits] of [
    [4, 0.8, 1],
    [5, 0.5, 1],
    [10, 0.13, 2],
  ] as const)
    checkPublished(
      {
        what: `excess of the exact diameter at F/${fNumber}, %`,
        value: percent,
        tolerance: 0.5 * 10 ** -digits,
        source: 'derived, confirmed numerically: 2 dz tan(asin(1 / 2F)) against dz / F',
        note: 'digits printed',
      },
      () => {
        const blur = defocusBlur({ focusShiftUm: 300, fNumber, obstructionRatio: 0.3, wavelengthNm: 550 });
        return 100 * (blur.exactOuterDiameterUm / blur.outerDiameterUm - 1);
      },
    );
});

describe('depth of focus', () => {
  const unit = { fNumber: 1, wavelengthNm: 1000 }; // lambda F^2 = 1 um

  for (const [obstructionRatio, value] of [
    [0, 2.0602],
    [0.2, 2.146],
    [0.3, 2.2639],
    [0.33, 2.3119],
    [0.4, 2.4526],
    [0.5, 2.7469],
  ] as const)
    checkPublished(
      {
        what: `shift of Strehl ratio 0.8 at obstruction ${obstructionRatio}, lambda F^2`,
        value,
        tolerance: 5.1e-5,
        source:
          'root of (sin u / u)^2 = 0.8, u = pi W020 (1 - eps^2) / lambda (Mahajan, Optical Imaging and Aberrations II, from memory), by scipy',
        note: 'digits printed',
      },
      () => depthOfFocusUm({ criterion: 'strehl-0.8', ...unit, obstructionRatio }),
    );

  // W020 in waves at S = 0.8, from the same root, read back from the shift.
  for (const [obstructionRatio, value] of [
    [0, 0.25752],
    [0.3, 0.28299],
    [0.5, 0.34336],
  ] as const)
    checkPublished(
      {
        what: `W020 of Strehl ratio 0.8 at obstruction ${obstructionRatio}, waves`,
        value,
        tolerance: 5.1e-6,
        source: 'root of (sin u / u)^2 = 0.8, by scipy',
        note: 'digits printed',
      },
      () => {
        const focusShiftUm = depthOfFocusUm({ criterion: 'strehl-0.8', ...unit, obstructionRatio });
        return defocusBlur({ focusShiftUm, obstructionRatio, ...unit }).edgeWaves;
      },
    );

  checkPublished(
    {
      what: 'geometric disc as wide as the Airy disc, lambda F^2',
      value: 2.44,
      tolerance: 0.005,
      source: 'common practice: Airy disc of 2.44 lambda F (Born & Wolf, Principles of Optics, 8.5.2)',
      note: '2.4393 is printed as 2.44',
    },
    () => depthOfFocusUm({ criterion: 'airy-disc', ...unit }),
  );

  for (const [fNumber, value] of [
    [4, 17.6],
    [5, 27.5],
    [10, 110],
  ] as const)
    checkPublished(
      {
        what: `quarter-wave depth at F/${fNumber} and 550 nm, um`,
        value,
        tolerance: 1e-9,
        source: 'Rayleigh quarter wave, 2 lambda F^2 (from memory)',
        note: 'exact product',
      },
      () => depthOfFocusUm({ criterion: 'quarter-wave', fNumber, wavelengthNm: 550 }),
    );
});

describe('diffraction image in focus', () => {
  checkPublished(
    {
      what: 'full width at half maximum, lambda F',
      value: 1.028994,
      tolerance: 5e-7,
      source: 'root of (2 J1(v) / v)^2 = 1/2 (Born & Wolf, Principles of Optics, 8.5.2), by scipy',
      note: 'digits printed',
    },
    () => airyFwhmUm({ fNumber: 1, wavelengthNm: 1000 }),
  );
});
