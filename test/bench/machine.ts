/** The machine and the programs that the speeds belong to. */
import { spawnSync } from 'node:child_process';
import { cpus, loadavg } from 'node:os';
import { findPython } from './reference-process.ts';

export interface Machine {
  readonly cpu: string;
  readonly cores: number;
  /** Programs that wanted a core in the last minute before the bench began. */
  readonly load: number;
  readonly node: string;
  readonly python: string;
  readonly numpy: string;
  readonly scipy: string;
  readonly gcc: string;
  readonly gsl: string;
}

const absent = 'absent';

const firstLine = (command: string, args: readonly string[]): string => {
  const { status, stdout } = spawnSync(command, args, { encoding: 'utf8' });
  return status === 0 ? stdout.split('\n')[0].trim() : absent;
};

export function machineNow(): Machine {
  const python = findPython();
  return {
    cpu: cpus()[0].model,
    cores: cpus().length,
    load: loadavg()[0],
    node: process.version.slice(1),
    python: python?.python ?? absent,
    numpy: python?.numpy ?? absent,
    scipy: python?.scipy ?? absent,
    gcc: firstLine('gcc', ['-dumpfullversion']),
    gsl: firstLine('gsl-config', ['--version']),
  };
}

export function machineText(machine: Machine): string {
  const { cpu, cores, load, node, python, numpy, scipy, gcc, gsl } = machine;
  return (
    `${cpu}, ${cores} cores (load before: ${load.toFixed(1)}); Node ${node}; Python ${python}, ` +
    `numpy ${numpy}, scipy ${scipy}; gcc ${gcc}; GSL ${gsl}`
  );
}
