/** A frame on disk, damaged at random: read and measured, it gives stars of finite numbers, or a reason. */
import { exposeFrame, frameToAdu, randomStream, renderStar } from '@holdfast/psf';
import { measureFrame, readFrameFile, writeFits } from '@holdfast/sim';
import { pngFile } from '../sim/frame/png-bytes.ts';
import { tiffFile } from '../sim/frame/tiff-bytes.ts';
import { firstNonFinite } from './run-rig.ts';

const size = { width: 64, height: 48 };
const ring = { kind: 'annulus', outerDiameterPx: 9, obstructionRatio: 0.3, blurFwhmPx: 2.5 } as const;
const camera = { readNoiseE: 2, gainEPerAdu: 1, offsetAdu: 100, bitDepth: 16, fullWellE: 60_000 };
const star = renderStar(ring, { ...size, x: 30.3, y: 24.2, flux: 40_000 });
const frame = frameToAdu(exposeFrame(star, camera, randomStream('a damaged frame')), camera);
const adu = Array.from(frame.data);

const whole: readonly Uint8Array[] = [
  writeFits(frame, { bitpix: 16 }),
  writeFits(frame, { bitpix: -32 }),
  writeFits(frame),
  pngFile({ ...size, depth: 16, colorType: 0 }, (x, y) => adu[y * size.width + x]!),
  tiffFile({ ...size, bits: 16 }, adu),
];

/**
 * Bytes turned, cut off, doubled or overwritten: at one to a few places, more often near the head, where the
 * file says what it is.
 */
export function mutatedFile(uniform: () => number): Uint8Array {
  const bytes = whole[Math.floor(uniform() * whole.length)]!.slice();
  const place = () => Math.floor(bytes.length * uniform() ** (uniform() < 0.7 ? 6 : 1));
  const times = 1 + Math.floor(4 * uniform());
  for (let k = 0; k < times; k++) {
    const at = place();
    const kind = uniform();
    if (kind < 0.5) bytes[at] = Math.floor(256 * uniform());
    else if (kind < 0.7) bytes[at] = bytes[at]! ^ (1 << Math.floor(8 * uniform()));
    else if (kind < 0.8) bytes.fill(Math.floor(256 * uniform()), at, at + Math.floor(200 * uniform()));
    else if (kind < 0.9) bytes.copyWithin(at, place(), place());
    else return bytes.slice(0, at);
  }
  return bytes;
}

/** @returns what is wrong, if anything */
export async function runFile(bytes: Uint8Array): Promise<string | undefined> {
  try {
    const read = await readFrameFile(bytes);
    if (!read.ok) return read.message === '' ? 'a failure without a word' : undefined;
    const stars = measureFrame(read.image, { gainEPerAdu: 1, readNoiseE: 2, offsetAdu: 100, maxStars: 3 });
    return firstNonFinite(stars);
  } catch (error) {
    return String(error);
  }
}
