/** What a rig file may say of the temperature. */
import { z } from 'zod';
import { madeOnce, nonNegative, positive } from './rig-quantity.ts';

export const temperatureSchema = madeOnce(() =>
  z
    .strictObject({
      umPerK: z
        .number()
        .min(-1000)
        .max(1000)
        .describe(
          'Focus shift of a camera that is not refocused, µm for each kelvin of warming; > 0 = its sensor ends beyond best focus.',
        )
        .optional(),
      tubeExpansionPerK: z
        .number()
        .min(-1e-5)
        .max(1e-3)
        .describe(
          'Expansion of the tube, 1/K, instead of umPerK: aluminium 23.6e-6, steel 11.7e-6, carbon fibre 0.5e-6.',
        )
        .optional(),
      mirrorExpansionPerK: z
        .number()
        .min(-1e-5)
        .max(1e-3)
        .describe('Expansion of the mirrors, 1/K: borosilicate 3.3e-6.')
        .default(0),
      twoMirrors: z
        .strictObject({
          primaryFNumber: positive('F-number of the first mirror alone.').min(0.5).max(100),
          backFocusMm: z
            .number()
            .min(-20000)
            .max(20000)
            .describe('From the vertex of the first mirror to the focal plane behind it, mm.'),
        })
        .describe(
          'For tubeExpansionPerK of a two-mirror telescope; by default what telescope.design says of it.',
        )
        .optional(),
      nightDropK: nonNegative('How much the temperature falls in the night, K.').max(60),
      nightHours: positive('Time in which it falls so much, h.').max(24).default(8),
      refocusEveryK: positive(
        'Fall of the temperature from one refocus of the main camera to the next, K; by default it is focused once per night.',
      )
        .max(60)
        .optional(),
      guidePathUmPerK: z
        .number()
        .min(-1000)
        .max(1000)
        .describe(
          'What the guide path adds of its own for each kelvin of warming, µm; refocusing the main camera does not undo it.',
        )
        .default(0),
    })
    .describe('What the falling temperature does to the focus.'),
);
