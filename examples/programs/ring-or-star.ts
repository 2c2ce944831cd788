/** When does the real star of a pick-off get a different answer from a plain ring on the axis? */
import { fileURLToPath } from 'node:url';
import type { Rig } from '@holdfast/sim';
import { significant } from '@holdfast/sim/internal';
import {
  comparedRings,
  flipReason,
  isFlip,
  type RingOrStar,
  type RingOrStarAnswer,
  ringOrStar,
} from '../reports/ring-or-star.ts';
import { textTable } from '../reports/text-table.ts';
import { wrapped } from '../reports/wrapped-text.ts';
import { command } from './command-line/command.ts';
import { numbers } from './command-line/option.ts';
import { readRig, root } from './command-line/read-rig.ts';
import { givenRig, seed, trials } from './command-line/shared-options.ts';

export const ringOrStarProgram = command({
  name: 'ring-or-star',
  question: 'When does the real star of a pick-off get a different answer from a plain ring on the axis?',
  about: [
    'Six telescopes at eight distances from focus: the example rigs, and two of them without their corrector. The plain ring is drawn by rays, ' +
      'of the whole beam. Each difference is explained by what makes the least possible error larger.',
  ],
  options: {
    rig: { ...givenRig, otherwiseText: 'six telescopes' },
    rings: numbers('PX,PX', 'outer diameters of the rings, px', [...comparedRings]),
    trials: { ...trials, otherwise: () => 256, otherwiseText: '256' },
    seed,
  },
  async run({ rig, rings, trials, seed }, { onProgress }) {
    const rigs = rig === undefined ? sixTelescopes() : [rig];
    const cells = await ringOrStar(rigs, rings, { seed, trials, ...(onProgress ? { onProgress } : {}) });
    return {
      data: cells.map((cell) => ({ ...cell, ...(isFlip(cell) ? { flip: flipReason(cell) } : {}) })),
      text: () => textOf(cells, trials, seed),
    };
  },
});

function sixTelescopes(): Rig[] {
  const example = (name: string): Rig => readRig(fileURLToPath(new URL(`examples/rigs/${name}.json`, root)));
  const reflector = example('fast-reflector');
  const refractor = example('refractor');
  return [
    reflector,
    { ...bare(reflector, 'paraboloid'), name: `${reflector.name}, without corrector` },
    example('long-two-mirror'),
    example('long-catadioptric'),
    refractor,
    { ...bare(refractor, 'refractor'), name: `${refractor.name}, without flattener` },
  ];
}

const bare = (rig: Rig, kind: 'paraboloid' | 'refractor'): Rig => ({
  ...rig,
  telescope: { ...rig.telescope, design: { kind } },
});

function textOf(cells: readonly RingOrStar[], trials: number, seed: string): string[] {
  const flips = cells.filter(isFlip);
  const noise = ({ noiseArcsec }: RingOrStarAnswer): string =>
    noiseArcsec === undefined ? 'none' : significant(noiseArcsec, 2);
  const telescopes = [...new Set(cells.map(({ telescope }) => telescope))];
  return [
    ...telescopes.flatMap((name) => [
      name,
      ...textTable([
        ['ring', 'defocus', 'as a ring', 'noise-eq.', 'as the star', 'noise-eq.', ''],
        ['px', 'µm', '', 'arcsec', '', 'arcsec', ''],
        ...cells
          .filter(({ telescope }) => telescope === name)
          .map((cell) => [
            String(cell.ringDiameterPx),
            cell.focusShiftUm.toFixed(0),
            cell.ring.outcome,
            noise(cell.ring),
            cell.star.outcome,
            noise(cell.star),
            isFlip(cell) ? 'differs' : '',
          ]),
      ]),
      '',
    ]),
    `${flips.length} of ${cells.length} answers differ${flips.length > 0 ? ':' : '.'}`,
    ...flips.flatMap((cell) =>
      wrapped(
        `${cell.telescope}, ring of ${cell.ringDiameterPx} px: ${cell.ring.outcome} as a ring, ${cell.star.outcome} as the star; ${flipReason(cell)}.`,
      ),
    ),
    '',
    ...wrapped(
      `By simulation of ${trials} frames per answer, seed ${seed}; the factors of the least possible error by formula, one axis.`,
    ),
  ];
}
