/** No ring measured, no verdict. */
import { createImage, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import {
  buildScene,
  frameToFits,
  type MeasuredStar,
  measureFrame,
  readFrameFile,
  rigCamera,
} from '@holdfast/sim';
import { starToJudge } from '@holdfast/sim/internal';
import { describe, expect, test } from 'vitest';
import { smallRig } from '../small-rig.ts';

type Judgeable = Pick<MeasuredStar, 'ring' | 'saturatedFraction' | 'light'>;

const rig = smallRig();

/** Stars of a frame by the rig's camera, rings of these fluxes side by side. */
async function starsOf(rings: readonly { outerDiameterPx: number; flux: number }[]): Promise<MeasuredStar[]> {
  const { camera, backgroundE } = buildScene(rig, { focusShiftUm: 0 });
  const width = 90 * rings.length;
  const expected = createImage(width, 90);
  expected.data.fill(backgroundE);
  for (const [i, { outerDiameterPx, flux }] of rings.entries()) {
    const shape = { kind: 'annulus', outerDiameterPx, obstructionRatio: 0.35, blurFwhmPx: 3 } as const;
    const star = renderStar(shape, { width, height: 90, x: 45 + 90 * i, y: 44.6, flux });
    for (let k = 0; k < star.data.length; k++) expected.data[k] += star.data[k];
  }
  const exposed = exposeFrame(expected, camera, randomStream('judge'));
  const frame = await readFrameFile(frameToFits(exposed, camera));
  if (!frame.ok) throw new Error(frame.message);
  return measureFrame(frame.image, rigCamera(rig, frame).measure);
}

describe('the star that an advice may rest on', () => {
  test('is the next one when the brightest is saturated', async () => {
    const stars = await starsOf([
      { outerDiameterPx: 14, flux: 8e6 },
      { outerDiameterPx: 20, flux: 30_000 },
    ]);
    expect(stars[0].saturatedFraction).toBeGreaterThan(0);
    const judged = starToJudge(stars);
    expect(judged.ok).toBe(true);
    if (judged.ok && judged.star.ring.ok)
      expect(Math.abs(judged.star.ring.outerDiameterPx.value - 20)).toBeLessThan(1);
  });

  test('is none when every star is saturated, or has no ring, and the reason says so', async () => {
    expect(starToJudge(await starsOf([{ outerDiameterPx: 14, flux: 8e6 }]))).toMatchObject({
      ok: false,
      reason: expect.stringContaining('saturated'),
    });
    const point: Judgeable = {
      ring: { ok: false, reason: 'no-ring' },
      saturatedFraction: 0,
      light: { fluxE: { value: 100, standardError: 3 } } as MeasuredStar['light'],
    };
    expect(starToJudge([point, point])).toMatchObject({
      ok: false,
      reason: expect.stringMatching(/none of the 2 stars .* too small for a ring/),
    });
    expect(starToJudge([]).ok).toBe(false);
  });
});
