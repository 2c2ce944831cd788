/** One header and data unit of a FITS file: what kind it is, its sides, and where its bytes are. */
import {
  blockLength,
  type FitsHeader,
  findCard,
  fitsNumber,
  fitsText,
  fitsValue,
  readHeaderBlock,
  textAt,
} from './fits-header.ts';

/** Why no image came out of the bytes. */
export type FitsFailureReason =
  /** the bytes do not begin as a FITS file */
  | 'not-fits'
  /** gzip-compressed bytes were given to the call that cannot wait for their decompression */
  | 'gzip'
  /** the gzip stream is cut short or corrupt */
  | 'gzip-damaged'
  /** more pixels than `maxPixels`, or more bytes than the limit come out of the gzip stream */
  | 'too-large'
  /** the header or the image goes on beyond the last byte */
  | 'truncated'
  /** a mandatory keyword stands in another place than the standard says */
  | 'keyword-order'
  /** a mandatory keyword is absent */
  | 'missing-keyword'
  /** a keyword that the pixels depend on has a value that means nothing */
  | 'bad-keyword'
  /** tile-compressed image: decompress it first */
  | 'compressed-tiles'
  /** random groups, the old form of radio interferometers */
  | 'random-groups'
  /** tables, no image */
  | 'tables-only'
  /** no unit holds an image of two axes or more */
  | 'no-image'
  /** the unit asked for is not there */
  | 'no-such-hdu'
  /** the plane asked for is not there */
  | 'no-such-plane';

/** Why a FITS file gave no image. */
export interface FitsFailure {
  readonly ok: false;
  /** Why, as a word for programs. */
  readonly reason: FitsFailureReason;
  /** The exact reason, with its numbers, for a person to read. */
  readonly message: string;
}

export const fail = (reason: FitsFailureReason, message: string): FitsFailure => ({
  ok: false,
  reason,
  message,
});

export type HduKind = 'image' | 'empty' | 'line' | 'random-groups' | 'compressed-tiles' | 'table' | 'other';

export interface Hdu {
  readonly ok: true;
  readonly index: number;
  readonly kind: HduKind;
  readonly header: FitsHeader;
  readonly bitpix: number;
  /** NAXIS1, NAXIS2, ... */
  readonly axes: readonly number[];
  /** Where its header begins. */
  readonly start: number;
  readonly dataStart: number;
  /** Bytes of data before padding; may be far beyond what the file has. */
  readonly dataBytes: number;
  /** Where the next unit begins. */
  readonly next: number;
  readonly warnings: readonly string[];
}

const bitpixAllowed = [8, 16, 32, 64, -32, -64];

/** Read the unit whose header begins at byte `start`. Looks at no data. */
export function readHdu(bytes: Uint8Array, start: number, index: number): Hdu | FitsFailure {
  const where = `HDU ${index}`;
  const block = readHeaderBlock(bytes, start);
  if (block === undefined)
    return fail(
      'truncated',
      `${where}: the header that begins at byte ${start} has no END card in the ${bytes.length - start} bytes that are there`,
    );
  const { header, warnings } = block;
  const shape = readShape(header, index);
  if (!shape.ok) return fail(shape.reason, `${where}: ${shape.message}`);
  const { bitpix, axes } = shape;
  const kind = kindOf(header, index, axes);
  const dataBytes = dataLength(header, kind, index, bitpix, axes);
  if (!(dataBytes >= 0))
    return fail('bad-keyword', `${where}: PCOUNT and GCOUNT make its data ${dataBytes} bytes long`);
  const next = block.end + Math.ceil(dataBytes / blockLength) * blockLength;
  return {
    ok: true,
    index,
    start,
    kind,
    header,
    bitpix,
    axes,
    dataStart: block.end,
    dataBytes,
    next,
    warnings: warnings.map((text) => `${where} ${text}`),
  };
}

/**
 * BITPIX and the axes, which the standard wants at the head of the header in this order (FITS 4.0, 4.4.1).
 */
function readShape(
  header: FitsHeader,
  index: number,
): { ok: true; bitpix: number; axes: number[] } | FitsFailure {
  const first = index === 0 ? 'SIMPLE' : 'XTENSION';
  const misplaced =
    mandatory(header, 0, first) ?? mandatory(header, 1, 'BITPIX') ?? mandatory(header, 2, 'NAXIS');
  if (misplaced !== undefined) return misplaced;
  const depth = fitsNumber(header, 'BITPIX');
  if (depth === undefined || !bitpixAllowed.includes(depth))
    return fail(
      'bad-keyword',
      `BITPIX must be one of ${bitpixAllowed.join(', ')}, is ${shown(header, 'BITPIX')}`,
    );
  const count = fitsNumber(header, 'NAXIS');
  if (count === undefined || !Number.isInteger(count) || count < 0 || count > 999)
    return fail('bad-keyword', `NAXIS must be a whole number from 0 to 999, is ${shown(header, 'NAXIS')}`);
  const axes: number[] = [];
  for (let n = 1; n <= count; n++) {
    const misplacedAxis = mandatory(header, 2 + n, `NAXIS${n}`);
    if (misplacedAxis !== undefined) return misplacedAxis;
    const side = fitsNumber(header, `NAXIS${n}`);
    if (side === undefined || !Number.isInteger(side) || side < 0)
      return fail('bad-keyword', `NAXIS${n} must be a whole number >= 0, is ${shown(header, `NAXIS${n}`)}`);
    axes.push(side);
  }
  return { ok: true, bitpix: depth, axes };
}

function mandatory(header: FitsHeader, at: number, keyword: string): FitsFailure | undefined {
  const found = header.cards[at]?.keyword;
  if (found === keyword) return undefined;
  const elsewhere = findCard(header, keyword);
  const here = found === undefined ? 'END' : found === '' ? 'a blank card' : found;
  if (elsewhere === undefined)
    return fail('missing-keyword', `the mandatory keyword ${keyword} is missing; card ${at + 1} is ${here}`);
  return fail(
    'keyword-order',
    `card ${at + 1} must be ${keyword}, is ${here}; ${keyword} is card ${elsewhere.number}`,
  );
}

const shown = (header: FitsHeader, keyword: string): string =>
  JSON.stringify(fitsValue(header, keyword) ?? 'undefined');

function kindOf(header: FitsHeader, index: number, axes: readonly number[]): HduKind {
  if (index > 0) {
    const extension = fitsText(header, 'XTENSION');
    if (extension === 'BINTABLE' && fitsValue(header, 'ZIMAGE') === true) return 'compressed-tiles';
    if (extension === 'BINTABLE' || extension === 'TABLE') return 'table';
    // IUEIMAGE: an early name of the same thing (FITS 4.0, 3.4.1 reserves it)
    if (extension !== 'IMAGE' && extension !== 'IUEIMAGE') return 'other';
  } else if (axes[0] === 0 && fitsValue(header, 'GROUPS') === true) return 'random-groups';
  if (axes.length === 0 || axes.includes(0)) return 'empty';
  return axes.length === 1 ? 'line' : 'image';
}

/** FITS 4.0, equations 1, 2 and 4: |BITPIX| / 8 * GCOUNT * (PCOUNT + product of the axes). */
function dataLength(
  header: FitsHeader,
  kind: HduKind,
  index: number,
  bitpix: number,
  axes: readonly number[],
): number {
  const used = kind === 'random-groups' ? axes.slice(1) : axes;
  let pixels = used.length === 0 || used.includes(0) ? 0 : 1;
  if (pixels > 0) for (const side of used) pixels *= side;
  if (index === 0 && kind !== 'random-groups') return (Math.abs(bitpix) / 8) * pixels;
  const groups = fitsNumber(header, 'GCOUNT') ?? 1;
  const parameters = fitsNumber(header, 'PCOUNT') ?? 0;
  if (!Number.isInteger(groups) || !Number.isInteger(parameters)) return -1;
  return (Math.abs(bitpix) / 8) * groups * (parameters + pixels);
}

/** An account of the first units of a file, for messages. */
export function describeHdus(hdus: readonly Hdu[]): string {
  const shownUnits = 8;
  const more = hdus.length > shownUnits ? `; and ${hdus.length - shownUnits} more` : '';
  return hdus.slice(0, shownUnits).map(describeHdu).join('; ') + more;
}

/** A short account of a unit for messages: `HDU 1 'SCI' image 40 x 40`. */
function describeHdu(hdu: Hdu): string {
  const name = fitsText(hdu.header, 'EXTNAME');
  const named = name === undefined || name === '' ? '' : ` '${name}'`;
  const title = `HDU ${hdu.index}${hdu.index === 0 ? ' (primary)' : ''}${named}`;
  const groups = fitsValue(hdu.header, 'GROUPS') === true ? ', GROUPS = T but no group' : '';
  const sides = hdu.axes.join(' x ');
  switch (hdu.kind) {
    case 'image':
      return `${title} image ${sides}`;
    case 'empty':
      return `${title} without data (NAXIS = ${hdu.axes.length}${hdu.axes.length > 0 ? `, sides ${sides}` : ''}${groups})`;
    case 'line':
      return `${title} one-dimensional, ${sides} values`;
    case 'random-groups':
      return `${title} random groups`;
    case 'compressed-tiles':
      return `${title} tile-compressed image (ZCMPTYPE = ${fitsText(hdu.header, 'ZCMPTYPE') ?? 'unnamed'})`;
    case 'table':
      return `${title} table`;
    case 'other':
      return `${title} extension of type ${JSON.stringify(fitsValue(hdu.header, 'XTENSION') ?? 'undefined')}`;
  }
}

/** True where another unit begins at byte `at`. */
export function startsExtension(bytes: Uint8Array, at: number): boolean {
  return at + blockLength <= bytes.length && textAt(bytes, at, 8) === 'XTENSION';
}
