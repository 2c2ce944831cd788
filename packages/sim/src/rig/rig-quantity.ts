/** The kinds of names and numbers that stand in a rig file. */
import { z } from 'zod';

export const positive = (describe: string) => z.number().gt(0).describe(describe);
export const nonNegative = (describe: string) => z.number().min(0).describe(describe);
export const fraction = (describe: string) => z.number().gt(0).max(1).describe(describe);

/** A name that a terminal and a page can show as it is. */
export const plainName = (longest: number, description: string) =>
  z
    .string()
    .min(1)
    .max(longest)
    .regex(/^\P{Cc}*$/u, 'a text without control characters')
    .describe(description);

/** A schema takes milliseconds to make: whoever imports the library and reads no rig does not wait for it. */
export function madeOnce<Schema>(make: () => Schema): () => Schema {
  let made: Schema | undefined;
  return () => {
    made ??= make();
    return made;
  };
}
