/** The README's example runs as it stands there. */
import { spawnSync } from 'node:child_process';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { repository } from './run-example.ts';

test('the embedding example prints two positions and the advice', () => {
  const readme = readFileSync(join(repository, 'README.md'), 'utf8');
  const [, code] = /```ts\n(.*?)```/s.exec(readme) ?? [];
  expect(code).toContain("from '@holdfast/psf'");
  const rig = join(repository, 'examples/rigs/refractor.json');
  // Beside the built examples, where the packages are found as an installer finds them.
  const file = join(repository, 'examples/dist/readme-example.mjs');
  const readRig = `import { readFileSync } from 'node:fs';\nconst rigText = readFileSync(${JSON.stringify(rig)}, 'utf8');\n`;
  writeFileSync(file, readRig + code.replace(' as const', ''));
  try {
    const { status, stdout, stderr } = spawnSync(process.execPath, [file], { encoding: 'utf8' });
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout.match(/ok: true/g)).toHaveLength(2);
    expect(stdout).toMatch(/^Luminance keep stars grow by /m);
  } finally {
    rmSync(file);
  }
});
