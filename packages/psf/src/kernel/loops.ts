/** The compiled loops on a memory of their own. */
import { kernelCode } from './kernel-code.ts';

/** What `packages/psf/kernel/kernel.ts` exports; its comments say what the arguments are. */
export interface Loops {
  readonly memory: { readonly buffer: ArrayBuffer; grow(pages: number): number };
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

/** Of the engine: not every one has it, and a page's policy may forbid it. */
interface Engine {
  readonly WebAssembly: {
    readonly Module: new (code: Uint8Array) => object;
    readonly Instance: new (module: object) => { readonly exports: unknown };
  };
  atob(text: string): string;
}

const pageBytes = 2 ** 16;

/** Undefined until it is needed, null where the engine refuses it. */
let compiled: object | null | undefined;

/**
 * The loops on a new memory with room for their pixels. It is let go with the last reference to them.
 *
 * @returns undefined where the engine has no WebAssembly, no SIMD or no memory left, or where the page's
 *   policy forbids it: the loops in TypeScript give the same
 */
export function createLoops(): Loops | undefined {
  const { WebAssembly, atob } = globalThis as unknown as Engine;
  try {
    if (compiled === null) return undefined;
    compiled ??= new WebAssembly.Module(Uint8Array.from(atob(kernelCode), (c) => c.charCodeAt(0)));
    const loops = new WebAssembly.Instance(compiled).exports as Loops;
    growTo(loops, loops.slotsAt.value);
    return loops;
  } catch {
    compiled ??= null;
    return undefined;
  }
}

/** Make the memory at least so large, what it holds included; all arrays on it must then be made anew. */
export function growTo({ memory }: Loops, bytes: number): void {
  const pages = Math.ceil((bytes - memory.buffer.byteLength) / pageBytes);
  if (pages > 0) memory.grow(pages);
}
