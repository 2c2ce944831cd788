/**
 * What psf and centroid weigh in a page, minified and packed by gzip as a server sends them. A count, the
 * same on every machine: it tells when something heavy came in.
 */
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build, type Rolldown } from 'vite';
import { expect, test } from 'vitest';

const kB = 1000;

/** Bytes of a module with this text, packed. */
async function packedSize(text: string): Promise<number> {
  const entry = '\0entry';
  const output = (await build({
    // Dependencies are looked for from here.
    root: fileURLToPath(new URL('../packages/sim', import.meta.url)),
    configFile: false,
    logLevel: 'error',
    resolve: { conditions: ['@holdfast/source', 'module', 'browser'] },
    plugins: [
      {
        name: 'entry',
        resolveId: (id) => (id === 'entry' ? entry : undefined),
        load: (id) => (id === entry ? text : undefined),
      },
      {
        name: 'sources',
        enforce: 'pre',
        resolveId: (id) => {
          const name = /^@holdfast\/(psf|centroid)$/.exec(id)?.[1];
          return name && fileURLToPath(new URL(`../packages/${name}/src/index.ts`, import.meta.url));
        },
      },
    ],
    build: {
      write: false,
      target: 'es2022',
      modulePreload: false,
      rolldownOptions: { input: 'entry', preserveEntrySignatures: 'strict' },
    },
  })) as Rolldown.RolldownOutput;
  const code = output.output.map((chunk) => (chunk.type === 'chunk' ? chunk.code : '')).join('');
  return gzipSync(code, { level: 9 }).length;
}

test('all of psf and centroid weigh less than 75 kB', async () => {
  const size = await packedSize("export * from '@holdfast/psf'; export * from '@holdfast/centroid'");
  // 74.4 kB, dense formulas most of them; 60 are aimed at. The compiled loop of the search, with what it
  // needs, and the faster loops beside it are 1.9 of these: `locateStar` takes two thirds of the time.
  // What keeps hot pairs and bad columns from passing for stars, and waves by their upper half, are 1.2.
  expect(size).toBeLessThan(75 * kB);
  // Far below, something is missing from the bundle.
  expect(size).toBeGreaterThan(50 * kB);
});

test('a page that simulates a star and measures it loads less than 43 kB', async () => {
  const size = await packedSize(
    "export { exposeFrame, randomStream, renderStar } from '@holdfast/psf'; export { gaussianFit, locateStar } from '@holdfast/centroid'",
  );
  // 42.2 kB, the search for stars with them, 1.9 of it for its speed as above.
  expect(size).toBeLessThan(43 * kB);
  expect(size).toBeGreaterThan(10 * kB);
});
