/** PNG files built chunk by chunk, independently of the decoder under test. */
import { crc32, deflateSync } from 'node:zlib';
import { joinBytes, latin1 } from './fits-bytes.ts';

export interface PngSetting {
  readonly width: number;
  readonly height: number;
  readonly depth: 1 | 2 | 4 | 8 | 16;
  /** 0 gray, 2 color, 3 palette, 4 gray and alpha, 6 color and alpha. */
  readonly colorType: 0 | 2 | 3 | 4 | 6;
  /** Filter of every row: 0 none, 1 sub, 2 up, 3 average, 4 Paeth (PNG specification, section 9). */
  readonly filter?: 0 | 1 | 2 | 3 | 4;
  readonly interlaced?: boolean;
  /** Chunks between header and data: their name and content. */
  readonly chunks?: readonly (readonly [string, Uint8Array])[];
}

const channels = { 0: 1, 2: 3, 3: 1, 4: 2, 6: 4 } as const;

/** @param valueAt  value of a channel of a pixel */
export function pngFile(
  setting: PngSetting,
  valueAt: (x: number, y: number, channel: number) => number,
): Uint8Array {
  const { width, height, depth, colorType, interlaced = false, chunks = [] } = setting;
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  header.set([depth, colorType, 0, 0, interlaced ? 1 : 0], 8);
  const passes = interlaced ? adam7 : [{ x: 0, y: 0, dx: 1, dy: 1 }];
  const rows = passes.map((pass) => passRows(setting, pass, valueAt));
  return joinBytes(
    Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a),
    pngChunk('IHDR', header),
    ...chunks.map(([name, content]) => pngChunk(name, content)),
    pngChunk('IDAT', deflateSync(joinBytes(...rows))),
    pngChunk('IEND', new Uint8Array(0)),
  );
}

export function pngChunk(name: string, content: Uint8Array): Uint8Array {
  const named = joinBytes(latin1(name), content);
  const frame = new DataView(new ArrayBuffer(8));
  frame.setUint32(0, content.length);
  frame.setUint32(4, crc32(named));
  return joinBytes(new Uint8Array(frame.buffer, 0, 4), named, new Uint8Array(frame.buffer, 4, 4));
}

interface Pass {
  readonly x: number;
  readonly y: number;
  readonly dx: number;
  readonly dy: number;
}

/** PNG specification, section 8. */
const adam7: readonly Pass[] = [
  { x: 0, y: 0, dx: 8, dy: 8 },
  { x: 4, y: 0, dx: 8, dy: 8 },
  { x: 0, y: 4, dx: 4, dy: 8 },
  { x: 2, y: 0, dx: 4, dy: 4 },
  { x: 0, y: 2, dx: 2, dy: 4 },
  { x: 1, y: 0, dx: 2, dy: 2 },
  { x: 0, y: 1, dx: 1, dy: 2 },
];

function passRows(
  { width, height, depth, colorType, filter = 0 }: PngSetting,
  { x: x0, y: y0, dx, dy }: Pass,
  valueAt: (x: number, y: number, channel: number) => number,
): Uint8Array {
  const n = channels[colorType];
  const bytesPerPixel = Math.max(1, (n * depth) / 8);
  const rows: Uint8Array[] = [];
  let above: Uint8Array | undefined;
  if (x0 >= width) return new Uint8Array(0);
  for (let y = y0; y < height; y += dy) {
    const bytes: number[] = [];
    let bits = '';
    for (let x = x0; x < width; x += dx)
      for (let c = 0; c < n; c++) {
        const value = valueAt(x, y, c);
        if (depth === 16) bytes.push(value >> 8, value & 255);
        else if (depth === 8) bytes.push(value);
        else bits += value.toString(2).padStart(depth, '0');
      }
    for (let k = 0; k < bits.length; k += 8)
      bytes.push(Number.parseInt(bits.slice(k, k + 8).padEnd(8, '0'), 2));
    const row = Uint8Array.from(bytes);
    rows.push(
      Uint8Array.of(filter),
      filtered(row, above ?? new Uint8Array(row.length), bytesPerPixel, filter),
    );
    above = row;
  }
  return joinBytes(...rows);
}

function filtered(row: Uint8Array, above: Uint8Array, bytesPerPixel: number, filter: number): Uint8Array {
  return row.map((value, k) => {
    const a = k >= bytesPerPixel ? row[k - bytesPerPixel]! : 0;
    const b = above[k]!;
    const c = k >= bytesPerPixel ? above[k - bytesPerPixel]! : 0;
    const p = a + b - c;
    const [pa, pb, pc] = [Math.abs(p - a), Math.abs(p - b), Math.abs(p - c)];
    const paeth = pa <= pb && pa <= pc ? a : pb <= pc ? b : c;
    return value - [0, a, b, (a + b) >> 1, paeth][filter]!;
  });
}
