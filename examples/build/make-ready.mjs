/**
 * Before the main job runs: install the workspace and build it, each only when something has changed since it
 * was last done. Plain JavaScript, as it runs when nothing is built yet.
 */
import { spawnSync } from 'node:child_process';
import {
  accessSync,
  constants,
  existsSync,
  mkdirSync,
  readdirSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { homedir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../..', import.meta.url));
const installed = join(root, 'node_modules/.modules.yaml');
/** Carries the time at which the last good build began. */
const built = join(root, 'examples/dist/.built');

const made = new Set(['node_modules', 'dist']);

/**
 * When a file or anything in a folder was last changed, added or removed, ms; what is made from the rest does
 * not count.
 */
function changed(path) {
  const status = statSync(path);
  if (!status.isDirectory()) return status.mtimeMs;
  const names = readdirSync(path);
  return names.reduce(
    (latest, name) => (made.has(name) ? latest : Math.max(latest, changed(join(path, name)))),
    // A folder is touched too when something is made in it: only those of sources tell of a file that is
    // gone.
    names.some((name) => made.has(name)) ? 0 : status.mtimeMs,
  );
}

const latest = (names) => Math.max(...names.map((name) => changed(join(root, name))));
const since = (path) => (existsSync(path) ? statSync(path).mtimeMs : 0);

/** Where the home folder cannot be written, npm and pnpm keep what they fetch in the workspace. */
function environment() {
  try {
    accessSync(homedir(), constants.W_OK);
    return process.env;
  } catch {
    const home = join(root, '.home');
    mkdirSync(home, { recursive: true });
    const cache = join(home, '.npm');
    return {
      npm_config_userconfig: join(homedir(), '.npmrc'),
      ...process.env,
      HOME: home,
      npm_config_cache: cache,
    };
  }
}

function run(script) {
  const { status } = spawnSync('npm', ['run', '--silent', script], {
    cwd: root,
    env: environment(),
    stdio: 'inherit',
    shell: process.platform === 'win32',
  });
  if (status !== 0) process.exit(status ?? 1);
}

const manifests = ['package.json', 'pnpm-lock.yaml', 'pnpm-workspace.yaml'];
if (since(installed) < latest(manifests)) {
  run('setup');
  // An install that finds nothing to do leaves the mark as old as it was.
  utimesSync(installed, new Date(), new Date());
}
const sources = [
  'package.json',
  'pnpm-lock.yaml',
  'tsconfig.base.json',
  'tsconfig.json',
  'packages',
  'examples',
];
if (since(built) < latest(sources)) {
  const begin = new Date();
  run('build');
  writeFileSync(built, '');
  utimesSync(built, begin, begin);
}
