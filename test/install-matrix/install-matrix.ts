/**
 * Installs the packages as others get them, from tarballs in a fresh folder, and uses them in every way that
 * the README promises. It takes minutes and asks the registry for the tools that it tries:
 * `npm run install-matrix` (or `-- WORD ...` for the cases whose names hold a word).
 */
import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';
import { packAll } from '../../packages/tarballs.ts';

const here = fileURLToPath(new URL('.', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'holdfast-install-'));
const wanted = process.argv.slice(2);
/** Versions that were tried last; the figures stand in DEVELOPERS.md. */
const tools = {
  publint: '0.3.25',
  '@arethetypeswrong/cli': '0.18.5',
  typescript: '6.0.3',
  vite: '8.3.8',
  webpack: '5.113.0',
  esbuild: '0.28.2',
  rollup: '4.68.8',
  '@rollup/plugin-node-resolve': '16',
  '@rollup/plugin-commonjs': '28',
} as const;

function run(command: string, args: readonly string[], cwd = folder): string {
  const { status, stdout, stderr, error } = spawnSync(command, args, {
    cwd,
    encoding: 'utf8',
    // npm is a command file on Windows.
    shell: process.platform === 'win32',
  });
  if (status !== 0)
    throw new Error(`${command} ${args.join(' ')}: ${error?.message ?? ''}${stdout}${stderr}`);
  return stdout;
}
const npx = (tool: keyof typeof tools, ...args: string[]) =>
  run('npx', ['--yes', '--prefer-offline', `${tool}@${tools[tool]}`, ...args]);
const node = (file: string, program = process.execPath) => run(program, [file]).trim();
const text = (file: string) => readFileSync(join(folder, file), 'utf8');

let expected = '';
let failures = 0;

async function attempt(name: string, work: () => void | Promise<void>): Promise<void> {
  if (wanted.length > 0 && !wanted.some((word) => name.includes(word))) return;
  const begun = performance.now();
  let outcome = 'ok';
  try {
    await work();
  } catch (error) {
    failures++;
    outcome = `FAILED: ${error instanceof Error ? error.message : String(error)}`;
  }
  console.log(
    `${name.padEnd(46)} ${((performance.now() - begun) / 1000).toFixed(1).padStart(6)} s  ${outcome}`,
  );
}

function same(got: string, what: string): void {
  if (got !== expected) throw new Error(`${what} printed ${got} instead of ${expected}`);
}

try {
  cpSync(join(here, 'uses'), folder, { recursive: true });
  writeFileSync(join(folder, 'package.json'), '{ "private": true, "type": "module" }');
  const tarballs = packAll(folder).map((path) => basename(path));
  run('npm', [
    'install',
    '--no-audit',
    '--no-fund',
    '--prefer-offline',
    ...tarballs.map((name) => `./${name}`),
    ...(
      [
        'typescript',
        'vite',
        'webpack',
        'esbuild',
        'rollup',
        '@rollup/plugin-node-resolve',
        '@rollup/plugin-commonjs',
      ] as const
    ).map((name) => `${name}@${tools[name]}`),
  ]);
  expected = node('plain.js');
  console.log(`every way must print ${expected.slice(0, 60)} ...`);

  await attempt('files of each tarball', () => {
    for (const tarball of tarballs) {
      const files = run('tar', ['-tzf', tarball]);
      for (const file of [
        'README.md',
        'LICENSE',
        'package.json',
        'dist/index.d.ts',
        'dist/bundle/index.js.map',
      ])
        if (!files.includes(`package/${file}\n`)) throw new Error(`${tarball} has no ${file}`);
    }
  });
  await attempt('plain JavaScript, modules', () => same(node('plain.js'), 'plain.js'));
  await attempt('plain JavaScript, require', () => same(node('common.cjs'), 'common.cjs'));
  await attempt('an own estimator on two threads', () => same(node('threads.js'), 'threads.js'));
  for (const major of ['22', '24'])
    await attempt(`Node ${major}, modules and require`, () => {
      const place = join(folder, `node-${major}`);
      mkdirSync(place);
      writeFileSync(join(place, 'package.json'), '{ "private": true }');
      run('npm', ['install', '--no-audit', '--no-fund', '--prefer-offline', `node@${major}`], place);
      const program = join(place, 'node_modules/node/bin/node');
      if (!run(program, ['--version']).startsWith(`v${major}.`)) throw new Error('another version came');
      for (const file of ['plain.js', 'common.cjs', 'threads.js']) same(node(file, program), file);
    });
  for (const [module, moduleResolution] of [
    ['node16', 'node16'],
    ['nodenext', 'nodenext'],
    ['esnext', 'bundler'],
  ] as const)
    await attempt(`TypeScript, ${moduleResolution}, no DOM, no Node types`, () => {
      const check = (skipLibCheck: boolean) => {
        const compilerOptions = {
          ...{ module, moduleResolution, target: 'es2022', lib: ['es2022'], types: [], strict: true },
          ...{ exactOptionalPropertyTypes: true, skipLibCheck, noEmit: true },
        };
        writeFileSync(
          join(folder, 'tsconfig.json'),
          JSON.stringify({ compilerOptions, files: ['typed.ts'] }),
        );
        return spawnSync(process.execPath, ['node_modules/typescript/bin/tsc'], {
          cwd: folder,
          encoding: 'utf8',
        }).stdout;
      };
      // The types of zod, which describe a rig, name URL: they alone may ask for the types of a platform.
      const faults = [check(true), ...check(false).split('\n')].filter(
        (line) => line !== '' && !line.startsWith('node_modules/zod/'),
      );
      if (faults.length > 0) throw new Error(faults.join('\n'));
    });
  await attempt('Vite', () => {
    run(process.execPath, ['node_modules/vite/bin/vite.js', 'build', '--config', 'vite.config.js']);
    same(node('vite-out/plain.js'), 'the bundle');
  });
  await attempt('webpack', async () => {
    run(process.execPath, ['bundle-webpack.cjs']);
    same(node('webpack-out/plain.mjs'), 'the bundle');
  });
  await attempt('esbuild', () => {
    run(process.execPath, ['bundle-esbuild.js']);
    same(node('esbuild-out/plain.js'), 'the bundle');
  });
  await attempt('Rollup', () => {
    run(process.execPath, ['bundle-rollup.js']);
    same(node('rollup-out/plain.js'), 'the bundle');
  });
  await attempt('browser: page, workers, workers of a worker', async () => {
    run(process.execPath, ['bundle-esbuild.js']);
    const server = createServer(({ url = '/' }, response) => {
      const isPage = url === '/';
      response.setHeader('content-type', isPage ? 'text/html' : 'text/javascript');
      try {
        response.end(isPage ? '<!doctype html><link rel="icon" href="data:,">' : text(`esbuild-out${url}`));
      } catch {
        response.writeHead(404).end();
      }
    });
    await new Promise<void>((ready) => server.listen(0, '127.0.0.1', ready));
    const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
    try {
      const page = await browser.newPage();
      const address = server.address();
      const port = typeof address === 'object' ? address?.port : undefined;
      await page.goto(`http://127.0.0.1:${port}/`);
      for (const how of ['page', 'workers', 'worker'])
        same(
          String(await page.evaluate(`import('/browser.js').then(({ measure }) => measure('${how}'))`)),
          how,
        );
    } finally {
      await browser.close();
      server.close();
    }
  });
  await attempt('publint', () => {
    for (const tarball of tarballs) {
      const said = npx('publint', 'run', tarball, '--strict');
      if (!said.includes('All good!')) throw new Error(said);
    }
  });
  await attempt('attw: node16, nodenext, bundler', () => {
    // Only modules are shipped: `require` of them works from Node 20.19 on. Node 10's way of looking up types
    // knows no `exports`; it is not supported.
    for (const tarball of tarballs)
      npx(
        '@arethetypeswrong/cli',
        tarball,
        '--profile',
        'esm-only',
        '--exclude-entrypoints',
        './rig.schema.json',
      );
  });
} finally {
  rmSync(folder, { recursive: true, force: true });
}
console.log(failures === 0 ? 'all ways work' : `${failures} failed`);
process.exitCode = failures === 0 ? 0 : 1;
