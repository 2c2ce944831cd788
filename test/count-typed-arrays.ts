/** Counts typed arrays as they are made, to see that a hot loop makes none. */
const kinds = [
  'Float64Array',
  'Float32Array',
  'Int32Array',
  'Uint32Array',
  'Int16Array',
  'Uint16Array',
  'Int8Array',
  'Uint8Array',
  'Uint8ClampedArray',
] as const;

/** Methods that make a new one of their own kind. */
const makers = ['slice', 'subarray', 'map', 'filter'] as const;

export interface TypedArrays {
  readonly arrays: number;
  /** Elements of all of them. */
  readonly elements: number;
}

/**
 * The typed arrays that a call makes: by a constructor, by `from` or `of`, or by a method of another array.
 */
export function countTypedArrays(call: () => void): TypedArrays {
  let arrays = 0;
  let elements = 0;
  const seen = <T>(made: T): T => {
    arrays++;
    elements += (made as { length: number }).length;
    return made;
  };
  const put: (() => void)[] = [];
  const replace = (owner: object, name: string, value: unknown): void => {
    const before = Object.getOwnPropertyDescriptor(owner, name);
    if (before === undefined) throw new Error(`nothing to replace: ${name}`);
    Object.defineProperty(owner, name, { ...before, value });
    put.push(() => Object.defineProperty(owner, name, before));
  };
  for (const kind of kinds) {
    const original = globalThis[kind];
    replace(
      globalThis,
      kind,
      new Proxy(original, {
        construct(target, args, newTarget) {
          // Not the proxy, or `instanceof` and copies of the array would come here again.
          return seen(Reflect.construct(target, args, newTarget === globalThis[kind] ? target : newTarget));
        },
      }),
    );
  }
  const shared = Object.getPrototypeOf(globalThis.Float64Array.prototype);
  for (const name of makers) {
    const original = shared[name] as (...args: unknown[]) => unknown;
    replace(shared, name, function (this: unknown, ...args: unknown[]) {
      return seen(original.apply(this, args));
    });
  }
  try {
    call();
  } finally {
    for (const back of put.reverse()) back();
  }
  return { arrays, elements };
}
