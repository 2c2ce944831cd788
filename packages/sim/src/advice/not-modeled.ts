/** What nobody can know of a night beforehand: each line says by how much it could move the answer. */
import { exp } from '@holdfast/psf/numerics';
import { significant } from '../number-text.ts';
import { flankLight } from '../pickoff/edge-light.ts';
import { edgeStar } from '../pickoff/edge-star.ts';
import { pickoffOptionsOf } from '../rig/rig-pickoff.ts';
import type { Rig } from '../rig/rig-schema.ts';
import { bandColorShiftUm, guideBand } from '../trials/guide-band.ts';
import { leastError } from '../trials/least-error.ts';
import { buildScene } from '../trials/scene.ts';
import { usualStarFactor } from './star-words.ts';

/** A cloud that the eye hardly sees, mag. */
const thinCloudMag = 0.5;

/** For people, kept short on purpose. */
export function notModeledFor(rig: Rig): string[] {
  const star = edgeStar(rig);
  const unknownShape = star.aberrations === undefined && star.measuredNm === undefined && star.offAxisMm > 0;
  const mount = pickoffOptionsOf(rig);
  const colorUm = bandColorShiftUm(guideBand(rig, 0));
  return [
    ...(rig.starModel === 'geometric'
      ? [
          'diffraction and the wide wings of a star in moving air: without them the error is 10 to 35 % too small',
        ]
      : []),
    ...(unknownShape
      ? [
          `coma and astigmatism of the guide star, since the telescope's design is not known: ${usualStarText(rig)}`,
        ]
      : []),
    ...(star.from === 'axis'
      ? [
          `coma and astigmatism of the guide star, and a beam that the pick-off clips, since no pick-off is named: ${usualStarText(rig)}`,
        ]
      : []),
    ...(rig.focuser?.moves === 'first-mirror'
      ? [
          'the tilt of the first mirror when the focuser moves it: the stars jump by some 10 to 60 arcsec at each change of direction ' +
            '(common practice, no source); pause guiding meanwhile',
        ]
      : []),
    ...(mount
      ? [
          `light that the pick-off's flank reflects into the picture: at least ${flankLight(mount).belowStarMag.toFixed(1)} mag fainter than a ` +
            'bright star beside it, for a blackened flank 1 mm thick (derived)',
        ]
      : []),
    ...(colorUm >= 0.5
      ? [
          `the color of the guide star: the focus of a red or a blue star is up to ${significant(colorUm, 2)} µm from that of a white one`,
        ]
      : []),
    `clouds: a thin one of ${thinCloudMag} mag makes the error ${cloudFactor(rig).toFixed(1)} times as large`,
  ];
}

const usualStarText = (rig: Rig): string =>
  `a typical one has ${usualStarFactor(rig).toFixed(1)} times the least possible error in focus`;

function cloudFactor(rig: Rig): number {
  const scene = buildScene(rig, { focusShiftUm: rig.guideFocusShiftUm });
  const fluxE = scene.fluxE * exp((-thinCloudMag * Math.LN10) / 2.5);
  return leastError({ ...scene, fluxE }) / leastError(scene);
}
