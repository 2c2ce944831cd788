/**
 * A pool of workers that run cells of a sweep: threads in Node, module workers in the browser, from the same
 * code.
 *
 * @module @holdfast/sim/workers
 */
import workerpool from 'workerpool';
import type { AnyEstimator } from '../trials/own-estimator.ts';
import { withoutCode } from './own-by-name.ts';
import type { CellRunner } from './sweep.ts';
import type { SweepCell, SweepRow } from './sweep-cell.ts';

/** How the workers are started. */
export interface SweepWorkersOptions {
  /** How many. Default: one a processor core. */
  readonly size?: number;
  /**
   * Address or path of the worker's script, where a bundler has moved it. Default: `cell-worker.js` beside
   * this file.
   */
  readonly script?: string;
}

/** A runner to be closed when it is no longer needed. */
export interface SweepWorkers extends CellRunner {
  /** End the workers; cells that still run are given up. */
  close(): Promise<void>;
}

/**
 * Start workers for `sweep`.
 *
 * ```ts
 * const runner = sweepWorkers({ size: 4 })
 * for await (const row of sweep(rig, { axes, seed: 1, runner })) console.log(row)
 * await runner.close()
 * ```
 * @throws RangeError when size is not a whole number from 1 to 1024
 */
export function sweepWorkers({ size, script }: SweepWorkersOptions = {}): SweepWorkers {
  if (size !== undefined && !(Number.isInteger(size) && size >= 1 && size <= 1024))
    throw new RangeError(`size must be a whole number from 1 to 1024, got ${size}`);
  // Neither a page's `document` nor its absence tells: a worker has none, and Node may have a stand-in.
  const browser = workerpool.platform === 'browser';
  const here = new URL('./cell-worker.js', import.meta.url);
  const count = size ?? workerpool.cpus;
  const pool = workerpool.pool(script ?? (browser ? here.href : filePath(here)), {
    maxWorkers: count,
    ...(browser
      ? { workerType: 'web' as const, workerOpts: { type: 'module' as const } }
      : { workerType: 'thread' as const }),
  });
  return {
    size: count,
    run: async (cell: SweepCell<AnyEstimator>) =>
      (await pool.exec('runCell', [withoutCode(cell)])) as SweepRow<string>[],
    async close() {
      await pool.terminate(true);
    },
  };
}

interface NodeProcess {
  getBuiltinModule(name: 'node:url'): { fileURLToPath(url: URL): string };
}

/** The path of a file of this machine, in Node: on Windows it begins with a drive, not with a slash. */
function filePath(url: URL): string {
  const { process } = globalThis as unknown as { readonly process: NodeProcess };
  return process.getBuiltinModule('node:url').fileURLToPath(url);
}
