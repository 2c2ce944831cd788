/** The kinds of numbers that stand in a rig file. */
import { z } from 'zod';

export const positive = (describe: string) => z.number().gt(0).describe(describe);
export const nonNegative = (describe: string) => z.number().min(0).describe(describe);
export const fraction = (describe: string) => z.number().gt(0).max(1).describe(describe);
