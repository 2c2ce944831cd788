/** A module worker that runs a sweep, by workers of its own where it is told to. */
import { runSweep } from './run-sweep.ts';

addEventListener('message', async ({ data }: MessageEvent<Parameters<typeof runSweep>>) => {
  postMessage(await runSweep(...data));
});
