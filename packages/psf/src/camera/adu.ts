/** Between electrons and the whole numbers (ADU) of the camera's output. */
import { createImage, type Image, imageHeight, imagePixels, imageWidth } from '../image/image.ts';
import { type Camera, resolveCamera } from './camera.ts';
import { outputRange, wholeAdu } from './output-range.ts';

/**
 * A frame in electrons as the whole ADU that a file would hold: electrons / gain + offset, rounded, cut to
 * the range. Exact for frames of the same camera. Where pixels are binned after the read, offset and range
 * are those of their sum.
 *
 * @throws RangeError with position and value of a pixel that is not finite
 */
export function frameToAdu(frame: Image, camera: Camera): Image {
  const resolved = resolveCamera(camera);
  const { offsetAdu, highestAdu } = outputRange(resolved);
  const { gainEPerAdu } = resolved;
  const { out, width, height } = copyFinitePixels(frame, 'frame');
  for (let k = 0; k < out.length; k++) out[k] = wholeAdu(out[k] / gainEPerAdu + offsetAdu, highestAdu);
  return createImage(width, height, out);
}

/**
 * A frame in ADU as electrons: (ADU - offset) * gain.
 *
 * @throws RangeError with position and value of a pixel that is not finite
 */
export function aduToElectrons(frameAdu: Image, camera: Camera): Image {
  const resolved = resolveCamera(camera);
  const { offsetAdu } = outputRange(resolved);
  const { gainEPerAdu } = resolved;
  const { out, width, height } = copyFinitePixels(frameAdu, 'frameAdu');
  for (let k = 0; k < out.length; k++) out[k] = (out[k] - offsetAdu) * gainEPerAdu;
  return createImage(width, height, out);
}

function copyFinitePixels(image: Image, name: string): { out: Float64Array; width: number; height: number } {
  const width = imageWidth(image);
  const out = Float64Array.from(imagePixels(image));
  for (let k = 0; k < out.length; k++)
    if (!Number.isFinite(out[k])) {
      const x = k % width;
      const at = `x = ${x}, y = ${(k - x) / width}`;
      throw new RangeError(`${name} must be finite everywhere, got ${out[k]} at ${at}`);
    }
  return { out, width, height: imageHeight(image) };
}
