/**
 * Discrete chance by looking it up: the condensed tables of G. Marsaglia, W. W. Tsang and J. Wang 2004 ("Fast
 * generation of discrete random variables", J. Stat. Software 11(3); from memory), many distributions in one
 * store. A value of probability p holds floor(1024 p) of 1024 slots, so that ten random bits are enough for
 * most draws. The slots left over send the draw on: to 256 slots for what the first have left of each p, and
 * from those left over to a search of the last rest. No probability is rounded to slots, and rare values keep
 * their chance.
 */

import type { RandomStream } from './random.ts';

/** Random bits that the first look takes, and slots of a distribution. */
export const slotBits = 10;
export const slotsPerTable = 1 << slotBits;
const secondBits = 8;
const secondSlots = 1 << secondBits;

/** What a slot holds whose draw goes on: not a value. */
export const drawOn = -32768;

/** What the second slots have left of each probability. */
interface Rest {
  /** First value, and what is left of each, summed up to it, over the sum of all. */
  readonly first: number;
  readonly upTo: Float64Array;
}

/** Where the slots stand. */
export interface SlotRoom {
  /** Room for so many slots that begins with the values so far. */
  slots(count: number, values?: Int16Array): Int16Array;
}

export class CondensedTables {
  readonly #room: SlotRoom;
  #slots: Int16Array;
  /** secondSlots values per distribution. */
  #second: Int16Array;
  readonly #rests: (Rest | undefined)[];

  /**
   * @param capacity  number of distributions; a higher number makes room for itself
   * @param room      where the slots stand
   */
  constructor(capacity: number, room: SlotRoom = { slots: enlarged }) {
    this.#room = room;
    this.#slots = room.slots(capacity * slotsPerTable);
    this.#second = new Int16Array(capacity * secondSlots);
    this.#rests = new Array(capacity);
  }

  /** slotsPerTable values per distribution, one after the other. A new one may move them. */
  get slots(): Int16Array {
    return this.#slots;
  }

  /** Whether the distribution of this number was set. */
  has(table: number): boolean {
    return this.#rests[table] !== undefined;
  }

  /**
   * Set a distribution: the value first + i has probability p[i] over their sum, i < count. `p` is used up.
   *
   * @param first  values lie within (-32768, 32767]
   */
  set(table: number, first: number, p: Float64Array, count: number): void {
    if ((table + 1) * slotsPerTable > this.#slots.length) {
      const capacity = Math.ceil(1.25 * (table + 1));
      this.#slots = this.#room.slots(capacity * slotsPerTable, this.#slots);
      this.#second = enlarged(capacity * secondSlots, this.#second);
    }
    const here = this.#slots.subarray(table * slotsPerTable, (table + 1) * slotsPerTable);
    fillSlots(here, first, p, count);
    const second = this.#second.subarray(table * secondSlots, (table + 1) * secondSlots);
    fillSlots(second, first, p, count);
    const upTo = new Float64Array(count);
    let sum = 0;
    for (let i = 0; i < count; i++) {
      sum += p[i];
      upTo[i] = sum;
    }
    for (let i = 0; i < count; i++) upTo[i] /= sum;
    this.#rests[table] = { first, upTo };
  }

  /** The value of a draw that a slot sent on. */
  rest(table: number, random: RandomStream): number {
    const value = this.#second[(table << secondBits) + (random.word() >>> (32 - secondBits))];
    if (value !== drawOn) return value;
    const { first, upTo } = this.#rests[table] as Rest;
    const left = random.uniform();
    let low = 0;
    let high = upTo.length - 1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (upTo[middle] < left) low = middle + 1;
      else high = middle;
    }
    return first + low;
  }
}

function enlarged(length: number, values?: Int16Array): Int16Array {
  const larger = new Int16Array(length);
  if (values) larger.set(values);
  return larger;
}

/** Give each value its whole slots, in order, and leave in `p` what they do not hold. */
function fillSlots(slots: Int16Array, first: number, p: Float64Array, count: number): void {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += p[i];
  let at = 0;
  for (let i = 0; i < count; i++) {
    const wished = (p[i] / sum) * slots.length;
    const whole = Math.floor(wished);
    slots.fill(first + i, at, at + whole);
    at += whole;
    p[i] = wished - whole;
  }
  slots.fill(drawOn, at);
}
