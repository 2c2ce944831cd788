/**
 * Puts each package's many small files into few: Node takes some 0.3 ms to find and open a module, and there
 * are hundreds.
 *
 * Run after `tsc -b`, from whose output it starts. Each entry of a package's `exports` with `default` in
 * dist/bundle is made from the file of that name in dist. Sister packages and what has entries of its own
 * stay imports; other dependencies go in.
 */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build, type Plugin } from 'vite';

/**
 * Left as imports: what a caller may share with the library, loads only when asked for, or starts workers
 * from its own files.
 */
const external = [/^node:/, /^@holdfast\//, 'apache-arrow', 'workerpool', 'fast-png', 'tiff'];
/** centroid takes the mathematics of psf into its own files, so that installing it brings no psf. */
const externalOf = { psf: external, centroid: external.slice(0, 1), sim: external };

/** From its small files, of which only those that it needs come along. */
const mathematics = fileURLToPath(new URL('psf/dist/numerics/index.js', import.meta.url));

/**
 * One file holds what at least so many entries of a package share. A worker of a sweep is spared what the two
 * heavy entries of sim share.
 */
const sharedBy = { psf: 2, centroid: 2, sim: 3 };

/**
 * The address of a user's own estimator or star is known when it is run: whoever bundles these files must
 * leave that import as it is. Comments say so, and they go in last, since all others go out.
 */
const userImport = /import\(__rewriteRelativeImportExtension\([^)]*?(`\$\{module\}`)\s*\)\)/;
const ownModules: Plugin = {
  name: 'own-modules',
  generateBundle(_, bundle) {
    // Within one line: the source map stays as good as it was.
    for (const part of Object.values(bundle))
      if (part.type === 'chunk')
        part.code = part.code.replace(userImport, 'import(/* @vite-ignore */ /* webpackIgnore: true */ $1)');
  },
};

interface PackageFile {
  readonly exports: Readonly<Record<string, string | { readonly default?: string }>>;
}

for (const name of ['psf', 'centroid', 'sim'] as const) {
  const root = fileURLToPath(new URL(name, import.meta.url));
  const { exports } = JSON.parse(readFileSync(`${root}/package.json`, 'utf8')) as PackageFile;
  const input: Record<string, string> = {};
  for (const target of Object.values(exports)) {
    const file = typeof target === 'string' ? undefined : target.default;
    const entry = /^\.\/dist\/bundle\/(.*)\.js$/.exec(file ?? '')?.[1];
    if (entry !== undefined) input[entry] = `${root}/dist/${entry}.js`;
  }
  if (Object.keys(input).length === 0) continue;
  await build({
    root,
    configFile: false,
    logLevel: 'warn',
    resolve: { alias: { '@holdfast/psf/numerics': mathematics } },
    ssr: { noExternal: true },
    plugins: [ownModules],
    build: {
      ssr: true,
      target: 'es2022',
      // Readable: whoever follows an error into it finds names and line breaks.
      minify: false,
      sourcemap: true,
      outDir: 'dist/bundle',
      emptyOutDir: true,
      rollupOptions: {
        input,
        external: externalOf[name],
        output: {
          codeSplitting: { groups: [{ name: 'shared', minShareCount: sharedBy[name] }] },
          entryFileNames: '[name].js',
          chunkFileNames: '[name]-[hash].js',
          comments: false,
        },
      },
    },
  });
}
