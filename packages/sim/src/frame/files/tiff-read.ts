/** TIFF 6.0: one page of 8 or 16 bits or floating point, gray or color; plain, LZW or Deflate. */
import {
  cardsOf,
  errorText,
  mostInflation,
  type Picture,
  type PictureFailure,
  refusePicture,
} from './picture.ts';

type Page = ReturnType<typeof import('tiff')['decode']>[number];

/**
 * The decoder is loaded when the first TIFF comes. What it would read wrongly is refused before.
 *
 * @param page       from 0
 * @param maxPixels  of a page with more, nothing is decoded
 */
export async function readTiff(
  bytes: Uint8Array,
  page: number,
  maxPixels: number,
): Promise<Picture | PictureFailure> {
  const { decode } = await import('tiff');
  // a view may be part of a larger buffer, and the decoder is not trusted to know
  const isWhole = bytes.length === bytes.buffer.byteLength;
  const own = isWhole ? bytes : bytes.slice();
  const decodePage = (ignoreImageData: boolean): Page | PictureFailure => {
    try {
      const [found] = decode(own, { pages: [page], ignoreImageData });
      return found ?? refusePicture('no-such-page', `TIFF: page ${page} is not there (pages count from 0)`);
    } catch (error) {
      return refusal(error);
    }
  };
  const head = decodePage(true);
  if ('reason' in head) return head;
  const refused = refuseUnread(head, own.length, maxPixels);
  if (refused !== undefined) return refused;
  const read = decodePage(false);
  if ('reason' in read) return read;
  return pictureOf(read, Math.max(pageCount(own), page + 1));
}

/** Pages in the chain of directories (TIFF 6.0, section 2), up to where it breaks or turns back. */
function pageCount(bytes: Uint8Array): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const lowFirst = bytes[0] === 0x49;
  const seen = new Set<number>();
  for (let at = view.getUint32(4, lowFirst); at > 0 && at + 2 <= bytes.length && !seen.has(at); ) {
    const end = at + 2 + 12 * view.getUint16(at, lowFirst);
    if (end + 4 > bytes.length) break;
    seen.add(at);
    at = view.getUint32(end, lowFirst);
  }
  return seen.size;
}

function pictureOf(page: Page, frames: number): Picture {
  const { width, height, sampleFormat, bitsPerSample: bits } = page;
  const cards = cardsOf(wordsOf(page));
  const common = { ok: true, width, height, cards, warnings: [], frames } as const;
  if (page.type === 3)
    return { ...common, channels: 3, samples: throughPalette(page), bitpix: 16, top: 65535 };
  const channels = page.components as Picture['channels'];
  if (sampleFormat === 3) return { ...common, channels, samples: page.data, bitpix: -bits };
  const top = 2 ** (sampleFormat === 2 ? bits - 1 : bits) - 1;
  return { ...common, channels, samples: signed(page), bitpix: bits, top };
}

function refusal(error: unknown): PictureFailure {
  const message = errorText(error);
  if (/out of bounds\. The stack/.test(message)) return refusePicture('no-such-page', `TIFF: ${message}`);
  if (/LZW/.test(message))
    return refusePicture(
      'unsupported',
      'TIFF: an LZW stream that lets its table run full; save it plain or with Deflate',
    );
  if (/Unsupported/.test(message)) return refusePicture('unsupported', `TIFF: ${message}`);
  if (error instanceof RangeError)
    return refusePicture('truncated', `TIFF: data lie beyond the end of the file: ${message}`);
  return refusePicture('damaged', `TIFF: ${message}`);
}

const photometricNames: Record<number, string> = {
  4: 'a transparency mask',
  5: 'CMYK',
  6: 'YCbCr',
  8: 'CIE L*a*b*',
  32803: 'a color filter array in the raw form of digital cameras',
};
const compressionNames: Record<number, string> = { 2: 'CCITT', 6: 'old JPEG', 7: 'JPEG', 32773: 'PackBits' };

/** Refuses what the decoder does not read, or reads wrongly without a word (found by trying). */
function refuseUnread(head: Page, length: number, maxPixels: number): PictureFailure | undefined {
  const { width, height, samplesPerPixel, bitsPerSample, sampleFormat, type, tiled } = head;
  const unsupported = (what: string) => refusePicture('unsupported', `TIFF: ${what} is not read`);
  const pixels = width * height;
  const size = `${width} x ${height} pixels`;
  if (!(Number.isInteger(pixels) && pixels > 0)) return refusePicture('damaged', `TIFF: a page of ${size}`);
  if (pixels > maxPixels)
    return refusePicture('too-large', `TIFF: ${size} are more than the ${maxPixels} allowed`);
  if (type > 3) return unsupported(photometricNames[type] ?? `photometric interpretation ${type}`);
  const { compression } = head;
  if (![1, 5, 8, 32946].includes(compression))
    return unsupported(`${compressionNames[compression] ?? `number ${compression}`} compression`);
  const float = sampleFormat === 3 && (bitsPerSample === 32 || bitsPerSample === 64);
  const whole = (sampleFormat === 1 || sampleFormat === 2) && (bitsPerSample === 8 || bitsPerSample === 16);
  if (!float && !whole) return unsupported(`${bitsPerSample} bits a value in sample format ${sampleFormat}`);
  const bits = head.get('BitsPerSample') as number | ArrayLike<number>;
  if (typeof bits !== 'number' && Array.from(bits).some((one) => one !== bitsPerSample))
    return unsupported('a page whose channels have unlike bits');
  const channelsAllowed = type === 2 ? [3, 4] : type === 3 ? [1] : [1, 2];
  if (!channelsAllowed.includes(samplesPerPixel)) return unsupported(`a page of ${samplesPerPixel} channels`);
  if (samplesPerPixel > 1 && head.planarConfiguration !== 1) return unsupported('one plane after the other');
  if (type === 0 && (float || sampleFormat === 2))
    return unsupported('white as 0 of signed or floating values');
  if (head.fillOrder !== 1) return unsupported('bits in reverse order');
  if (tiled && samplesPerPixel > 1) return unsupported('color in tiles');
  if (tiled && head.predictor !== 1) return unsupported('differences in tiles');
  if (!tiled && head.stripOffsets?.length !== Math.ceil(height / Math.min(height, head.rowsPerStrip)))
    return refusePicture('damaged', `TIFF: ${head.stripOffsets?.length ?? 0} strips for ${height} rows`);
  const needed = (pixels * samplesPerPixel * bitsPerSample) / 8;
  if (needed > (compression === 1 ? 1 : 4 * mostInflation) * length)
    return refusePicture('truncated', `TIFF: ${size} take ${needed} bytes; the file has ${length}`);
  return undefined;
}

/** The decoder hands signed values over as if they were not. */
function signed({ data, sampleFormat, bitsPerSample }: Page): ArrayLike<number> {
  if (sampleFormat !== 2) return data;
  return bitsPerSample === 8 ? new Int8Array(data) : new Int16Array(data);
}

/** Palettes of TIFF have 16 bits whatever the pixels have. */
function throughPalette({ data, palette }: Page): Uint16Array {
  const samples = new Uint16Array(3 * data.length);
  for (let k = 0; k < data.length; k++)
    for (let c = 0; c < 3; c++) samples[3 * k + c] = palette?.[data[k]]?.[c] ?? 0;
  return samples;
}

/** DateTime has no zone: it is taken as it stands. */
function wordsOf(page: Page): [string, string][] {
  const words: [string, string][] = [];
  const date = /^(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)/.exec(String(page.dateTime ?? ''));
  if (date !== null) words.push(['DATE-OBS', `${date[1]}-${date[2]}-${date[3]}T${date[4]}`]);
  return words;
}
