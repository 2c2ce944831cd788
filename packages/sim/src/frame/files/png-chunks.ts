/**
 * What the chunks of a PNG file say before anything is decoded: size, bits, whether values are proportional
 * to light.
 */
import { textAt } from './fits/fits-header.ts';
import { type PictureFailure, refusePicture } from './picture.ts';

export interface PngHead {
  readonly ok: true;
  readonly width: number;
  readonly height: number;
  /** Bits of a value: 1, 2, 4, 8 or 16. */
  readonly depth: number;
  readonly channels: number;
  /** Value = light ^ gamma, from gAMA or sRGB; undefined when the file does not say. */
  readonly gamma?: number;
  readonly gammaChunk?: string;
  /** Bits of the camera behind each value, from sBIT: the least of its channels. */
  readonly significantBits?: number;
  readonly animated: boolean;
}

const channelsByColorType: Record<number, number> = { 0: 1, 2: 3, 3: 1, 4: 2, 6: 4 };
const signatureLength = 8;

export function readPngHead(bytes: Uint8Array): PngHead | PictureFailure {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < signatureLength + 25)
    return refusePicture('truncated', `PNG: the file ends after ${bytes.length} bytes, within its header`);
  if (textAt(bytes, 12, 4) !== 'IHDR')
    return refusePicture(
      'damaged',
      `PNG: its first chunk must be IHDR, is ${JSON.stringify(textAt(bytes, 12, 4))}`,
    );
  const colorType = bytes[25];
  const channels = channelsByColorType[colorType];
  if (channels === undefined) return refusePicture('damaged', `PNG: there is no color type ${colorType}`);
  let head: PngHead = {
    ok: true,
    width: view.getUint32(16),
    height: view.getUint32(20),
    depth: bytes[24],
    channels,
    animated: false,
  };
  let ended = false;
  for (let at = signatureLength; at + 12 <= bytes.length && !ended; ) {
    const length = view.getUint32(at);
    const name = textAt(bytes, at + 4, 4);
    const content = at + 8;
    if (content + length + 4 > bytes.length) break;
    if (name === 'sRGB') head = { ...head, gamma: 1 / 2.2, gammaChunk: 'sRGB' };
    else if (name === 'gAMA' && length >= 4 && head.gammaChunk !== 'sRGB') {
      const gamma = view.getUint32(content) / 100000;
      head = { ...head, gamma, gammaChunk: `gAMA ${gamma}` };
    } else if (name === 'sBIT' && length >= 1)
      head = {
        ...head,
        significantBits: Math.min(...bytes.subarray(content, content + Math.min(length, 3))),
      };
    else if (name === 'acTL') head = { ...head, animated: true };
    ended = name === 'IEND';
    at = content + length + 4;
  }
  if (!ended)
    return refusePicture(
      'truncated',
      `PNG: the file ends after ${bytes.length} bytes, before its IEND chunk`,
    );
  return head;
}
