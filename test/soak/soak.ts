/**
 * The nightly checks: `npm run soak [-- NAME ...]` runs all of them, or those named, each as a process of its
 * own within a time limit, and ends with 0 when all of them passed. Each prints its figures as `name: value`
 * lines.
 */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** Minutes that each may take; together at most 90. */
const checks: Readonly<Record<string, number>> = {
  kills: 20,
  rigs: 17,
  calls: 18,
  files: 15,
  memory: 8,
  'large-frame': 2,
  sliders: 10,
};

const asked = process.argv.slice(2);
const unknown = asked.filter((name) => !(name in checks));
if (unknown.length > 0) {
  console.error(`no such check: ${unknown.join(', ')}; there are ${Object.keys(checks).join(', ')}`);
  process.exit(2);
}
let failed = 0;
for (const [name, minutes] of Object.entries(checks)) {
  if (asked.length > 0 && !asked.includes(name)) continue;
  const started = performance.now();
  const file = fileURLToPath(new URL(`${name}.ts`, import.meta.url));
  const { status, signal } = spawnSync(process.execPath, ['--import', 'tsx', file], {
    stdio: 'inherit',
    timeout: minutes * 60_000,
  });
  const took = Math.round((performance.now() - started) / 1000);
  if (status !== 0) failed++;
  console.log(`${name}: ${status === 0 ? 'passed' : `FAILED (${signal ?? status})`} in ${took} s`);
}
process.exitCode = failed > 0 ? 1 : 0;
