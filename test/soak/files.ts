/**
 * 5,000 damaged FITS, PNG and TIFF files read and measured: no exception, nothing over 5 s, no more than 300
 * MB.
 */
import { mutatedFile, runFile } from './mutated-file.ts';
import { seededNumbers } from './seeded-numbers.ts';

const files = 5000;
const minutes = 13;
const mostMs = 5000;
const mostMB = 300;
const uniform = seededNumbers('files');
const faults: string[] = [];
const started = performance.now();
let done = 0;
let slowestMs = 0;
let highestMB = 0;
const atRestMB = process.memoryUsage().rss / 1e6;
for (; done < files && performance.now() - started < minutes * 60_000; done++) {
  // Time of this process alone: another one beside it does not make a file slow.
  const before = process.cpuUsage();
  const file = mutatedFile(uniform);
  const fault = await runFile(file);
  const { user, system } = process.cpuUsage(before);
  const ms = (user + system) / 1000;
  if (ms > mostMs) faults.push(`file ${done} took ${Math.round(ms)} ms`);
  slowestMs = Math.max(slowestMs, ms);
  highestMB = Math.max(highestMB, process.memoryUsage().rss / 1e6 - atRestMB);
  if (fault !== undefined) faults.push(fault);
}
console.log(
  `files: ${done} damaged files; slowest ${Math.round(slowestMs)} ms; at most ${Math.round(highestMB)} MB above rest; ${faults.length} faults`,
);
for (const fault of faults.slice(0, 10)) console.log(fault);
process.exitCode = faults.length === 0 && highestMB < mostMB ? 0 : 1;
