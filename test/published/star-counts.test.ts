/**
 * Star counts: the formula of Bahcall & Soneira 1980, the table of Allen's Astrophysical Quantities, and what
 * catalogues that went into neither hold.
 */
import { describe, expect, test } from 'vitest';
import { chanceOf } from '../../packages/sim/src/odds/guide-star-chance.ts';
import { type StarCountOptions, starsPerDeg2 } from '../../packages/sim/src/odds/star-counts.ts';
import { expectWithin } from '../expect-within.ts';
import { readOpenData } from '../open-data.ts';
import { checkPublished } from './published.ts';

const perDeg2 = (options: StarCountOptions): number => starsPerDeg2(options).perDeg2;
const text = (name: string): string => new TextDecoder().decode(readOpenData(name));
const numberRows = (name: string): number[][] =>
  text(name)
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('#'))
    .map((line) => line.split(/\s+/).map(Number));

describe('Bahcall & Soneira 1980, ApJS 44, 73, eq. (B1)', () => {
  const source = 'Bahcall & Soneira 1980, ApJS 44, 73, eq. (B1), evaluated with numpy';
  const latitudes = [20, 30, 45, 60, 90];
  const longitude90: readonly (readonly [number, string])[] = [
    [6, '0.1816 0.1154 0.07635 0.06001 0.05061'],
    [8, '1.175 0.7477 0.4960 0.3906 0.3299'],
    [9, '2.901 1.849 1.229 0.9692 0.8198'],
    [10, '6.972 4.453 2.968 2.346 1.988'],
    [11, '16.21 10.38 6.947 5.509 4.681'],
    [12, '36.19 23.28 15.67 12.48 10.65'],
    [14, '234.8 131.6 79.07 59.44 48.90'],
    [15, '545.4 286.4 163.8 120.6 98.17'],
    [16, '1184 583.8 320.0 232.0 188.0'],
    [18, '4536 1980 1010 722.0 587.8'],
    [19, '8051 3303 1629 1160 949.2'],
    [20, '13490 5191 2471 1752 1440'],
  ];
  // Four digits are printed: half a unit of the fourth.
  const halfOfFourth = (value: number): number => 0.505 * 10 ** (Math.floor(Math.log10(value)) - 3);
  for (const [magnitude, row] of longitude90)
    row.split(' ').forEach((printed, i) => {
      const value = Number(printed);
      checkPublished(
        {
          what: `stars brighter than V ${magnitude} per square degree at b = ${latitudes[i]}, l = 90`,
          value,
          tolerance: halfOfFourth(value),
          source,
          note: 'four digits',
        },
        () => perDeg2({ magnitude, galacticLatitudeDeg: latitudes[i], from: 'formula' }),
      );
    });
  for (const [magnitude, value] of [
    [10, 4.139],
    [12, 21.38],
    [14, 112.4],
    [15, 233.9],
    [16, 453.4],
    [18, 1377],
    [20, 3214],
  ] as const)
    checkPublished(
      {
        what: `stars brighter than V ${magnitude} per square degree at b = 30, l = 180`,
        value,
        tolerance: halfOfFourth(value),
        source,
        note: 'four digits',
      },
      () => perDeg2({ magnitude, galacticLatitudeDeg: -30, galacticLongitudeDeg: 180, from: 'formula' }),
    );

  test('counts of the same model in a redder band are those of stars 0.65 mag fainter in V', () => {
    // Columns: R + I magnitude; stars per square degree at b = 30, 50, 90. Rounded to one or two digits.
    const rows = numberRows('star-counts/euclidvis_bahcall_soneira_stars.dat');
    const inRange = rows.filter(([magnitude]) => magnitude >= 5.5 && magnitude <= 23.5);
    expect(inRange.length).toBe(10);
    for (const [magnitude, ...counts] of inRange)
      counts.forEach((count, i) => {
        const ours = perDeg2({
          magnitude: magnitude + 0.65,
          galacticLatitudeDeg: [30, 50, 90][i],
          from: 'formula',
        });
        expectWithin(
          Math.log(ours / count),
          0,
          Math.log(1.35) * 1.96,
          '95 % of the uncertainty stated for the counts, of which 1 sigma is a factor 1.35',
        );
      });
  });
});

describe("Allen's Astrophysical Quantities, 4th ed.", () => {
  test('every cell of the table but one', () => {
    const latitudes = [0, 5, 10, 20, 30, 60, 90];
    const rows = numberRows('star-counts/exosims_stellar_cnts.txt');
    expect(rows.map((row) => row.length)).toEqual(latitudes.map(() => 11));
    rows.forEach((row, i) => {
      row.forEach((value, j) => {
        const magnitude = 15 + j;
        // Less than at b = 5, and off the smooth run of its row.
        if (latitudes[i] === 0 && magnitude === 18) return;
        const ours = perDeg2({ magnitude, galacticLatitudeDeg: latitudes[i], from: 'table' });
        expectWithin(Math.log10(ours), value, 1e-9, `b = ${latitudes[i]}, V = ${magnitude}: the cell itself`);
      });
    });
  });
  test('the cell that is off lies on the smooth run of its row and its column', () => {
    const at = (magnitude: number, galacticLatitudeDeg: number): number =>
      Math.log10(perDeg2({ magnitude, galacticLatitudeDeg, from: 'table' }));
    const steps = [17, 18, 19, 20].map((magnitude) => at(magnitude, 0) - at(magnitude - 1, 0));
    for (let i = 1; i < steps.length; i++) expect(steps[i]).toBeLessThan(steps[i - 1]);
    expect(at(18, 0)).toBeGreaterThan(at(18, 5));
  });
  test('the formula agrees with the table where both hold, within the uncertainty stated', () => {
    for (const magnitude of [15, 16, 17, 18])
      for (const galacticLatitudeDeg of [20, 30, 60, 90]) {
        const from = (source: 'formula' | 'table') =>
          perDeg2({ magnitude, galacticLatitudeDeg, from: source });
        expectWithin(
          Math.log(from('table') / from('formula')),
          0,
          Math.log(1.37),
          'between the two printed sources: at most 36.2 %, at V = 15 and b = 30',
        );
      }
  });
});

describe('catalogues that went into neither', () => {
  /** Mean over the celestial sphere: equal steps of sin b, and of longitude. */
  const meanOverSphere = (magnitude: number): number => {
    let sum = 0;
    const steps = 30;
    const longitudes = [15, 45, 75, 105, 135, 165];
    for (let i = 0; i < steps; i++) {
      const galacticLatitudeDeg = (Math.asin((i + 0.5) / steps) * 180) / Math.PI;
      for (const galacticLongitudeDeg of longitudes)
        sum += perDeg2({ magnitude, galacticLatitudeDeg, galacticLongitudeDeg });
    }
    return sum / (steps * longitudes.length);
  };
  const deg2OfSphere = 41252.96;

  // Scaled counts: held to catalogs that the scale was not made from.
  for (const [magnitude, stars] of [
    [6, 4968],
    [7, 15328],
    [8, 40858],
  ] as const)
    checkPublished(
      {
        what: `ln of the stars brighter than V ${magnitude} in all directions`,
        value: Math.log(stars),
        tolerance: 0.08,
        source: 'Hipparcos catalogue, complete to V 7.3 to 9: OEIS A053406',
        note: '1 % of integration, 2 % of counting, and the fit of the totals, 6 %',
      },
      () => Math.log(meanOverSphere(magnitude) * deg2OfSphere),
    );
  for (const magnitude of [9, 12, 16])
    checkPublished(
      {
        what: `ln of the stars brighter than V ${magnitude} in all directions`,
        value: Math.LN10 * (-0.0003 * magnitude ** 3 + 0.0019 * magnitude ** 2 + 0.484 * magnitude + 0.795),
        tolerance: 0.02,
        source: 'empirical fit for V 4 to 25, Cosmic Reflections, "Counting stars", February 2020',
        note: 'what the counts are scaled to: 1 % of integration on either side',
      },
      () => Math.log(meanOverSphere(magnitude) * deg2OfSphere),
    );
  checkPublished(
    {
      what: 'V down to which there are 9.8 million stars in all directions',
      value: 13.25,
      tolerance: 0.5,
      source: 'Gaia DR2, sources brighter than G_RVS = 12: Katz et al. 2019, A&A 622, A205 (abstract)',
      note: 'V - G_RVS is 0.75 for F dwarfs to 1.75 for K giants (from memory); the model as printed: 14.1',
    },
    () => magnitudeOfDensity(9.8e6 / deg2OfSphere, meanOverSphere),
  );
  test('as printed, formula and table hold 0.6 to 0.85 of the totals at V 10 to 16', () => {
    for (const magnitude of [10, 12, 14, 16]) {
      const latitudes = Array.from({ length: 50 }, (_, i) => (Math.asin((i + 0.5) / 50) * 180) / Math.PI);
      const ratio =
        latitudes.reduce(
          (sum, b) =>
            sum + perDeg2({ magnitude, galacticLatitudeDeg: b, from: b < 20 ? 'table' : 'formula' }),
          0,
        ) / latitudes.reduce((sum, b) => sum + perDeg2({ magnitude, galacticLatitudeDeg: b }), 0);
      expect(ratio).toBeGreaterThan(0.6);
      expect(ratio).toBeLessThan(0.85);
    }
  });

  // Densities of the whole catalogue. It is 99 % complete to V = 11.0 and 90 % to V = 11.5, and thins out
  // beyond: where it ends is not sharp, so the counts are held to reach its densities between V = 11.5 and
  // 13.5.
  for (const [galacticLatitudeDeg, density] of [
    [0, 150],
    [30, 50],
    [90, 25],
  ] as const)
    checkPublished(
      {
        what: `V down to which there are ${density} stars per square degree at |b| = ${galacticLatitudeDeg}`,
        value: 12.3,
        tolerance: 0.3,
        source: 'Tycho-2: Hog et al. 2000, A&A 355, L27; CDS I/259',
        note: 'one depth for all three, between its 90 % limit of 11.5 and the end of its faint tail; a factor 1.25 is 0.25 mag',
      },
      () => magnitudeOfDensity(density, (magnitude) => perDeg2({ magnitude, galacticLatitudeDeg })),
    );
  test('the Tycho-2 densities of plane, middle and pole stand to each other as the counts do', () => {
    const ours = [0, 30, 90].map((galacticLatitudeDeg) => perDeg2({ magnitude: 12.5, galacticLatitudeDeg }));
    for (const [a, b, ratio] of [
      [0, 1, 150 / 50],
      [1, 2, 50 / 25],
    ])
      expectWithin(
        Math.log(ours[a] / ours[b]),
        Math.log(ratio),
        Math.log(1.25) * Math.SQRT2,
        'two counts, each known to a factor 1.25',
      );
  });
  function magnitudeOfDensity(density: number, densityAt: (magnitude: number) => number): number {
    let low = 4;
    let high = 20;
    while (high - low > 1e-3) {
      const magnitude = (low + high) / 2;
      if (densityAt(magnitude) < density) low = magnitude;
      else high = magnitude;
    }
    return low;
  }
});

describe('expected number of stars and the odds of one', () => {
  const poisson = 'derived: N = count * field / 3600, P(>= 1) = 1 - exp(-N)';
  for (const [magnitude, galacticLatitudeDeg, from, arcmin2, expected, digits] of [
    [15, 0, 'table', 100, 35.375, 5e-4],
    [15, 30, 'table', 100, 10.832, 5e-4],
    [15, 90, 'table', 100, 3.5785, 5e-5],
    [10, 90, 'formula', 100, 0.05522, 5e-6],
    [12, 90, 'formula', 100, 0.29583, 5e-6],
    [12, 30, 'formula', 100, 0.64662, 5e-6],
    [14, 30, 'formula', 60, 2.19352, 5e-6],
  ] as const)
    checkPublished(
      {
        what: `stars brighter than V ${magnitude} in ${arcmin2} square arcmin at b = ${galacticLatitudeDeg}`,
        value: expected,
        tolerance: digits,
        source: from === 'table' ? "Allen's Astrophysical Quantities" : 'Bahcall & Soneira 1980, eq. (B1)',
        note: `digits given; ${poisson}`,
      },
      () => (perDeg2({ magnitude, galacticLatitudeDeg, from }) * arcmin2) / 3600,
    );
  for (const [expected, value, digits] of [
    [3.5785, 0.9721, 5e-5],
    [0.05522, 0.05373, 1e-5],
    [0.29583, 0.25608, 1e-5],
    [0.64662, 0.47619, 1e-5],
    [2.19352, 0.88848, 1e-5],
  ])
    checkPublished(
      {
        what: `odds of at least one of ${expected} stars`,
        value,
        tolerance: digits,
        source: 'Poisson',
        note: poisson,
      },
      () => chanceOf(1, expected, 0).atLeastOne.value,
    );
});
