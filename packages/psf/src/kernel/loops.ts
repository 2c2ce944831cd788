/** The compiled loops on a memory of their own. */
import { kernelCode } from './kernel-code.ts';

/** What `packages/psf/kernel/kernel.ts` exports; its comments say what the arguments are. */
export interface Loops {
  readonly memory: Memory;
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

interface Memory {
  readonly buffer: ArrayBuffer;
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
    readonly Memory: new (size: { readonly initial: number }) => Memory;
    readonly Instance: new (
      module: object,
      imports: { readonly env: { readonly memory: Memory } },
    ) => { readonly exports: unknown };
  };
  atob(text: string): string;
}

const pageBytes = 2 ** 16;

/** What stands before the slots, as packages/kernel.ts tells the compiler, too. */
const leastPages = 17;

/** Undefined until it is needed, null where the engine refuses it. */
let compiled: object | null | undefined;

/**
 * The loops on a new memory with room for their pixels and so many bytes of slots. It is let go with the last
 * reference to them, and never grows: that would detach its buffer, after which V8 looks at each access to
 * any typed array of the thread whether its buffer is still there.
 *
 * @returns undefined where the engine has no WebAssembly, no SIMD or no memory left, or where the page's
 *   policy forbids it: the loops in TypeScript give the same
 */
export function createLoops(slotBytes = 0): Loops | undefined {
  const { WebAssembly, atob } = globalThis as unknown as Engine;
  try {
    if (compiled === null) return undefined;
    compiled ??= new WebAssembly.Module(Uint8Array.from(atob(kernelCode), (c) => c.charCodeAt(0)));
    const memory = new WebAssembly.Memory({ initial: leastPages + Math.ceil(slotBytes / pageBytes) });
    const { exports } = new WebAssembly.Instance(compiled, { env: { memory } });
    return { ...(exports as Omit<Loops, 'memory'>), memory };
  } catch {
    compiled ??= null;
    return undefined;
  }
}
