/** A frame whose brightest star is saturated: the verdict rests on the next star that is not. */
import { createImage, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import { buildScene, frameToFits } from '@holdfast/sim';
import { expect, test } from 'vitest';
import { measureFile } from '../../examples/notebook/compute/measure-file.ts';
import { smallRig } from '../sim/small-rig.ts';

const size = { width: 160, height: 90 };
const { camera, backgroundE } = buildScene(smallRig(), { focusShiftUm: 0 });

/** Two rings of 16 px, at x = 40 and x = 115; the first as bright as is asked for. */
function frameWith(firstFluxE: number): Blob {
  const ring = { kind: 'annulus', outerDiameterPx: 16, obstructionRatio: 0.3, blurFwhmPx: 3 } as const;
  const [first, second] = [
    renderStar(ring, { ...size, x: 40, y: 45, flux: firstFluxE }),
    renderStar(ring, { ...size, x: 115, y: 45, flux: 12_000 }),
  ];
  const expected = createImage(
    size.width,
    size.height,
    first.data.map((value, k) => value + second.data[k] + backgroundE),
  );
  return new Blob([frameToFits(exposeFrame(expected, camera, randomStream('two stars')), camera)]);
}

/** Which star is judged, and whether it stands in the middle of the cut. */
async function judgedX(firstFluxE: number): Promise<number | undefined> {
  const measured = await measureFile(smallRig(), frameWith(firstFluxE));
  if (!measured.ok || !measured.judged.ok) return undefined;
  const { stars, judged, cut } = measured;
  const { x } = stars[judged.star];
  expect(Math.abs(cut.left + cut.width / 2 - x)).toBeLessThan(2);
  return Math.round(x);
}

test('the star of the verdict is the brightest that is not saturated', async () => {
  expect(await judgedX(20_000)).toBe(40);
  // Far beyond the full well in every pixel of the ring.
  expect(await judgedX(200 * camera.fullWellE)).toBe(115);
});
