/**
 * The design of a rig's telescope: what its stars look like away from the axis, and how its focus depends on
 * color.
 */
import { z } from 'zod';
import type { TelescopeDesign } from '../pickoff/pickoff-options.ts';
import { type RigFault, shown } from './rig-fault.ts';
import { madeOnce, nonNegative, positive } from './rig-quantity.ts';
import { mirrorFaults } from './two-mirrors.ts';

const residuals = () =>
  z
    .strictObject({
      atMm: positive('Distance from the axis where these values hold, mm.').max(1000),
      sagittalComaUm: z
        .number()
        .min(-1000)
        .max(1000)
        .describe('Half the width of the comet, µm; > 0 with the tail away from the axis.')
        .default(0),
      astigmatismUm: nonNegative('Diameter of the circle of least confusion, µm.').max(1000).default(0),
    })
    .describe(
      'What a coma corrector, flattener or reducer leaves, instead of what the bare design would give.',
    );

const edgeStar = () =>
  z
    .strictObject({
      atMm: positive('Distance of the star from the axis, mm.').max(1000),
      lengthPx: positive('FWHM of the star along its longer axis, px of the main camera.').max(1000),
      widthPx: positive('FWHM across it, px of the main camera.').max(1000),
      centerPx: positive('FWHM of a star in the middle of the same picture, px of the main camera.').max(
        1000,
      ),
    })
    .describe('A star near the edge of a picture in focus, instead of residuals that nobody knows.');

/** What every kind may add. */
const known = () => ({
  residuals: residuals().optional(),
  edgeStar: edgeStar().optional(),
  secondarySpectrumUm: nonNegative(
    'How far red (656 nm) and blue (486 nm) focus behind green (546 nm), µm. Default: the focal length / 2000 for a refractor, 0 for mirrors.',
  )
    .max(20000)
    .optional(),
});

const mirrors = () => ({
  primaryFNumber: positive('F-number of the first mirror alone.').min(0.5).max(100),
  backFocusMm: z
    .number()
    .min(-20000)
    .max(20000)
    .describe(
      'Back focus of the telescope: from the vertex of the first mirror to the focal plane behind it, mm.',
    ),
});

export const designSchema = madeOnce(() =>
  z
    .discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('unknown'), ...known() }),
      z.strictObject({ kind: z.enum(['paraboloid', 'refractor']), ...known() }),
      z.strictObject({
        kind: z.enum(['classical-cassegrain', 'ritchey-chretien']),
        ...mirrors(),
        ...known(),
      }),
      z.strictObject({
        kind: z.literal('catadioptric'),
        ...mirrors(),
        correctorMm: nonNegative(
          'From the first mirror to the corrector in front of it, mm. Default: where the second mirror stands.',
        )
          .max(20000)
          .optional(),
        ...known(),
      }),
    ])
    .describe(
      'Design of the telescope: what makes a star away from the axis what it is. ' +
        'catadioptric: two spherical mirrors behind a corrector.',
    ),
);

/** Design of the telescope as a rig file says it. */
export type RigDesign = z.output<ReturnType<typeof designSchema>>;

/** The parts of a rig that the design's aberrations depend on. */
export interface DesignedTelescope {
  readonly telescope: {
    readonly apertureMm: number;
    readonly focalLengthMm: number;
    readonly obstructionRatio: number;
    readonly design?: RigDesign | undefined;
  };
  readonly mainCamera: { readonly pixelSizeUm: number };
}

/**
 * The design as `offAxisAberrations` takes it; undefined when the rig's telescope is unknown in this respect.
 */
export function designOf({ telescope, mainCamera }: DesignedTelescope): TelescopeDesign | undefined {
  const { design } = telescope;
  if (design === undefined) return undefined;
  const seen = design.edgeStar && aberrationsSeen(design.edgeStar, telescope, mainCamera.pixelSizeUm);
  const left = design.residuals ?? seen;
  if (left === undefined) return bareDesign(design);
  // The two line images lie this far to either side of the circle of least confusion.
  const apart = left.astigmatismUm * (telescope.focalLengthMm / telescope.apertureMm);
  return {
    design: 'corrected',
    known: {
      offAxisMm: left.atMm,
      sagittalComaUm: left.sagittalComaUm,
      tangentialFocusShiftUm: apart,
      sagittalFocusShiftUm: -apart,
    },
  };
}

function bareDesign(design: RigDesign): TelescopeDesign | undefined {
  switch (design.kind) {
    case 'unknown':
      return undefined;
    case 'paraboloid':
    case 'refractor':
      return { design: design.kind };
    case 'classical-cassegrain':
    case 'ritchey-chretien':
    case 'catadioptric': {
      const { kind, primaryFNumber, backFocusMm } = design;
      const pair = { primaryFNumber, backFocusMm };
      if (kind !== 'catadioptric') return { design: kind, ...pair };
      return {
        design: kind,
        ...pair,
        ...(design.correctorMm === undefined ? {} : { correctorMm: design.correctorMm }),
      };
    }
  }
}

const fwhmPerSigma = 2.354820045030949;

/**
 * Coma and astigmatism that make a star as long and wide as was seen, by second moments. With C the sagittal
 * coma, A the circle of least confusion, e the obstruction:
 *
 *   length^2 - width^2 = C^2 (1 - e^2)^2 / 3                                     as variances
 *   width^2 - center^2 = C^2 (1 + e^2 + e^4) / 6 + A^2 (1 + e^2) / 16
 *
 * (Derived.) A FWHM stands for 2.35 rms widths, which makes the comet some 10 to 20 % small: its faint tail
 * has more of the second moment than of the FWHM.
 */
function aberrationsSeen(
  { atMm, lengthPx, widthPx, centerPx }: z.output<ReturnType<typeof edgeStar>>,
  { obstructionRatio }: { readonly obstructionRatio: number },
  pixelSizeUm: number,
): z.output<ReturnType<typeof residuals>> {
  const variance = (fwhmPx: number): number => ((fwhmPx * pixelSizeUm) / fwhmPerSigma) ** 2;
  const e2 = obstructionRatio ** 2;
  const comaSquare = (3 * Math.max(0, variance(lengthPx) - variance(widthPx))) / (1 - e2) ** 2;
  const rest = variance(widthPx) - variance(centerPx) - (comaSquare * (1 + e2 + e2 * e2)) / 6;
  return {
    atMm,
    sagittalComaUm: Math.sqrt(comaSquare),
    astigmatismUm: Math.sqrt((16 * Math.max(0, rest)) / (1 + e2)),
  };
}

/** What is wrong between the numbers of a design, whatever else is wrong with the rig. */
export function designFaults(input: unknown): RigFault[] {
  const { telescope } = (input ?? {}) as Record<string, unknown>;
  const { design } = (telescope ?? {}) as Record<string, unknown>;
  const read = designSchema().safeParse(design).data;
  if (read === undefined) return [];
  const faults: RigFault[] = [];
  if (read.residuals !== undefined && read.edgeStar !== undefined)
    faults.push({
      field: 'telescope.design.edgeStar',
      got: 'both',
      allowed: 'left out, since residuals says what is left',
    });
  if (read.edgeStar !== undefined && read.edgeStar.lengthPx < read.edgeStar.widthPx)
    faults.push({
      field: 'telescope.design.edgeStar.lengthPx',
      got: shown(read.edgeStar.lengthPx),
      allowed: `>= widthPx, ${read.edgeStar.widthPx}`,
    });
  if ('primaryFNumber' in read) faults.push(...mirrorFaults('telescope.design', read, telescope));
  return faults;
}
