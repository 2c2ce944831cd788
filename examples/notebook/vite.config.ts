/** Builds the notebook into one file. */
import { fileURLToPath } from 'node:url';
import katex from 'katex';
import { defaultClientConditions, defineConfig, type Plugin } from 'vite';
import { viteSingleFile } from 'vite-plugin-singlefile';

/**
 * The faces that the formulas of the notebook use; a formula with another sort of letter needs its face here.
 */
const faces = /KaTeX_(?:Main-Regular|Main-Italic|Math-Italic|Size[1-4]-Regular)\./;

/**
 * Typesets `formula` and `math` templates, and keeps of KaTeX's fonts what they use: WOFF2, which every
 * browser reads.
 */
const typesetFormulas: Plugin = {
  name: 'typeset-formulas',
  enforce: 'pre',
  transform(code, id) {
    if (id.endsWith('katex.min.css'))
      return code
        .replace(/@font-face\{[^}]*\}/g, (face) => (faces.test(face) ? face : ''))
        .replace(/,url\([^)]*\.(?:woff|ttf)\) format\("[a-z]+"\)/g, '');
    if (!/\/notebook\/cells\/.*\.ts$/.test(id)) return undefined;
    return code.replace(/\b(formula|math)`([^`]*)`/g, (_, tag: string, tex: string) => {
      const markup = katex.renderToString(tex, {
        displayMode: tag === 'formula',
        output: 'htmlAndMathml',
        throwOnError: true,
        strict: 'error',
      });
      return `${tag}(${JSON.stringify(markup)})`;
    });
  },
};

/**
 * In the page, the tests of published numbers find stand-ins for the test runner and for the folder of open
 * images. A file without such a number is left out: nothing of it would be shown, and what it imports may
 * make code of text, which the page's policy forbids.
 */
const testsAsData: Plugin = {
  name: 'tests-as-data',
  enforce: 'pre',
  resolveId(id, importer = '') {
    if (!/\/test\//.test(importer)) return undefined;
    const name = id === 'vitest' ? 'vitest' : /^\.\.?\/(published|open-data)\.ts$/.exec(id)?.[1];
    return name && fileURLToPath(new URL(`checks/${name}.ts`, import.meta.url));
  },
  transform: (code, id) =>
    /\/test\/published\/.*\.test\.ts$/.test(id) && !code.includes('checkPublished(')
      ? 'export {};'
      : undefined,
};

export default defineConfig({
  base: './',
  plugins: [typesetFormulas, viteSingleFile()],
  // The library's sources, as everywhere in this repository; its packages need no build for the page.
  resolve: {
    conditions: ['@holdfast/source', ...defaultClientConditions],
    // See plain-array.ts.
    alias: [{ find: /^ndarray$/, replacement: fileURLToPath(new URL('plain-array.ts', import.meta.url)) }],
  },
  worker: { format: 'iife', plugins: () => [testsAsData] },
  build: {
    target: 'es2022',
    outDir: '../dist/notebook',
    emptyOutDir: true,
    reportCompressedSize: true,
    // The worker is a bundle in the bundle: that it takes longest is no news.
    rolldownOptions: { checks: { bundlerTimings: false } },
  },
});
