/**
 * Computes the checksums in this browser and sends them, or what failed, back to where the page came from.
 */
import * as centroid from '@holdfast/centroid';
import * as psf from '@holdfast/psf';
import * as sim from '@holdfast/sim';
import { checksums, isQuick } from '../results.ts';

const wanted = location.search === '?quick' ? isQuick : undefined;
const found: Record<string, string> = {};
let failure: string | undefined;
try {
  const rigs = await (await fetch('rigs')).json();
  for await (const [name, sum] of checksums({ psf, centroid, sim }, rigs, wanted)) found[name] = sum;
} catch (error) {
  failure = `${error}`;
}
await fetch('found', { method: 'POST', body: JSON.stringify({ found, failure }) });
