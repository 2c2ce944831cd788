/** The tables of a camera in the memory of the compiled loops, which look its pixels up there. */
import { createLoops, growTo, type Loops } from '../kernel/index.ts';

export class TableMemory {
  readonly #loops: Loops;
  /** Largest frame, px. */
  readonly mostPixels: number;
  /** Pixels that the last `lookUp` sent on. */
  sentOn = new Int32Array(0);
  #state = new Int32Array(0);
  #firstSlot = new Int32Array(0);
  #pixels = new Float64Array(0);

  constructor(loops: Loops) {
    this.#loops = loops;
    this.mostPixels = loops.mostPixels.value;
  }

  /** Room for so many slots. It holds what the last one held, and takes its place. */
  slots(count: number): Int16Array {
    const { memory, stateAt, pixelsAt, firstSlotAt, sentOnAt, slotsAt } = this.#loops;
    growTo(this.#loops, slotsAt.value + 2 * count);
    const { buffer } = memory;
    this.sentOn = new Int32Array(buffer, sentOnAt.value, this.mostPixels);
    this.#state = new Int32Array(buffer, stateAt.value, 4);
    this.#firstSlot = new Int32Array(buffer, firstSlotAt.value, this.mostPixels);
    this.#pixels = new Float64Array(buffer, pixelsAt.value, this.#pixels.length);
    return new Int16Array(buffer, slotsAt.value, count);
  }

  /**
   * The look of each pixel, its value times `gain`.
   *
   * @param out    up to `mostPixels` of them
   * @param state  of the generator of words; it goes on
   * @returns how many pixels are sent on
   */
  lookUp(out: Float64Array, firstSlot: Int32Array, state: Int32Array, gain: number): number {
    const loops = this.#loops;
    if (this.#pixels.length !== out.length)
      this.#pixels = new Float64Array(loops.memory.buffer, loops.pixelsAt.value, out.length);
    this.#firstSlot.set(firstSlot);
    this.#state.set(state);
    const waiting = loops.lookUp(out.length, gain);
    state.set(this.#state);
    out.set(this.#pixels);
    return waiting;
  }
}

/** Undefined where the engine has no such loops. */
export function createTableMemory(): TableMemory | undefined {
  const loops = createLoops();
  return loops && new TableMemory(loops);
}
