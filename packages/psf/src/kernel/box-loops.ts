/** The compiled loop of the search for stars on a memory of its own. */
import { boxesCode } from './boxes-code.ts';
import { instantiate, type LoopMemory } from './instantiate.ts';

/** What `packages/psf/kernel/boxes.ts` exports; its comments say what the arguments are. */
export interface BoxLoops {
  readonly memory: LoopMemory;
  boxesReaching(
    upper: number,
    lower: number,
    outerUpper: number,
    outerLower: number,
    wide: number,
    outerWide: number,
    step: number,
    count: number,
    ofInside: number,
    ofAll: number,
    least: number,
    out: number,
  ): number;
}

/** @returns undefined where `instantiate` gives nothing: the loop in TypeScript gives the same */
export const createBoxLoops = (bytes: number): BoxLoops | undefined =>
  instantiate(boxesCode, bytes) as BoxLoops | undefined;
