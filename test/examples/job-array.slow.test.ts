/**
 * The job-array script, run as the cluster's scheduler would: one call a share, told its number by the
 * environment.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { smallRig } from './plain-rig.ts';
import { answerHere, freshFolder, repository } from './run-example.ts';

const axes = ['--axis', 'focusShiftUm=0:60:5', '--axis', 'estimator=centerOfMass'];
const args = ['--rig', smallRig('fast-reflector'), ...axes, '--trials', '64'];

test('the shares of the array, one after the other, are the whole sweep', async () => {
  const folder = freshFolder();
  mkdirSync(join(folder, 'examples'));
  symlinkSync(join(repository, 'examples/dist'), join(folder, 'examples/dist'));
  let joined = '';
  for (const part of [1, 2, 3]) {
    const run = spawnSync('bash', [join(repository, 'examples/programs/sweep/sweep-job-array.sh'), ...args], {
      encoding: 'utf8',
      env: {
        ...process.env,
        SLURM_ARRAY_TASK_ID: String(part),
        SLURM_ARRAY_TASK_COUNT: '3',
        SLURM_SUBMIT_DIR: folder,
      },
    });
    expect(run.stderr).toBe('');
    expect(run.status).toBe(0);
    joined += readFileSync(join(folder, `sweep-part-${part}.jsonl`), 'utf8');
  }
  const whole = freshFolder();
  await answerHere('sweep', [...args, '--out', 'whole.jsonl'], whole);
  expect(joined).toBe(readFileSync(join(whole, 'whole.jsonl'), 'utf8'));
});

test('outside of an array it says how it is run', () => {
  const { SLURM_ARRAY_TASK_ID: _, ...environment } = process.env;
  const run = spawnSync('bash', [join(repository, 'examples/programs/sweep/sweep-job-array.sh')], {
    encoding: 'utf8',
    env: environment,
  });
  expect(run.status).not.toBe(0);
  expect(run.stderr).toMatch(/run this by sbatch --array=1-N/);
});
