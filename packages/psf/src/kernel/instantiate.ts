/** Compiled modules on memories of their own. */

export interface LoopMemory {
  readonly buffer: ArrayBuffer;
}

/** Of the engine: not every one has it, and a page's policy may forbid it. */
interface Engine {
  readonly WebAssembly: {
    readonly Module: new (code: Uint8Array) => object;
    readonly Memory: new (size: { readonly initial: number }) => LoopMemory;
    readonly Instance: new (
      module: object,
      imports: { readonly env: { readonly memory: LoopMemory } },
    ) => { readonly exports: unknown };
  };
  atob(text: string): string;
}

export const pageBytes = 2 ** 16;

/** By their text: undefined until it is needed, null where the engine refuses it. */
const compiled = new Map<string, object | null>();

/**
 * A module on a new memory of so many bytes. It is let go with the last reference to it, and never grows:
 * that would detach its buffer, after which V8 looks at each access to any typed array of the thread whether
 * its buffer is still there.
 *
 * @returns what the module exports, and its memory; undefined where the engine has no WebAssembly, no SIMD or
 *   no memory left, or where the page's policy forbids it
 */
export function instantiate(code: string, bytes: number): { readonly memory: LoopMemory } | undefined {
  const { WebAssembly, atob } = globalThis as unknown as Engine;
  try {
    let module = compiled.get(code);
    if (module === null) return undefined;
    module ??= new WebAssembly.Module(Uint8Array.from(atob(code), (c) => c.charCodeAt(0)));
    compiled.set(code, module);
    const memory = new WebAssembly.Memory({ initial: Math.ceil(bytes / pageBytes) });
    const { exports } = new WebAssembly.Instance(module, { env: { memory } });
    return { ...(exports as object), memory };
  } catch {
    if (!compiled.has(code)) compiled.set(code, null);
    return undefined;
  }
}
