/**
 * Pixels as a picture to put into a figure: ink on whatever paper lies beneath it, one picture element a
 * pixel.
 */
import { crc32, deflateSync } from 'node:zlib';

const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);
const inkSteps = 255;

/**
 * A PNG as a data URL: one color, and how much of it lies on each pixel, 0 (paper) to 1 (full ink).
 *
 * @param density  row-major, `width` a row
 * @param ink      the color, #rrggbb
 */
export function platePicture(density: Float64Array, width: number, ink: string): string {
  const height = density.length / width;
  // Each row begins with the number of its filter: 0, none.
  const rows = new Uint8Array(height * (width + 1));
  for (let j = 0, k = 0; j < height; j++)
    for (let i = 0; i < width; i++, k++)
      rows[j * (width + 1) + 1 + i] = Math.round(inkSteps * Math.min(1, Math.max(0, density[k])));
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 3], 8); // 8 bits a pixel, each the number of a color
  const color = Buffer.from(ink.slice(1), 'hex');
  const file = Buffer.concat([
    signature,
    chunk('IHDR', header),
    chunk('PLTE', Buffer.concat(Array<Buffer>(inkSteps + 1).fill(color))),
    chunk(
      'tRNS',
      Uint8Array.from({ length: inkSteps + 1 }, (_, step) => step),
    ),
    chunk('IDAT', deflateSync(rows, { level: 9 })),
    chunk('IEND', new Uint8Array(0)),
  ]);
  return `data:image/png;base64,${file.toString('base64')}`;
}

/**
 * A part of a PNG file (PNG specification, 3rd ed., 5.3): length, name, content, checksum of name and
 * content.
 */
function chunk(name: string, content: Uint8Array): Buffer {
  const named = Buffer.concat([Buffer.from(name, 'latin1'), content]);
  const length = Buffer.alloc(4);
  length.writeUInt32BE(content.length);
  const checksum = Buffer.alloc(4);
  checksum.writeUInt32BE(crc32(named));
  return Buffer.concat([length, named, checksum]);
}
