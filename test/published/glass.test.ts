/** Refractive index of two glasses, and the focus shift of a plane plate. */
import { type Glass, glassFocusShiftUm, glassIndex } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const sources: Record<Glass, string> = {
  'N-BK7': 'Sellmeier constants of the SCHOTT catalogue 2017 (refractiveindex.info), by numpy',
  'fused-silica': 'Malitson 1965, J. Opt. Soc. Am. 55, 1205 (refractiveindex.info), by numpy',
};

describe('refractive index', () => {
  for (const [um, bk7, silica] of [
    [0.4, 1.530849, 1.470116],
    [0.4861327, 1.522376, 1.463126],
    [0.546074, 1.518722, 1.460078],
    [0.5875618, 1.5168, 1.458464],
    [0.6328, 1.515089, 1.457018],
    [0.6562725, 1.514322, 1.456367],
    [0.8, 1.510776, 1.453317],
  ] as const)
    for (const [glass, value] of [
      ['N-BK7', bk7],
      ['fused-silica', silica],
    ] as const)
      checkPublished(
        {
          what: `index of ${glass} at ${um} um`,
          value,
          tolerance: 5.1e-7,
          source: sources[glass],
          note: 'digits printed',
        },
        () => glassIndex(glass, 1000 * um),
      );

  checkPublished(
    {
      what: 'Abbe number of N-BK7',
      value: 64.17,
      tolerance: 0.005,
      source: 'SCHOTT catalogue 2017',
      note: 'digits printed',
    },
    () =>
      (glassIndex('N-BK7', 587.5618) - 1) / (glassIndex('N-BK7', 486.1327) - glassIndex('N-BK7', 656.2725)),
  );
});

describe('focus shift of a plate', () => {
  const source = 'textbook: t (1 - 1/n), and exact refraction of the marginal ray; computed with numpy';

  for (const [glass, value] of [
    ['N-BK7', 0.340717],
    ['fused-silica', 0.314347],
  ] as const)
    checkPublished(
      {
        what: `shift over thickness, ${glass} at 587.56 nm`,
        value,
        tolerance: 5.1e-7,
        source,
        note: 'digits printed',
      },
      () => glassFocusShiftUm({ thicknessMm: 1, refractiveIndex: glassIndex(glass, 587.5618) }) / 1000,
    );

  checkPublished(
    {
      what: 'change of the shift of 2 mm N-BK7 from 656.27 to 486.13 nm, um',
      value: 6.987,
      tolerance: 5e-4,
      source,
      note: 'digits printed',
    },
    () => {
      const shift = (nm: number) =>
        glassFocusShiftUm({ thicknessMm: 2, refractiveIndex: glassIndex('N-BK7', nm) });
      return shift(486.1327) - shift(656.2725);
    },
  );

  // t mm, n, F -> paraxial shift mm, longitudinal spherical aberration um
  for (const [thicknessMm, refractiveIndex, fNumber, paraxialMm, longitudinalUm, tolerance] of [
    [2, 1.5168, 4, 0.681435, 5.7855, 5e-5],
    [2, 1.5168, 5, 0.681435, 3.7115, 5e-5],
    [2, 1.5168, 10, 0.681435, 0.9308, 5e-5],
    [3, 1.5168, 5, 1.022152, 5.5673, 5e-5],
    [5, 1.5168, 4, 1.703586, 14.464, 5e-4],
    [2, 1.4585, 5, 0.628728, 3.6188, 5e-5],
  ] as const) {
    const label = `${thicknessMm} mm, n = ${refractiveIndex}, F/${fNumber}`;
    const plate = { thicknessMm, refractiveIndex };
    checkPublished(
      {
        what: `paraxial shift, mm (${label})`,
        value: paraxialMm,
        tolerance: 5.1e-7,
        source,
        note: 'digits printed',
      },
      () => glassFocusShiftUm(plate) / 1000,
    );
    checkPublished(
      {
        what: `marginal less paraxial shift, um (${label})`,
        value: longitudinalUm,
        tolerance: 1.02 * tolerance,
        source,
        note: 'digits printed. The source takes tan u = 1 / 2F for the marginal ray, this project sin u = 1 / 2F',
      },
      () => {
        const sameRay = 0.5 / Math.sin(Math.atan(0.5 / fNumber));
        return glassFocusShiftUm({ ...plate, fNumber: sameRay }) - glassFocusShiftUm(plate);
      },
    );
  }
});
