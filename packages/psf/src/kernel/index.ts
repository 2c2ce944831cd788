/**
 * Inner loops in WebAssembly, with the same bits as those in TypeScript that they stand for.
 *
 * loops        the loops on a memory of their own, where the engine has what they need
 * kernel-code  the compiled module, from `packages/psf/kernel/kernel.ts`
 */
export { createLoops, type Loops } from './loops.ts';
