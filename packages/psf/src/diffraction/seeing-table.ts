/** What the air leaves of each wave of an image, kept from image to image: it depends on no wavefront. */
import { type Seeing, seeingTransfer } from '../air/seeing.ts';

/** Tables kept, one per wavelength of a band and sky; none of more entries than this, 1 MB. */
const mostTables = 16;
const mostEntries = 2 ** 17;

const tables = new Map<string, Float64Array>();

/**
 * The seeing transfer of the waves 0 <= kx <= ky <= last, wave (kx, ky) at ky (ky + 1) / 2 + kx. That of the
 * others follows: it depends on the length of a wave alone.
 *
 * @param separationMm  how far apart in the pupil the rays lie that make the wave (0, 1)
 */
export function seeingTable(
  seeing: Seeing,
  wavelengthNm: number,
  separationMm: number,
  last: number,
): Float64Array {
  const key = JSON.stringify([seeing, wavelengthNm, separationMm, last]);
  const known = tables.get(key);
  if (known !== undefined) return known;
  const transfer = seeingTransfer(seeing, wavelengthNm);
  const table = new Float64Array(((last + 1) * (last + 2)) / 2);
  for (let ky = 0, at = 0; ky <= last; ky++)
    for (let kx = 0; kx <= ky; kx++) table[at++] = transfer(separationMm * Math.sqrt(kx * kx + ky * ky));
  if (table.length > mostEntries) return table;
  for (const oldest of tables.keys()) {
    if (tables.size < mostTables) break;
    tables.delete(oldest);
  }
  tables.set(key, table);
  return table;
}
