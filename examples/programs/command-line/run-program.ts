/** How every program of this folder ends: 0 when it has answered, 2 for unusable input, 1 when something else failed. */
import { UnusableInput } from './command-line.ts';

export function runProgram(main: (args: readonly string[]) => Promise<void>): void {
  main(process.argv.slice(2)).catch((error: unknown) => {
    const unusable = error instanceof UnusableInput;
    console.error(unusable ? error.message : error);
    process.exitCode = unusable ? 2 : 1;
  });
}
