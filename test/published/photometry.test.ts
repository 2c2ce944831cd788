/**
 * Photon rates of magnitudes: Bessell, Castelli & Plez 1998, A&A 333, 231, Table A2, and the passbands of
 * Bessell 1990.
 */
import { type BandName, bands, skyElectronsPerPx, starElectrons } from '@holdfast/psf';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const all = { obstructionRatio: 0, throughput: 1, quantumEfficiency: 1, exposureS: 1 };

describe('photons of magnitude 0', () => {
  for (const [band, value] of [
    ['U', 769.2],
    ['B', 1393.5],
    ['V', 996.2],
    ['R', 702.5],
    ['I', 452.3],
  ] as const)
    checkPublished(
      {
        what: `photons / s / cm^2 / A at ${band} = 0`,
        value,
        tolerance: 0.051,
        source:
          'Bessell, Castelli & Plez 1998, A&A 333, 231, Table A2 (f_lambda at the effective wavelength), by numpy',
        note: 'digits printed. f_nu of the same table gives up to 4 % else, as both are averages over the band',
      },
      () => bands[band].photonsPerSCm2Nm / 10,
    );

  // Other published zero points of V, in the same unit: the scale is known to 3 %.
  for (const [what, value] of [
    ['from f_nu of the same table', 1006.9],
    ['of a public exposure-time calculator (97.1e6 photons / s / m^2 / nm)', 971],
    ['AB magnitude 0 (3631 Jy) at 550 nm', 996.34],
  ] as const)
    checkPublished(
      {
        what: `photons / s / cm^2 / A at V = 0, ${what}`,
        value,
        tolerance: 0.03 * value,
        source: 'Bessell, Castelli & Plez 1998; exposure-time calculator; definition of the AB magnitude',
        note: 'they disagree by 3 %',
      },
      () => bands.V.photonsPerSCm2Nm / 10,
    );
});

describe('star through 5 cm and 890 A at V', () => {
  for (const [magnitude, value, tolerance] of [
    [6, 69_312, 20],
    [10, 1741.1, 0.5],
    [12, 275.9, 0.1],
    [14, 43.73, 0.015],
    [16, 6.93, 0.006],
  ] as const)
    checkPublished(
      {
        what: `electrons / s at V = ${magnitude}, all photons counted`,
        value,
        tolerance,
        source:
          '996.2 photons / s / cm^2 / A (Bessell, Castelli & Plez 1998) x 890 A x pi 2.5^2 cm^2, by numpy',
        note: 'the zero point was rounded to 4 digits (3e-4), the value to those printed',
      },
      () => starElectrons({ magnitude, band: 'V', apertureMm: 50, ...all }),
    );
});

describe('sky', () => {
  for (const [skyMagPerArcsec2, value, tolerance] of [
    [21.9, 1.7314e-6, 1e-9],
    [18, 6.286e-5, 4e-8],
  ] as const)
    checkPublished(
      {
        what: `photons / s / cm^2 / A / arcsec^2 at ${skyMagPerArcsec2} mag`,
        value,
        tolerance,
        source: '996.3 photons / s / cm^2 / A at V = 0 (AB magnitude), by numpy',
        note: 'the zero points differ by 1e-4; digits printed',
      },
      () => {
        const apertureMm = 10 * Math.sqrt(4 / Math.PI); // 1 cm^2
        return skyElectronsPerPx({
          skyMagPerArcsec2,
          band: 'V',
          apertureMm,
          bandwidthNm: 0.1,
          pixelScaleArcsec: 1,
          ...all,
        });
      },
    );
});

describe('width of the passbands', () => {
  // Bessell 1990, PASP 102, 1181, Table 2: first and last wavelength in A and step, then the response.
  const passbands: Record<Exclude<BandName, 'clear'>, [number, number, string]> = {
    U: [
      3000,
      50,
      '0 16 68 167 287 423 560 673 772 841 905 943 981 993 1000 989 916 804 625 423 238 114 51 19 0',
    ],
    B: [3600, 100, '0 30 134 567 920 978 1000 978 935 853 740 640 536 424 325 235 150 95 43 9 0'],
    V: [4700, 100, '0 30 163 458 780 967 1000 973 898 792 684 574 461 359 270 197 135 81 45 25 17 13 9 0'],
    // Beyond 7500 A the table goes in steps of 500 A; the values between are on straight lines.
    R: [
      5500,
      100,
      '0 230 740 910 980 1000 980 960 930 900 860 810 780 720 670 610 560 510 460 400 350 308 266 224 182 140 118 96 74 52 30 24 18 12 6 0',
    ],
    I: [7000, 100, '0 24 232 555 785 910 965 985 990 995 1000 1000 990 980 950 910 860 750 560 330 150 30 0'],
  };
  for (const [name, [, stepA, text]] of Object.entries(passbands)) {
    const response = text.split(' ').map((permille) => Number(permille) / 1000);
    const areaNm = (response.reduce((sum, r) => sum + r, 0) * stepA) / 10; // trapezoids, 0 at both ends
    checkPublished(
      {
        what: `equivalent width of ${name}, nm`,
        value: areaNm,
        tolerance: 0.51,
        source: 'Bessell 1990, PASP 102, 1181, Table 2, integrated by trapezoids',
        note: 'ours are whole nm',
      },
      () => bands[name as BandName].bandwidthNm,
    );
  }
});
