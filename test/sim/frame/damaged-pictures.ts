/** PNG and TIFF pictures with some bytes changed, read: each gives an image or a reason. */
import { readFrameFile } from '@holdfast/sim';
import { expect } from 'vitest';
import { pictureFile } from './picture-files.ts';

/** Reads so many; the number that were refused, each with a reason. */
export async function refusedPictures(count: number): Promise<number> {
  const wholes = (
    ['pngGray16', 'pngRgb8', 'tifGray16Lzw', 'tifGray16Deflate', 'tifRgb8', 'tifTiles'] as const
  ).map(pictureFile);
  let seed = 1;
  const draw = (below: number) => {
    seed = (seed * 48271) % 2147483647;
    return seed % below;
  };
  let refused = 0;
  for (let n = 0; n < count; n++) {
    const bytes = wholes[n % wholes.length]!.slice();
    for (let change = 0; change <= draw(3); change++) bytes[4 + draw(bytes.length - 4)] = draw(256);
    const frame = await readFrameFile(bytes, { maxPixels: 1e4 });
    if (frame.ok) continue;
    refused++;
    expect(frame.message.length).toBeGreaterThan(10);
  }
  return refused;
}
