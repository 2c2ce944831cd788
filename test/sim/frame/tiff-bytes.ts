/** Plain TIFF files built tag by tag, independently of the decoder under test. */

export interface TiffSetting {
  readonly width: number;
  readonly height: number;
  readonly bits: number;
  /** Values per pixel. */
  readonly channels?: number;
  /** 1 whole numbers, 2 with sign, 3 floating point. */
  readonly sampleFormat?: 1 | 2 | 3;
  /** 0 white is 0, 1 black is 0, 2 color, 3 palette, ... */
  readonly photometric?: number;
  readonly bigEndian?: boolean;
  readonly rowsPerStrip?: number;
  /** Tags to add or to change: number and value, written as SHORT. */
  readonly tags?: Readonly<Record<number, number>>;
  /** Palette: 3 * 2^bits values of 16 bits. */
  readonly colorMap?: readonly number[];
}

/** @param pages  values of the pixels, row by row; one list a page */
export function tiffFile(setting: TiffSetting, ...pages: readonly (readonly number[])[]): Uint8Array {
  const { width, height, bits, channels = 1, sampleFormat = 1, rowsPerStrip = height } = setting;
  const little = setting.bigEndian !== true;
  const out = new DataView(new ArrayBuffer(1 << 16));
  let end = 8;
  out.setUint16(0, little ? 0x4949 : 0x4d4d, little);
  out.setUint16(2, 42, little);
  let link = 4;
  const words = (list: readonly number[], size: 2 | 4): number => {
    const at = end;
    for (const value of list) {
      if (size === 2) out.setUint16(end, value, little);
      else out.setUint32(end, value, little);
      end += size;
    }
    return at;
  };
  for (const values of pages) {
    const strips: { at: number; bytes: number }[] = [];
    for (let row = 0; row < height; row += rowsPerStrip) {
      const part = values.slice(row * width * channels, (row + rowsPerStrip) * width * channels);
      const at = end;
      for (const value of part) {
        put(out, end, value, bits, sampleFormat, little);
        end += bits / 8;
      }
      strips.push({ at, bytes: end - at });
    }
    const long = (list: readonly number[]) => (list.length === 1 ? list[0]! : words(list, 4));
    const count = strips.length;
    const entries: [number, number, number, number][] = [
      [256, 4, 1, width],
      [257, 4, 1, height],
      [
        258,
        3,
        channels,
        channels <= 2 ? (channels === 1 ? bits : bits + bits * 65536) : words(Array(channels).fill(bits), 2),
      ],
      [259, 3, 1, 1],
      [262, 3, 1, setting.photometric ?? (channels >= 3 ? 2 : 1)],
      [273, 4, count, long(strips.map(({ at }) => at))],
      [277, 3, 1, channels],
      [278, 4, 1, rowsPerStrip],
      [279, 4, count, long(strips.map(({ bytes }) => bytes))],
      [339, 3, 1, sampleFormat],
    ];
    if (setting.colorMap !== undefined)
      entries.push([320, 3, setting.colorMap.length, words(setting.colorMap, 2)]);
    for (const [tag, value] of Object.entries(setting.tags ?? {})) {
      const entry = entries.find(([number]) => number === Number(tag));
      if (entry === undefined) entries.push([Number(tag), 3, 1, value]);
      else entry[3] = value;
    }
    entries.sort((a, b) => a[0] - b[0]);
    out.setUint32(link, end, little);
    out.setUint16(end, entries.length, little);
    end += 2;
    for (const [tag, type, n, value] of entries) {
      out.setUint16(end, tag, little);
      out.setUint16(end + 2, type, little);
      out.setUint32(end + 4, n, little);
      if (type === 3 && n === 1) out.setUint16(end + 8, value, little);
      else out.setUint32(end + 8, value, little);
      end += 12;
    }
    link = end;
    end += 4;
  }
  return new Uint8Array(out.buffer, 0, end);
}

function put(
  out: DataView,
  at: number,
  value: number,
  bits: number,
  sampleFormat: number,
  little: boolean,
): void {
  if (sampleFormat === 3) {
    if (bits === 32) out.setFloat32(at, value, little);
    else out.setFloat64(at, value, little);
  } else if (bits === 8) out.setUint8(at, value & 255);
  else if (bits === 16) out.setUint16(at, value & 65535, little);
  else out.setUint32(at, value, little);
}
