/**
 * Definition of the Flexible Image Transport System (FITS), version 4.0 (IAU FITS Working Group, 2016-07-22).
 */
import { createImage } from '@holdfast/psf';
import { fitsValue, readFits, writeFits } from '@holdfast/sim';
import { fitsNumber } from '@holdfast/sim/internal';
import { describe } from 'vitest';
import { checkPublished } from './published.ts';

const frame = createImage(3, 1, Float64Array.of(0, 32768, 65535));
const written = writeFits(frame, { bitpix: 16 });
const pixelsOf = new DataView(written.buffer, 2880);

/** Value of one keyword whose field is written as given. */
function value(field: string): number {
  const bytes = writeFits(frame, { header: [{ keyword: 'KEY', value: 1 }] });
  const at = String.fromCharCode(...bytes).indexOf('KEY     =') + 10;
  for (let k = 0; k < 70; k++) bytes[at + k] = k < field.length ? field.charCodeAt(k) : 32;
  const result = readFits(bytes);
  if (!result.ok) throw new Error(result.message);
  return fitsNumber(result.header, 'KEY')!;
}

const exact = { tolerance: 0, note: 'exact by definition' };

describe('FITS 4.0', () => {
  checkPublished(
    { what: 'length of a block, bytes', value: 2880, source: 'FITS 4.0, 3.1', ...exact },
    () => written.length / 2,
  );
  checkPublished(
    { what: 'BZERO of unsigned 16-bit integers', value: 32768, source: 'FITS 4.0, table 11', ...exact },
    () => {
      const result = readFits(written);
      return result.ok ? fitsNumber(result.header, 'BZERO')! : 0;
    },
  );
  for (const [k, stored] of [-32768, 0, 32767].entries())
    checkPublished(
      {
        what: `stored form of unsigned ${frame.data[k]}`,
        value: stored,
        source: 'FITS 4.0, table 11',
        ...exact,
      },
      () => pixelsOf.getInt16(2 * k),
    );
  checkPublished(
    { what: '1.5D3, the exponent letter D', value: 1500, source: 'FITS 4.0, 4.2.4', ...exact },
    () => value('1.5D3'),
  );
  checkPublished(
    {
      what: "length of the string '  PI'S  ' read back: blanks at its end do not count",
      value: 6,
      source: 'FITS 4.0, 4.2.1.1',
      ...exact,
    },
    () => {
      const bytes = writeFits(frame, { header: [{ keyword: 'KEY', value: "  PI'S  " }] });
      const result = readFits(bytes);
      const text = result.ok ? fitsValue(result.header, 'KEY') : undefined;
      return text === "  PI'S" ? text.length : -1;
    },
  );
});
