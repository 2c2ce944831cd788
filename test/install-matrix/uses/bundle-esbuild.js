import { build } from 'esbuild';

const { warnings } = await build({
  entryPoints: ['plain.js', 'browser.js', 'browser-worker.js', 'cell-worker.js', 'own.js'],
  bundle: true,
  // workerpool asks for them in Node alone, and finds out by itself where it is.
  external: ['child_process', 'os', 'worker_threads'],
  format: 'esm',
  target: 'es2022',
  outdir: 'esbuild-out',
});
if (warnings.length > 0) throw new Error(JSON.stringify(warnings));
