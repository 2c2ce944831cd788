/**
 * A sweep in 64 parts on a real Slurm of one node, and under GNU parallel: one part is killed and requeued,
 * and the joined parts must be the bytes of one process. `npm run slurm` installs Debian's `slurm-wlm`,
 * `munge` and `parallel` where they are missing and it may, else it says what is skipped. Never a part of
 * `npm test`.
 */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as after } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const repository = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'holdfast-slurm-'));
const parts = 64;
const sweep = [
  ...['--axis', 'focusShiftUm=0:63:64', '--axis', 'estimator=centerOfMass,gaussianFit'],
  ...['--trials', '64', '--seed', '7'],
];
const started: ChildProcess[] = [];

function run(command: string, args: readonly string[], env: object = {}): string {
  const { status, stdout, stderr, error } = spawnSync(command, args, {
    cwd: folder,
    encoding: 'utf8',
    env: { ...process.env, ...env },
    maxBuffer: 1 << 28,
  });
  if (status !== 0)
    throw new Error(`${command} ${args.join(' ')}: ${error?.message ?? ''}${stdout}${stderr}`);
  return stdout;
}

const has = (program: string) => spawnSync('sh', ['-c', `command -v ${program}`]).status === 0;

/** Whether a program is there, after an attempt to install its package. */
function isReady(program: string, packages: readonly string[]): boolean {
  if (has(program)) return true;
  if (process.getuid?.() === 0 && has('apt-get')) {
    const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
    spawnSync('apt-get', ['update', '-qq'], { env });
    spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...packages], { env });
  }
  return has(program);
}

function daemon(program: string, args: readonly string[], env: object = {}): void {
  started.push(spawn(program, args, { stdio: 'ignore', env: { ...process.env, ...env } }));
}

const joined = () =>
  Array.from({ length: parts }, (_, i) =>
    readFileSync(join(folder, `sweep-part-${i + 1}.jsonl`), 'utf8'),
  ).join('');

function forget(): void {
  for (let part = 1; part <= parts; part++) rmSync(join(folder, `sweep-part-${part}.jsonl`), { force: true });
}

function compare(what: string, expected: string, begun: number): void {
  const got = joined();
  if (got !== expected) throw new Error(`${what}: the joined parts differ from the sweep of one process`);
  const seconds = ((performance.now() - begun) / 1000).toFixed(0);
  console.log(`${what}: ${parts} parts joined are the ${got.length} bytes of one process (${seconds} s)`);
}

/** A cluster of this machine alone, its files all in the folder. */
async function startCluster(): Promise<object> {
  const socket = join(folder, 'munge.socket');
  const key = join(folder, 'munge.key');
  writeFileSync(key, randomBytes(128), { mode: 0o400 });
  daemon('munged', [
    ...['--foreground', '--force', `--socket=${socket}`, `--key-file=${key}`],
    ...['pid', 'log', 'seed'].map((name) => `--${name}-file=${join(folder, `munge.${name}`)}`),
  ]);
  while (!existsSync(socket)) await after(100);
  const conf = join(folder, 'slurm.conf');
  const host = hostname().split('.')[0];
  mkdirSync(join(folder, 'state'));
  mkdirSync(join(folder, 'spool'));
  writeFileSync(
    conf,
    [
      ...['ClusterName=here', `SlurmctldHost=${host}(127.0.0.1)`, 'SlurmUser=root', 'SlurmctldPort=26817'],
      ...[
        'SlurmdPort=26818',
        'AuthType=auth/munge',
        `AuthInfo=socket=${socket}`,
        'ProctrackType=proctrack/linuxproc',
      ],
      ...[
        'TaskPlugin=task/none',
        'SelectType=select/cons_tres',
        'SelectTypeParameters=CR_Core',
        'ReturnToService=2',
      ],
      ...[`StateSaveLocation=${folder}/state`, `SlurmdSpoolDir=${folder}/spool`, 'SwitchType=switch/none'],
      ...[`SlurmctldPidFile=${folder}/ctld.pid`, `SlurmdPidFile=${folder}/d.pid`, 'MpiDefault=none'],
      ...[`SlurmctldLogFile=${folder}/ctld.log`, `SlurmdLogFile=${folder}/d.log`, 'JobRequeue=1'],
      `NodeName=${host} NodeAddr=127.0.0.1 CPUs=${availableParallelism()} RealMemory=3000 State=UNKNOWN`,
      'PartitionName=all Nodes=ALL Default=YES State=UP',
      '',
    ].join('\n'),
  );
  // No control group is made, but the plugin must be that of the kernel.
  const version = existsSync('/sys/fs/cgroup/cgroup.controllers') ? 'v2' : 'v1';
  writeFileSync(join(folder, 'cgroup.conf'), `CgroupPlugin=cgroup/${version}\n`);
  const env = { SLURM_CONF: conf };
  daemon('slurmctld', ['-D', '-f', conf], env);
  daemon('slurmd', ['-D', '-f', conf, '-N', host ?? 'localhost'], env);
  for (let tries = 0; ; tries++) {
    await after(500);
    const { stdout } = spawnSync('sinfo', ['--noheader', '--format=%T'], {
      encoding: 'utf8',
      env: { ...process.env, ...env },
    });
    if (stdout.trim() === 'idle') return env;
    if (tries > 120) {
      const logs = ['ctld.log', 'd.log'].map((log) => join(folder, log)).filter((log) => existsSync(log));
      throw new Error(
        `the node does not come up: ${stdout}\n${logs.map((log) => readFileSync(log, 'utf8').slice(-2000)).join('\n')}`,
      );
    }
  }
}

async function onSlurm(expected: string): Promise<void> {
  if (!isReady('slurmctld', ['slurm-wlm', 'munge'])) {
    console.log('Slurm: skipped, slurm-wlm is not installed and cannot be installed here');
    return;
  }
  const env = await startCluster();
  const begun = performance.now();
  // The job runs in the folder that it was submitted from: let it find the program there.
  const script = join(repository, 'examples/programs/sweep/sweep-job-array.sh');
  const submitted = run('sbatch', ['--parsable', `--array=1-${parts}`, script, ...sweep], env).trim();
  const victim = 3;
  const state = (job: string) =>
    run('squeue', ['--noheader', '--format=%T', '--jobs', job, '--states=all'], env).trim();
  while (state(`${submitted}_${victim}`) !== 'RUNNING') await after(50);
  run('scancel', ['--signal=KILL', '--full', `${submitted}_${victim}`], env);
  while (!/FAILED|CANCEL|NODE_FAIL/.test(state(`${submitted}_${victim}`))) {
    if (/COMPLETED/.test(state(`${submitted}_${victim}`)))
      throw new Error('the part ended before it was killed');
    await after(100);
  }
  run('scontrol', ['requeue', `${submitted}_${victim}`], env);
  while (/PENDING|RUNNING|COMPLETING|CONFIGURING/.test(state(submitted))) await after(500);
  compare(
    `Slurm ${run('sinfo', ['--version'], env).trim().replace(/^\S+ /, '')}, part ${victim} killed and requeued`,
    expected,
    begun,
  );
}

function underParallel(expected: string): void {
  if (!isReady('parallel', ['parallel'])) {
    console.log('GNU parallel: skipped, it is not installed and cannot be installed here');
    return;
  }
  forget();
  const begun = performance.now();
  const program = join(repository, 'examples/dist/programs/holdfast.js');
  const command = `${process.execPath} ${program} sweep --workers 1 --part {}/${parts} --out sweep-part-{}.jsonl ${sweep.join(' ')}`;
  run('parallel', ['--jobs', '2', command, ':::', ...Array.from({ length: parts }, (_, i) => String(i + 1))]);
  compare('GNU parallel', expected, begun);
}

try {
  const program = join(repository, 'examples/dist/programs/holdfast.js');
  mkdirSync(join(folder, 'examples'));
  spawnSync('ln', ['-s', join(repository, 'examples/dist'), join(folder, 'examples/dist')]);
  run(process.execPath, [program, 'sweep', ...sweep, '--out', 'whole.jsonl']);
  const expected = readFileSync(join(folder, 'whole.jsonl'), 'utf8');
  // `-- parallel` leaves Slurm out.
  if (process.argv[2] !== 'parallel') await onSlurm(expected);
  underParallel(expected);
} finally {
  for (const one of started.reverse()) {
    one.kill('SIGTERM');
    await new Promise((ended) => (one.exitCode === null ? one.once('exit', ended) : ended(0)));
  }
  rmSync(folder, { recursive: true, force: true });
}
