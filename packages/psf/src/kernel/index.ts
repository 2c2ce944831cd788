/**
 * Inner loops in WebAssembly, with the same bits as those in TypeScript that they stand for.
 *
 * loops        frames and centers of mass, where the engine has what they need
 * box-loops    the boxes of the search for stars
 * instantiate  a module on a memory of its own
 * kernel-code  the compiled module of loops, from `packages/psf/kernel/kernel.ts`
 * boxes-code   that of box-loops, from `packages/psf/kernel/boxes.ts`
 */
export { createBoxLoops } from './box-loops.ts';
export { createLoops, type Loops } from './loops.ts';
