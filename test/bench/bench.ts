/**
 * The bench: our speed against that of others, as ratios.
 *
 *   npm run bench                     all rows and growth; writes results/ and the results in README.md
 *   npm run bench -- <name> ...       these rows only; writes nothing
 *   npm run bench -- growth           how the cost grows with the size of the work; writes results/growth.*
 *
 * It runs what users run: the built packages (`npm run bench` builds them before).
 */
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { wrapped } from '../../examples/reports/wrapped-text.ts';
import { type Machine, machineNow, machineText } from './machine.ts';
import { resultTable } from './result-table.ts';
import { runAlone } from './row-process.ts';
import type { RowResult } from './run-row.ts';

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
const failed: string[] = [];
for (const name of chosen) {
  const begin = performance.now();
  let result: RowResult;
  try {
    result = await quietest(name);
  } catch (error) {
    console.error(`\n${name}:`, error);
    failed.push(name);
    continue;
  }
  results.push(result);
  const seconds = ((performance.now() - begin) / 1000).toFixed(0);
  console.log(`\n${name}, ${seconds} s${result.agreement === undefined ? '' : `: ${result.agreement}`}`);
  console.log(resultTable([result]));
  if (result.idleness.disturbed !== undefined) console.log(`noisy: ${result.idleness.disturbed}`);
}
const all = asked.length === 0;
let growth: string[] = [];
if (all || asked.includes('growth')) {
  console.log('');
  growth = await (await import('./growth.ts')).measureGrowth(machine);
}
if (all) {
  console.log(`\n${resultTable(results)}`);
  if (failed.length === 0) writeResults(machine, results, growth);
  else console.error(`nothing is written, as these have failed: ${failed.join(', ')}`);
}
process.exit(failed.length === 0 ? 0 : 1);

/** A disturbed row is run again, up to twice; the run whose busy loop got most of a core counts. */
async function quietest(name: string): Promise<RowResult> {
  let best = await runAlone(name);
  for (let again = 0; again < 2 && best.idleness.disturbed !== undefined; again++) {
    console.log(`\n${name}: disturbed (${best.idleness.disturbed}); again`);
    const next = await runAlone(name);
    const isQuieter = next.idleness.share.median > best.idleness.share.median;
    if (next.idleness.disturbed === undefined || isQuieter) best = next;
  }
  return best;
}

function writeResults(machine: Machine, results: readonly RowResult[], growth: readonly string[]): void {
  writeFileSync(here('results/bench.json'), `${JSON.stringify({ machine, rows: results }, null, 2)}\n`);
  const readme = readFileSync(here('README.md'), 'utf8');
  const [begin, end] = ['<!-- results -->', '<!-- end of results -->'];
  const from = readme.indexOf(begin);
  const to = readme.indexOf(end);
  if (from < 0 || to < from) throw new Error(`README.md has no place for the results: ${begin} ... ${end}`);
  const agreements = results.flatMap(({ name, agreement }) =>
    agreement === undefined ? [] : [item(`${name}: ${agreement}`)],
  );
  const noisy = results.flatMap(({ name, idleness: { disturbed } }) =>
    disturbed === undefined ? [] : [item(`${name}: ${disturbed}`)],
  );
  const parts = [
    resultTable(results),
    noisy.length === 0
      ? 'The machine was idle in every row.'
      : `Rows that stayed disturbed after three runs, and by what:\n\n${noisy.join('\n')}`,
    lines(`Measured on: ${machineText(machine)}.`),
    `That both sides did the same work:\n\n${agreements.join('\n')}`,
    `How the time grows with the work, 1 being linear:\n\n${growth.map(item).join('\n')}`,
    '![Time against the size of the work, for each of these](results/growth.svg)',
  ];
  const text = `\n\n${parts.join('\n\n')}\n\n`;
  writeFileSync(here('README.md'), readme.slice(0, from + begin.length) + text + readme.slice(to));
}

/** No wider than prose may be. */
function lines(text: string, first = '', rest = ''): string {
  return wrapped(text, { width: 110, first, rest }).join('\n');
}

function item(text: string): string {
  return lines(text, '- ', '  ');
}
