/**
 * A simulated frame as a file, for who has none at hand: three stars out of focus, as the rig's camera would
 * write them.
 */
import { createImage, exposeFrame, randomStream } from '@holdfast/psf';
import { buildScene, frameToFits, prepareScene, type Rig } from '@holdfast/sim';

const size = { width: 280, height: 210 };
const stars = [
  { x: 121.3, y: 98.6, fainter: 1 },
  { x: 222.8, y: 52.1, fainter: 3 },
  { x: 50.4, y: 166.7, fainter: 6 },
];

export function exampleFrame(rig: Rig, focusShiftUm: number, seed: string): Uint8Array<ArrayBuffer> {
  const scene = buildScene(rig, { focusShiftUm });
  const expected = createImage(size.width, size.height);
  expected.data.fill(scene.backgroundE);
  const stamp = new Float64Array(scene.width * scene.height);
  const plan = prepareScene(scene);
  for (const { x, y, fainter } of stars) {
    const left = Math.round(x) - scene.column;
    const top = Math.round(y) - scene.row;
    plan.renderInto(stamp, x - left, y - top, scene.fluxE / fainter);
    for (let row = 0; row < scene.height; row++)
      for (let column = 0; column < scene.width; column++) {
        const [frameX, frameY] = [left + column, top + row];
        if (frameX >= 0 && frameY >= 0 && frameX < size.width && frameY < size.height)
          expected.data[frameY * size.width + frameX] += stamp[row * scene.width + column];
      }
  }
  const frame = exposeFrame(expected, scene.camera, randomStream(seed, 'example frame'));
  return frameToFits(frame, scene.camera, {
    binning: scene.binning,
    object: 'simulated',
    history: [`seed ${seed}, ${focusShiftUm} um out of focus`],
  });
}
