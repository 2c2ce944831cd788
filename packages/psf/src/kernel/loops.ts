/** The compiled loops on a memory of their own. */
import { instantiate, type LoopMemory, pageBytes } from './instantiate.ts';
import { kernelCode } from './kernel-code.ts';

/** What `packages/psf/kernel/kernel.ts` exports; its comments say what the arguments are. */
export interface Loops {
  readonly memory: LoopMemory;
  readonly mostPixels: Constant;
  readonly sumsAt: Constant;
  readonly stateAt: Constant;
  readonly pixelsAt: Constant;
  readonly firstSlotAt: Constant;
  readonly sentOnAt: Constant;
  readonly slotsAt: Constant;
  lookUp(pixels: number, gain: number): number;
  /** 1, or 0 where the sums do not hold. */
  sumAbove: SumPixels;
  /** The same. */
  sumAll: SumPixels;
}

interface Constant {
  readonly value: number;
}

type SumPixels = (
  width: number,
  height: number,
  level: number,
  thresholdOrVariance: number,
  originX: number,
  originY: number,
  saturated: number,
  absurd: number,
) => number;

/** What stands before the slots, as packages/kernel.ts tells the compiler, too. */
const leastPages = 17;

/**
 * The loops on a new memory with room for their pixels and so many bytes of slots.
 *
 * @returns undefined where `instantiate` gives nothing: the loops in TypeScript give the same
 */
export const createLoops = (slotBytes = 0): Loops | undefined =>
  instantiate(kernelCode, leastPages * pageBytes + slotBytes) as Loops | undefined;
