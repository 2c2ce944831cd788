import { build } from 'esbuild';

const { warnings } = await build({
  entryPoints: ['plain.js', 'browser.js', 'browser-worker.js', 'cell-worker.js', 'own.js'],
  bundle: true,
  format: 'esm',
  target: 'es2022',
  outdir: 'esbuild-out',
});
if (warnings.length > 0) throw new Error(JSON.stringify(warnings));
