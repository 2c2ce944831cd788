/** FITS from a file as it lies on the disk or comes from a file picker: compressed with gzip or not. */
import { requireNames } from '@holdfast/psf/numerics';
import { type ByteSource, bytesOf, defaultInflatedBytes, gunzip } from '../file-bytes.ts';
import { fail } from './fits-hdu.ts';
import {
  type FitsReadOptions,
  type FitsReadResult,
  fitsReadNames,
  neededBytes,
  readFits,
} from './fits-read.ts';
import { isGzip } from './fits-signature.ts';

/** How a FITS file is read, compressed or not. */
export interface FitsFileOptions extends FitsReadOptions {
  /** Largest number of bytes that a gzip stream may swell to. Default 512 MiB. */
  readonly maxInflatedBytes?: number;
}

/**
 * `readFits` for anything that holds a file's bytes, plain or gzip (`.fits`, `.fit`, `.fits.gz`), in Node and
 * browsers.
 *
 * ```ts
 * const fromDisk = await readFitsFile(await readFile('guide.fits.gz'))
 * const dropped = await readFitsFile(input.files[0])
 * ```
 */
export async function readFitsFile(
  source: ByteSource,
  options: FitsFileOptions = {},
): Promise<FitsReadResult> {
  const { maxInflatedBytes = defaultInflatedBytes, ...readOptions } = requireNames(
    'options',
    options,
    fitsReadNames,
    'maxInflatedBytes',
  );
  const bytes = await bytesOf(source);
  if (!isGzip(bytes)) return readFits(bytes, readOptions);
  const inflated = await gunzip(bytes, maxInflatedBytes, (first) =>
    isGzip(first) ? first.length : neededBytes(first, readOptions),
  );
  if (!(inflated instanceof Uint8Array)) return inflated;
  if (isGzip(inflated)) return fail('not-fits', 'inside the gzip stream there is another gzip stream');
  return readFits(inflated, readOptions);
}
