/**
 * Amplitudes that are replaced bit by bit while a screen travels: old ones fade as a cosine, new ones grow as
 * a sine. They are independent, so their variances add up to 1 all the way.
 */
import { writePhasor } from '../numerics/angle.ts';

export class Renewal {
  /** Amplitudes that fade, and those that grow; the same ones at a whole number of hops. */
  old: Float64Array;
  fresh: Float64Array;
  /** What each is to be multiplied by. */
  fading = 1;
  growing = 0;
  readonly #draw: (out: Float64Array, generation: number) => void;
  /** Even generations stand in the first slot, odd ones in the second, so that each is drawn once. */
  readonly #slots: readonly { generation: number; readonly values: Float64Array }[];
  readonly #phasor = new Float64Array(2);

  /**
   * @param draw  fills a generation's amplitudes; it must give the same ones whenever it is asked for them
   */
  constructor(count: number, draw: (out: Float64Array, generation: number) => void) {
    this.#draw = draw;
    this.#slots = [0, 1].map(() => ({ generation: Number.NaN, values: new Float64Array(count) }));
    this.old = this.fresh = this.#slots[0].values;
  }

  /** Forget what was drawn: another sky. */
  forget(): void {
    for (const slot of this.#slots) slot.generation = Number.NaN;
  }

  /** Set the fields for a screen that has traveled by so many hops; after one hop all amplitudes are new. */
  moveTo(hops: number): void {
    const generation = Math.floor(hops);
    writePhasor(this.#phasor, 0, 0.25 * (hops - generation));
    this.fading = this.#phasor[0];
    this.growing = this.#phasor[1];
    this.old = this.#ready(generation);
    this.fresh = this.growing === 0 ? this.old : this.#ready(generation + 1);
  }

  #ready(generation: number): Float64Array {
    const slot = this.#slots[generation - 2 * Math.floor(generation / 2)];
    if (slot.generation !== generation) {
      this.#draw(slot.values, generation);
      slot.generation = generation;
    }
    return slot.values;
  }
}
