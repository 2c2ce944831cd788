/** What bad columns, bad rows and trails add to a frame's pixels: taken off and remembered for the caller. */
export class FrameFaults {
  readonly pixels: Float32Array;
  /** Electrons taken off each pixel; made when needed, since it takes as much memory as the frame. */
  taken: Float32Array | undefined;

  constructor(pixels: Float32Array) {
    this.pixels = pixels;
  }

  subtract(k: number, electrons: number): void {
    this.taken ??= new Float32Array(this.pixels.length);
    this.taken[k] += electrons;
    this.pixels[k] -= electrons;
  }
}
