/**
 * Checksums of results with fixed seeds, against a committed table: whoever changes code that is not to
 * change results runs this before and after. A change of results on purpose renews the table.
 *
 * `npm run checksums`                   compare with the table; exit status 1 where a result differs
 * `npm run checksums -- --write`        renew the table
 * `npm run checksums -- --of FOLDER`    compare the built packages of another checkout with the table
 * `npm run checksums -- --in BROWSER`   compute in a browser, as `chromium` or `firefox-esr`
 *
 * Another Node: `NODE --import tsx --conditions=@holdfast/source test/checksums/checksums.ts`.
 */
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { checksumsInBrowser } from './in-browser.ts';
import { checksums, type Packages } from './results.ts';
import { committed, differences, rigTexts, writeTable } from './table.ts';

async function packagesOf(folder: string | undefined): Promise<Packages> {
  const load = (name: string) =>
    import(
      folder === undefined
        ? `@holdfast/${name}`
        : pathToFileURL(resolve(folder, 'packages', name, 'dist/bundle/index.js')).href
    );
  return { psf: await load('psf'), centroid: await load('centroid'), sim: await load('sim') };
}

const { values } = parseArgs({
  options: { write: { type: 'boolean' }, of: { type: 'string' }, in: { type: 'string' } },
});
const found: Record<string, string> = {};
if (values.in !== undefined) Object.assign(found, await checksumsInBrowser(values.in));
else for await (const [name, sum] of checksums(await packagesOf(values.of), rigTexts())) found[name] = sum;

if (values.write) {
  writeTable(found);
  console.log(`${Object.keys(found).length} checksums written`);
} else {
  const different = differences(committed(), found);
  for (const line of different) console.log(`differs: ${line}`);
  console.log(`${Object.keys(found).length} results, ${different.length} differ from the table`);
  process.exitCode = different.length > 0 ? 1 : 0;
}
