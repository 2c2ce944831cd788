/** The tables of a camera in the memory of the compiled loops, which look its pixels up there. */
import { createLoops, type Loops } from '../kernel/index.ts';

export class TableMemory {
  #loops: Loops | undefined;
  /** Largest frame, px; 0 where the engine has no such loops. */
  mostPixels = 0;
  /** Pixels that the last `lookUp` sent on. */
  sentOn = new Int32Array(0);
  #state = new Int32Array(0);
  #firstSlot = new Int32Array(0);
  #pixels = new Float64Array(0);

  /** Room for so many slots that begins with the values so far. */
  slots(count: number, values?: Int16Array): Int16Array {
    const loops = createLoops(2 * count);
    this.#loops = loops;
    this.mostPixels = loops?.mostPixels.value ?? 0;
    const slots = loops ? this.#arraysOn(loops, count) : new Int16Array(count);
    if (values) slots.set(values);
    return slots;
  }

  #arraysOn({ memory, sentOnAt, stateAt, firstSlotAt, pixelsAt, slotsAt }: Loops, count: number): Int16Array {
    const { buffer } = memory;
    this.sentOn = new Int32Array(buffer, sentOnAt.value, this.mostPixels);
    this.#state = new Int32Array(buffer, stateAt.value, 4);
    this.#firstSlot = new Int32Array(buffer, firstSlotAt.value, this.mostPixels);
    this.#pixels = new Float64Array(buffer, pixelsAt.value, 0);
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
    if (loops === undefined) return 0;
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
