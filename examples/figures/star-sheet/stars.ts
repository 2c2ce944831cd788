/**
 * The stars of the figure sheet: every shape that the library draws, by sections. Change them and run the
 * program again.
 */
import { offAxisAberrations, type ShortExposureOptions, type StarShape } from '@holdfast/psf';

/** A star seen in one short exposure: no shape, as each looks different. */
export interface SpeckledStar {
  readonly kind: 'short-exposure';
  readonly options: Omit<ShortExposureOptions, 'width' | 'height'>;
  /** Names the moving air. */
  readonly seed: string;
}

export interface SheetStar {
  readonly title: string;
  readonly shape: StarShape | SpeckledStar;
  /** Side of the stamp, px. */
  readonly side: number;
  /** Where the star is asked for, px. */
  readonly x: number;
  readonly y: number;
  /** Printed so many times darker than the brightest pixel allows, to show faint light. Default 1. */
  readonly darker?: number;
}

export interface SheetSection {
  readonly title: string;
  /** What all its stars share. */
  readonly note: string;
  readonly stars: readonly SheetStar[];
}

/** A star near the middle of its stamp, not quite: between the pixels, as stars are. */
const middle = (side: number) => ({ side, x: side / 2 - 0.3, y: side / 2 - 0.8 });

const profiles: SheetSection = {
  title: 'In focus, by formula',
  note: 'integrated over each pixel',
  stars: [
    { title: 'Gaussian', shape: { kind: 'gaussian', fwhmPx: 4 }, ...middle(21) },
    {
      title: 'Gaussian, elliptical',
      shape: { kind: 'gaussian', fwhmPx: 7, axisRatio: 0.45, angleDeg: 30 },
      ...middle(21),
    },
    { title: 'Gaussian, undersampled', shape: { kind: 'gaussian', fwhmPx: 0.9 }, ...middle(12) },
    { title: 'Moffat', shape: { kind: 'moffat', fwhmPx: 4, beta: 2.5 }, ...middle(21) },
    {
      title: 'Moffat, elliptical',
      shape: { kind: 'moffat', fwhmPx: 6, beta: 3.5, axisRatio: 0.6, angleDeg: -40 },
      ...middle(21),
    },
  ],
};

const ring = { kind: 'annulus', obstructionRatio: 0.35, blurFwhmPx: 2.5 } as const;
const throughFocus: SheetSection = {
  title: 'From focus outward',
  note: 'the ring of an obstructed pupil, blurred by seeing; at F/5 and 3.75 µm per pixel, 10 px are 188 µm out of focus',
  stars: [0, 4, 10, 18, 30].map((outerDiameterPx) => ({
    title: outerDiameterPx === 0 ? 'Annulus, in focus' : 'Annulus',
    shape: { ...ring, outerDiameterPx },
    ...middle(42),
  })),
};

const newton = { fNumber: 5, pixelSizeUm: 3.75 } as const;
const rays = {
  kind: 'rays',
  pupil: { obstructionRatio: 0.35 },
  ...newton,
  blurFwhmPx: 1.6,
} as const;
const byRays: SheetSection = {
  title: 'By rays',
  note: 'geometric optics and a Gaussian blur',
  stars: [
    {
      title: 'Coma',
      shape: { kind: 'coma', sagittalComaPx: 7, angleDeg: 35, obstructionRatio: 0.35, blurFwhmPx: 1.6 },
      ...middle(42),
    },
    {
      title: 'Coma out of focus',
      shape: {
        kind: 'coma',
        sagittalComaPx: 4,
        angleDeg: 35,
        obstructionRatio: 0.35,
        blurFwhmPx: 1.6,
        defocusDiameterPx: 22,
      },
      ...middle(42),
    },
    {
      title: 'Astigmatism out of focus',
      shape: {
        ...rays,
        wavefront: { focusShiftUm: 340, seidelNm: { astigmatism: 1300, fieldCurvature: -650, angleDeg: 35 } },
      },
      ...middle(42),
    },
    {
      title: 'Clipped by a straight edge',
      shape: {
        ...rays,
        pupil: { obstructionRatio: 0.35, clip: { distance: 0.45, angleDeg: 35 } },
        wavefront: { focusShiftUm: 480 },
      },
      ...middle(42),
    },
    {
      title: 'Coma, astigmatism, clipped',
      shape: {
        ...rays,
        pupil: { obstructionRatio: 0.35, clip: { distance: 0.6, angleDeg: 35 } },
        wavefront: {
          focusShiftUm: -360,
          seidelNm: { coma: 1500, astigmatism: 700, fieldCurvature: -350, angleDeg: 35 },
        },
      },
      ...middle(42),
    },
  ],
};

const fine = {
  kind: 'diffraction',
  pupil: { obstructionRatio: 0.35 },
  fNumber: 10,
  wavelengthNm: 550,
  pixelSizeUm: 2.9,
} as const;
const byWaves: SheetSection = {
  title: 'By waves, in still air',
  note: 'diffraction of one wavelength',
  stars: [
    { title: 'In focus', shape: { ...fine, wavefront: {} }, ...middle(28), darker: 6 },
    { title: 'Two waves of defocus', shape: { ...fine, wavefront: { focusShiftUm: 880 } }, ...middle(56) },
    { title: 'Four waves of defocus', shape: { ...fine, wavefront: { focusShiftUm: 1760 } }, ...middle(84) },
    {
      title: 'Clipped pupil',
      shape: {
        ...fine,
        pupil: { obstructionRatio: 0.35, clip: { distance: 0.45, angleDeg: 35 } },
        wavefront: { focusShiftUm: 1760 },
      },
      ...middle(84),
    },
    {
      title: 'Four vanes',
      shape: {
        ...fine,
        pupil: { obstructionRatio: 0.35, vanes: { count: 4, widthRatio: 0.02, angleDeg: 35 } },
        wavefront: {},
        accuracy: { minPupilSamples: 256 },
      },
      ...middle(84),
      darker: 120,
    },
  ],
};

const paraboloid = offAxisAberrations({
  design: 'paraboloid',
  apertureMm: 200,
  focalLengthMm: 1000,
  offAxisMm: 8,
  angleDeg: 35,
});
const hyperboloids = offAxisAberrations({
  design: 'ritchey-chretien',
  apertureMm: 250,
  focalLengthMm: 2000,
  primaryFNumber: 3,
  backFocusMm: 180,
  offAxisMm: 24,
  angleDeg: 35,
});
const offNewton = { ...fine, ...newton } as const;
const offCassegrain = { ...fine, pupil: { obstructionRatio: 0.45 }, fNumber: 8 } as const;
const offAxis: SheetSection = {
  title: 'Off the axis',
  note: 'waves in still air; paraboloid of 200 mm, F/5, at 8 mm; Ritchey-Chrétien of 250 mm, F/8, at 24 mm; axis to the upper left',
  stars: [
    {
      title: 'Paraboloid',
      shape: {
        ...offNewton,
        pixelSizeUm: 1.5,
        wavefront: { focusShiftUm: -paraboloid.medianFocusShiftUm, seidelNm: paraboloid.seidel },
      },
      side: 56,
      x: 15.7,
      y: 18.2,
    },
    {
      title: 'Paraboloid, beyond focus',
      shape: {
        ...offNewton,
        wavefront: { focusShiftUm: 350, seidelNm: paraboloid.seidel },
      },
      side: 42,
      x: 16.7,
      y: 17.2,
    },
    ...(
      [
        ['Ritchey-Chrétien, tangential', hyperboloids.tangentialFocusShiftUm],
        ['Ritchey-Chrétien, between', hyperboloids.medianFocusShiftUm],
        ['Ritchey-Chrétien, sagittal', hyperboloids.sagittalFocusShiftUm],
      ] as const
    ).map(([title, shift]) => ({
      title,
      shape: { ...offCassegrain, wavefront: { focusShiftUm: -shift, seidelNm: hyperboloids.seidel } },
      ...middle(42),
    })),
  ],
};

const air = { fwhmArcsec: 2, apertureMm: 200 } as const;
const speckled = {
  pupil: { obstructionRatio: 0.35 },
  fNumber: 10,
  apertureMm: 200,
  wavelengthNm: 550,
  pixelSizeUm: 2.9,
  seeing: { fwhmArcsec: 2 },
  windMPerS: 8,
  windAngleDeg: 20,
} as const;
const movingAir: SheetSection = {
  title: 'Through moving air',
  note: 'turbulence as Kolmogorov has it; a short exposure freezes a part of it, a long one averages',
  stars: [
    { title: 'Long exposure', shape: { ...fine, wavefront: {}, seeing: air }, ...middle(56) },
    {
      title: 'Long exposure, four waves',
      shape: { ...fine, wavefront: { focusShiftUm: 1760 }, seeing: air },
      ...middle(84),
    },
    {
      title: 'Short exposure',
      shape: { kind: 'short-exposure', options: { ...speckled, wavefront: {}, exposureS: 0.005 }, seed: '1' },
      ...middle(56),
    },
    {
      title: 'Short exposure, four waves',
      shape: {
        kind: 'short-exposure',
        options: { ...speckled, wavefront: { focusShiftUm: 1760 }, exposureS: 0.005 },
        seed: '2',
      },
      ...middle(84),
    },
    {
      title: 'The same for 0.25 s',
      shape: {
        kind: 'short-exposure',
        options: { ...speckled, wavefront: { focusShiftUm: 1760 }, exposureS: 0.25 },
        seed: '2',
      },
      ...middle(84),
    },
  ],
};

const star = { kind: 'gaussian', fwhmPx: 3 } as const;
const guideRing = { ...ring, outerDiameterPx: 14 } as const;
/** A correction after each of five intervals, and a drift between them. */
const corrected = Array.from({ length: 60 }, (_, k) => ({
  dxPx: 0.8 * (k % 12) + 3 * Math.floor(k / 12),
  dyPx: -0.3 * (k % 12) + 2 * (Math.floor(k / 12) % 2),
}));
const motionAndCompany: SheetSection = {
  title: 'In motion, in company',
  note: 'any shape, moved while the shutter is open or with others beside it',
  stars: [
    {
      title: 'Trailed',
      shape: { kind: 'trailed', shape: star, motion: { lengthPx: 18, angleDeg: 25 } },
      ...middle(42),
    },
    {
      title: 'Trailed ring',
      shape: { kind: 'trailed', shape: guideRing, motion: { lengthPx: 12, angleDeg: 25 } },
      ...middle(42),
    },
    {
      title: 'Trailed on a path',
      shape: { kind: 'trailed', shape: { ...star, fwhmPx: 2 }, motion: corrected },
      ...middle(42),
    },
    {
      title: 'With neighbors',
      shape: {
        kind: 'group',
        star,
        neighbors: [
          { dxPx: 6, dyPx: 2.5, magnitudeDifference: 1.5 },
          { dxPx: -11, dyPx: 9, magnitudeDifference: 2.5 },
        ],
      },
      ...middle(42),
    },
    {
      title: 'Ring with a neighbor',
      shape: {
        kind: 'group',
        star: guideRing,
        neighbors: [{ dxPx: 12, dyPx: -5, magnitudeDifference: 1 }],
      },
      side: 42,
      x: 16.7,
      y: 22.2,
    },
  ],
};

export const sheetSections: readonly SheetSection[] = [
  profiles,
  throughFocus,
  byRays,
  byWaves,
  offAxis,
  movingAir,
  motionAndCompany,
];
