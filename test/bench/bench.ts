/**
 * The bench: our speed against that of others, as ratios.
 *
 *   npm run bench                     all rows; writes results/bench.json and the table of README.md
 *   npm run bench -- <name> ...       these rows only; writes nothing
 *   npm run bench -- growth           how the cost grows with the size of the work; writes results/growth.*
 *
 * It runs what users run: the built packages (`npm run bench` builds them before).
 */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { type Machine, machineNow, machineText } from './machine.ts';
import { resultTable } from './result-table.ts';
import type { Row } from './row.ts';
import { type RowResult, runRow } from './run-row.ts';

const here = (path: string): URL => new URL(path, import.meta.url);

const names = readdirSync(here('rows/'))
  .filter((file) => file.endsWith('.ts'))
  .map((file) => file.slice(0, -3))
  .sort();

const asked = process.argv.slice(2);
const unknown = asked.filter((name) => name !== 'growth' && !names.includes(name));
if (unknown.length > 0) {
  console.error(`no row ${unknown.join(', ')}; there are: ${names.join(', ')}, growth`);
  process.exit(2);
}

const machine = machineNow();
console.log(machineText(machine));
const chosen = asked.length === 0 ? names : asked.filter((name) => name !== 'growth');
const results: RowResult[] = [];
for (const name of chosen) {
  const { row } = (await import(here(`rows/${name}.ts`).href)) as { row: Row };
  const begin = performance.now();
  const result = await runRow(row);
  results.push(result);
  const seconds = ((performance.now() - begin) / 1000).toFixed(0);
  console.log(`\n${row.name}, ${seconds} s${result.agreement === undefined ? '' : `: ${result.agreement}`}`);
  console.log(resultTable([result]));
}
if (asked.includes('growth')) {
  console.log('');
  await (await import('./growth.ts')).measureGrowth(machine);
}
if (asked.length === 0) {
  console.log(`\n${resultTable(results)}`);
  writeResults(machine, results);
}
process.exit(0);

function writeResults(machine: Machine, results: readonly RowResult[]): void {
  writeFileSync(here('results/bench.json'), `${JSON.stringify({ machine, rows: results }, null, 2)}\n`);
  const readme = readFileSync(here('README.md'), 'utf8');
  const [begin, end] = ['<!-- results -->', '<!-- end of results -->'];
  const from = readme.indexOf(begin);
  const to = readme.indexOf(end);
  if (from < 0 || to < from) throw new Error(`README.md has no place for the results: ${begin} ... ${end}`);
  const text = `\n\n${resultTable(results)}\n\nMeasured on: ${machineText(machine)}.\n\n`;
  writeFileSync(here('README.md'), readme.slice(0, from + begin.length) + text + readme.slice(to));
}
