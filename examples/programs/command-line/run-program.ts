/**
 * How every program of this folder ends: 0 when it has answered, 2 for unusable input, 1 when something else
 * failed, a file or the terminal that cannot be written included. A reader that closes the pipe early (as
 * `head` does) is no failure.
 */
import { UnusableInput } from '../../reports/unusable-input.ts';
import { WriteFailure } from './write-safely.ts';

export function runProgram(main: (args: readonly string[]) => Promise<void>): void {
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(0);
    console.error(`cannot write to standard output: ${error.message}`);
    process.exit(1);
  });
  main(process.argv.slice(2)).catch((error: unknown) => {
    const forPeople = error instanceof UnusableInput || error instanceof WriteFailure;
    console.error(forPeople ? error.message : error);
    process.exitCode = error instanceof UnusableInput ? 2 : 1;
  });
}
