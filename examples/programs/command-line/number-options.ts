/** Numbers of a command line: one, two with an x between, a list. */
import { UnusableInput } from './command-line.ts';

/** @throws UnusableInput that names the option and the text got */
export function numberOption(name: string, text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (!Number.isFinite(value))
    throw new UnusableInput(`--${name} must be a number, got ${JSON.stringify(text)}`);
  return value;
}

/** Two sides, as `23.5x15.7`. @throws UnusableInput that names the option and the text got */
export function sidesOption(name: string, text: string): readonly [number, number] {
  const sides = text.split('x').map((side) => (side.trim() === '' ? Number.NaN : Number(side)));
  if (sides.length !== 2 || !sides.every(Number.isFinite))
    throw new UnusableInput(`--${name} must be two numbers with an x between, as 10x8, got ${text}`);
  return [sides[0], sides[1]];
}

/** Runs a call whose arguments come from the user: what the library refuses of them is the user's to mend. */
export function withUserNumbers<T>(call: () => T): T {
  try {
    return call();
  } catch (error) {
    if (error instanceof RangeError) throw new UnusableInput(error.message);
    throw error;
  }
}
