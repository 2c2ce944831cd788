/** Memory of the rows of a summed-area table, where compiled loops reach it if the engine has them. */
import { createBoxLoops } from '@holdfast/psf/numerics';

/** The compiled loop, as psf has it. Typed here, since users of this package need not have psf. */
export interface BoxLoops {
  readonly memory: { readonly buffer: ArrayBuffer };
  boxesReaching(...numbers: number[]): number;
}

/** Doubles of a table, zeros where it begins: in its first row and its first column. */
export interface TableMemory {
  readonly light: Float64Array;
  /** Room for the columns of a row. */
  readonly columns: Int32Array;
  /** Undefined where the engine has none, and for a small table, which takes less time than their memory. */
  readonly loops: BoxLoops | undefined;
}

/** Tables with fewer entries are summed by TypeScript alone. */
const leastEntries = 2 ** 16;

/** One frame of a camera after the other is searched: the memory of the last one serves the next. */
let kept: WeakRef<BoxLoops> | undefined;

export function tableMemory(rows: number, stride: number): TableMemory {
  const entries = rows * stride;
  const loops = entries < leastEntries ? undefined : borrowLoops(8 * entries + 4 * stride);
  if (loops === undefined)
    return { light: new Float64Array(entries), columns: new Int32Array(stride), loops: undefined };
  const { buffer } = loops.memory;
  const light = new Float64Array(buffer, 0, entries);
  light.fill(0, 0, stride);
  for (let row = 1; row < rows; row++) light[row * stride] = 0;
  return { light, columns: new Int32Array(buffer, 8 * entries, stride), loops };
}

function borrowLoops(bytes: number): BoxLoops | undefined {
  const last = kept?.deref();
  kept = undefined;
  if (last !== undefined && last.memory.buffer.byteLength >= bytes) return last;
  return createBoxLoops(bytes);
}

/** Let the next table have it. */
export function returnMemory({ loops }: TableMemory): void {
  if (loops !== undefined) kept = new WeakRef(loops);
}
