/** Something that the user gave and that cannot be used: it ends a program with status 2. */
export class UnusableInput extends Error {}

/** Runs a call whose arguments come from the user: what the library refuses of them is the user's to mend. */
export function withUserNumbers<T>(call: () => T): T {
  try {
    return call();
  } catch (error) {
    throw error instanceof RangeError ? new UnusableInput(error.message) : error;
  }
}
