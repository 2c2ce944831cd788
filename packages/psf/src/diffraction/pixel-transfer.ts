/** What pixels do to the waves of an image. */
import { writePhasor } from '../numerics/phasor.ts';
import { sinc } from '../waves/pupil-grid.ts';

/** What is left of a wave of `frequency` cycles a pixel when it is integrated over pixels: sin(pi f) / (pi f). */
export function pixelTransfer(frequency: number): number {
  if (Math.abs(frequency) < 0.5) return sinc(frequency);
  const phasor = new Float64Array(2);
  writePhasor(phasor, 0, frequency / 2);
  return phasor[1] / (Math.PI * frequency);
}
