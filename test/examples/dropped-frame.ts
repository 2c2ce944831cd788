/** A frame that is dropped on the notebook, and what the page says of it. */
import { createImage, exposeFrame, randomStream, renderStar } from '@holdfast/psf';
import { buildScene, frameToFits } from '@holdfast/sim';
import type { Page } from 'playwright-core';
import { exampleRig, keepInView } from './notebook-page.ts';

/** A bright ring of 20 px on a frame that is not square, as the rig's camera writes it. */
export function ringFile(telescope: Parameters<typeof frameToFits>[2] = {}): Uint8Array<ArrayBuffer> {
  const { camera, backgroundE } = buildScene(exampleRig, { focusShiftUm: 0 });
  const star = renderStar(
    { kind: 'annulus', outerDiameterPx: 20, obstructionRatio: 0.35, blurFwhmPx: 3 },
    { width: 120, height: 90, x: 70.3, y: 38.8, flux: 12_000 },
  );
  const expected = createImage(
    120,
    90,
    star.data.map((value) => value + backgroundE),
  );
  return frameToFits(exposeFrame(expected, camera, randomStream('notebook frame')), camera, telescope);
}

/** What is looked at is measured first; the page may still grow above it. */
export async function frameState(page: Page): Promise<string | null> {
  await keepInView(page, 'a-frame');
  return page.locator('section[aria-labelledby=a-frame] .state').textContent();
}
