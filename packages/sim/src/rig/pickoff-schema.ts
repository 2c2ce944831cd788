/** What a rig file may say of its pick-off. */
import { z } from 'zod';
import { madeOnce, nonNegative, positive } from './rig-quantity.ts';

export const pickoffSchema = madeOnce(() =>
  z
    .strictObject({
      flangeDistanceMm: positive(
        'Flange distance: from the last opening before the pick-off to the main sensor, mm.',
      ).max(2000),
      openingMm: positive('Clear diameter of that opening, mm.').max(1000),
      mainSensor: z.strictObject({
        widthMm: positive('Width of the main sensor, mm.').max(500),
        heightMm: positive('Height of the main sensor, mm.').max(500),
      }),
      mirror: z.strictObject({
        widthMm: positive('Width of the mirror across the direction to the axis, mm.').max(500),
        depthMm: positive('Depth along it, as seen along the light, mm.').max(500),
        distanceMm: positive("From the mirror's middle to the main sensor, mm.").max(2000),
      }),
      edgeFromAxisMm: nonNegative("From the optical axis to the mirror's inner edge, mm.").max(1000),
      angleDeg: z
        .number()
        .min(-360)
        .max(360)
        .describe("Direction from the axis to the mirror, degrees from the sensor's width toward its height.")
        .default(90),
      guideAngleDeg: z
        .number()
        .min(-360)
        .max(360)
        .describe(
          'Where "away from the axis" points in a guide frame, degrees from its rows to its columns: the tail of the comet.',
        )
        .default(0),
      allowedLossPercent: z
        .number()
        .min(0)
        .lt(100)
        .describe('Largest loss of light that is accepted at any pixel of the main sensor, %.')
        .default(2),
      exitPupilDistanceMm: positive('From the exit pupil to the main sensor, mm, where it is known.')
        .max(1e6)
        .optional(),
    })
    .describe('The pick-off in front of the main sensor. Distances from the sensor run against the light.'),
);

export type RigPickoff = z.output<ReturnType<typeof pickoffSchema>>;
