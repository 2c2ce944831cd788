/**
 * What stands in a rig file: everything about telescope, cameras, sky, star, filters, loop and budget that an
 * answer depends on. One zod schema says names, units, ranges, defaults and explanations; the type `Rig`, the
 * checks and the JSON Schema for editors all come from it.
 */
import { thresholdedDefaults } from '@holdfast/centroid/internal';
import { z } from 'zod';
import { defaultMount } from '../motion/mount.ts';
import { filterSchema, focuserSchema, type RigFilter } from './filters.ts';
import { pickoffSchema } from './pickoff-schema.ts';
import { fraction, madeOnce, nonNegative, plainName, positive } from './rig-quantity.ts';
import { designSchema } from './telescope-design.ts';
import { temperatureSchema } from './temperature-schema.ts';

/** Estimators by the names under which `@holdfast/centroid` exports them. */
export const estimatorNames = [
  'centerOfMass',
  'thresholdedCenterOfMass',
  'weightedCenterOfMass',
  'gaussianFit',
  'pointSymmetryCenter',
  'crossCorrelation',
  'templateFit',
] as const;
/** Name of an estimator that the rig file knows. */
export type EstimatorName = (typeof estimatorNames)[number];

export const telescopeSchema = madeOnce(() =>
  z
    .strictObject({
      apertureMm: positive('Diameter of the entrance pupil, mm.').max(20000),
      focalLengthMm: positive('Focal length at the guide sensor, mm.').max(200000),
      obstructionRatio: z
        .number()
        .min(0)
        .lt(1)
        .describe('Diameter of the central obstruction over the aperture (linear); 0 for a refractor.'),
      throughput: fraction('Share of the light that mirrors, lenses and pick-off pass on.').default(0.8),
      design: designSchema().optional(),
    })
    .describe('The main telescope, as the guide camera sees it.'),
);

const guideCamera = () =>
  z
    .strictObject({
      pixelSizeUm: z.number().min(0.5).max(100).describe('Side of a pixel, µm.'),
      widthPx: z.int().min(16).max(20000).describe('Columns of the sensor.').default(1280),
      heightPx: z.int().min(16).max(20000).describe('Rows of the sensor.').default(960),
      binning: z.int().min(1).max(8).describe('Pixels a side that are summed after reading.').default(1),
      exposureS: positive('Exposure of one guide frame, s.').max(3600),
      quantumEfficiency: fraction('Electrons per photon over the band.').default(0.7),
      bandwidthNm: positive('Width of the band that reaches the guide sensor, nm.').max(1000).default(300),
      wavelengthNm: z
        .number()
        .min(300)
        .max(1100)
        .describe('Effective wavelength of the band, nm.')
        .default(550),
      readNoiseE: nonNegative('Read noise of one pixel, electrons rms.').max(1000),
      darkEPerS: nonNegative('Dark current of one pixel, electrons per second.').default(0.1),
      gainEPerAdu: positive('Electrons per count (ADU).').default(0.5),
      offsetAdu: z.int().min(0).max(60000).describe('Counts added to every pixel.').default(100),
      bitDepth: z.int().min(8).max(16).describe('Bits of the digitizer.').default(12),
      fullWellE: positive('Electrons at which a pixel is full.').default(15000),
      hotPixelsPerMillion: nonNegative(
        'Pixels per million that stand out of the noise of a guide frame by 5 sigmas or more.',
      )
        .max(1e6)
        .default(50),
    })
    .superRefine(({ offsetAdu, bitDepth }, { addIssue }) => {
      const highest = 2 ** bitDepth - 2;
      if (offsetAdu > highest)
        addIssue({
          code: 'custom',
          path: ['offsetAdu'],
          message: `<= ${highest}, below the highest count of ${bitDepth} bits`,
        });
    })
    .describe('The camera that guides.');

export const mainCameraSchema = madeOnce(() =>
  z
    .strictObject({
      pixelSizeUm: positive('Side of a pixel of the imaging camera, µm.').max(100),
      exposureS: positive('Exposure of one picture, s: how long the focus may drift within it.')
        .max(36000)
        .default(300),
    })
    .describe('The camera that takes the picture.'),
);

const sky = () =>
  z
    .strictObject({
      seeingFwhmArcsec: positive('FWHM of a star in a long exposure by the air alone, arcsec.').max(30),
      skyMagPerArcsec2: z
        .number()
        .min(10)
        .max(23)
        .describe('Sky brightness, V magnitudes per square arcsec.')
        .default(20.5),
      extinctionMagPerAirmass: nonNegative('Extinction in V, magnitudes per airmass.').max(5).default(0.2),
      airmass: z.number().min(1).max(10).describe('Airmass of the field.').default(1.2),
      windMPerS: positive('Speed at which the turbulent air crosses the aperture, m/s.').max(100).default(10),
      turbulenceHeightM: positive(
        'Height of the turbulent air, m: how much of its motion several guide stars share.',
      )
        .max(50000)
        .default(5000),
    })
    .describe('Seeing, sky background and extinction.');

const guideStar = () =>
  z
    .strictObject({
      magnitude: z.number().min(-2).max(20).describe('V magnitude of the guide star.'),
    })
    .describe('The star that is guided on.');

const offAxisSchema = () =>
  z
    .strictObject({
      offAxisMm: nonNegative('Distance of the guide star from the optical axis in the focal plane, mm.').max(
        1000,
      ),
      clipDistance: z
        .number()
        .gt(-1)
        .max(1)
        .describe(
          'Where a straight edge of the pick-off cuts the beam, in radii of the aperture from its center; 1 = nothing is cut.',
        )
        .default(1),
      clipAngleDeg: z
        .number()
        .min(-360)
        .max(360)
        .describe(
          'Direction from the center of the beam to that edge, degrees from +x toward +y; 0 by default.',
        )
        .optional(),
      aberrationsNm: z
        .strictObject(
          Object.fromEntries(
            ['5', '6', '7', '8', '9', '10', '11'].map((noll) => [
              noll,
              z.number().min(-1e5).max(1e5).optional(),
            ]),
          ),
        )
        .describe(
          'Measured wavefront of the star by Noll index, nm rms over the aperture, instead of what the design of the telescope says.',
        )
        .optional(),
    })
    .describe(
      'Where the guide star stands and what clips it, when that is known better than the pick-off tells.',
    );

const mount = () =>
  z
    .strictObject({
      driftXArcsecPerS: nonNegative(
        'Drift along the axis that turns all the time, arcsec/s (right ascension).',
      )
        .max(10)
        .default(defaultMount.driftArcsecPerS.x),
      driftYArcsecPerS: nonNegative('Drift along the other axis, arcsec/s (declination).')
        .max(10)
        .default(defaultMount.driftArcsecPerS.y),
      periodicError: z
        .array(
          z.strictObject({
            amplitudeArcsec: nonNegative('Half of the way from peak to peak, arcsec.').max(600),
            periodS: positive('Period, s.').max(36000),
          }),
        )
        .max(20)
        .describe('Waves of the periodic error.')
        .default([...defaultMount.periodicError]),
    })
    .describe(
      'Motion of the mount without corrections; by default a small mount, its axis off by 3 arcmin (common practice, no source).',
    );

const tracking = () =>
  z
    .strictObject({
      otherRmsArcsec: nonNegative(
        'Rms per axis of all tracking errors that are not the measured star position (mount, wind, flexure), arcsec.',
      )
        .max(60)
        .default(0.5),
      proportionalGain: z
        .number()
        .gt(0)
        .lt(2)
        .describe('Share of a measured offset that one correction takes out.')
        .default(0.6),
      estimator: z
        .enum(estimatorNames)
        .describe('How the star is measured.')
        .default('thresholdedCenterOfMass'),
      available: z
        .array(z.enum(estimatorNames))
        .min(1)
        .describe('The methods that your guiding offers: changes are chosen from these.')
        .default(['centerOfMass', 'thresholdedCenterOfMass']),
      windowPx: z
        .int()
        .min(5)
        .max(1000)
        .describe(
          'Side of the square that is measured, px of the binned sensor. Default: matched to the largest ring of the filters.',
        )
        .optional(),
      searchPx: positive(
        'How far from its last position the star is looked for, px along each axis. Default: half of the window.',
      )
        .max(1000)
        .optional(),
      thresholdSigma: nonNegative(
        "Threshold of the thresholded center of mass, in sigmas of an empty pixel's noise.",
      )
        .max(20)
        .default(thresholdedDefaults.thresholdSigma),
      templateFrames: z
        .int()
        .min(2)
        .max(1000)
        .describe('Frames that the template of a template method is the running mean of.')
        .default(20),
      correctionDelayS: nonNegative(
        'From the end of an exposure to its correction, s: readout and computing; then the next exposure begins.',
      )
        .max(600)
        .default(0.5),
      mount: mount().prefault({}),
    })
    .describe('The loop that keeps the star in place.');

const budget = () =>
  z
    .strictObject({
      fwhmGrowthPercent: positive('Growth of the FWHM of stars in the picture that is still accepted, %.')
        .max(1000)
        .default(5),
      lostFractionPercent: z
        .number()
        .gt(0)
        .lt(100)
        .describe('Share of guide frames without a usable star that is still accepted, %.')
        .default(2),
      rmsErrorArcsec: positive(
        'Largest noise-equivalent error of the star position, one axis, arcsec, whatever reaches the picture; none by default.',
      )
        .max(60)
        .optional(),
    })
    .describe('What you accept.');

/** Schema of the rig file; strict: a name that it does not know is a fault. */
export const rigSchema = madeOnce(() =>
  z.strictObject({
    $schema: z
      .string()
      .describe('Where an editor finds the schema of this file; not used otherwise.')
      .optional(),
    name: plainName(200, 'What you call this rig.'),
    telescope: telescopeSchema(),
    guideCamera: guideCamera(),
    mainCamera: mainCameraSchema(),
    sky: sky(),
    guideStar: guideStar(),
    offAxis: offAxisSchema().optional(),
    starModel: z
      .enum(['auto', 'geometric', 'diffraction'])
      .describe(
        'How the star is drawn: by diffraction, colors and turbulent air, or by rays and a Gaussian blur. auto: diffraction, but for a ring so wide that its wave cannot be sampled, which is drawn by rays; diffraction refuses that ring.',
      )
      .default('auto'),
    guideFocusShiftUm: z
      .number()
      .min(-20000)
      .max(20000)
      .describe('Focus shift that the guide camera has when a filter of shift 0 is in the beam, µm.')
      .default(0),
    filters: z.array(filterSchema()).min(1).max(100).describe('The filters of the main camera.'),
    filtersStand: z
      .enum(['behind-pickoff', 'before-pickoff'])
      .describe(
        'Where the filters stand as the light travels. Behind the pick-off, the default, the guide star does not pass them; before it, ' +
          'the guide light has the band of the filter, and no filter moves the guide focus.',
      )
      .optional(),
    referenceFilter: z
      .string()
      .describe(
        'Name of the filter that the others are reckoned from, in steps or by their glass. Default: the first.',
      )
      .optional(),
    focuser: focuserSchema().optional(),
    temperature: temperatureSchema().optional(),
    pickoff: pickoffSchema().optional(),
    galacticLatitudeDeg: z
      .number()
      .min(-90)
      .max(90)
      .describe(
        'Galactic latitude of the picture, for the odds of a guide star; 0 is the middle of the Milky Way.',
      )
      .optional(),
    galacticLongitudeDeg: z
      .number()
      .min(-360)
      .max(360)
      .describe('Galactic longitude of the picture; 0 is toward the center of the galaxy.')
      .optional(),
    tracking: tracking().prefault({}),
    budget: budget().prefault({}),
  }),
);

/** A rig as its file says it, with every default filled in. */
export type RigFile = z.output<ReturnType<typeof rigSchema>>;

/** A rig with every default filled in; `parseRig` takes it again. */
export type Rig = Omit<RigFile, 'filters'> & {
  /** Filters of the main camera, their shifts in um. */
  readonly filters: readonly RigFilter[];
};

/** JSON Schema (draft 2020-12) of the rig file, for editors that complete and check while one types. */
export function rigJsonSchema(): Record<string, unknown> {
  return { title: 'holdfast rig', ...z.toJSONSchema(rigSchema(), { io: 'input' }) };
}
