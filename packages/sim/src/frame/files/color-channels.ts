/** One image out of a picture whose pixels have colors: a channel, or the sum of all three. */
import type { Picture } from './picture.ts';

/** Which light to take of a frame with colors. */
export type ColorTake = 'sum' | 'red' | 'green' | 'blue';

export const colorTakes = ['sum', 'red', 'green', 'blue'] as const;

export interface Plane {
  readonly pixels: Float64Array;
  /** Value from which on a pixel is saturated. */
  readonly saturation?: number;
  /** The pixels had colors, each of its own. */
  readonly colored: boolean;
  readonly warnings: readonly string[];
}

/**
 * A gray picture is its own plane, and so is one whose three channels are the same. A sum in which one
 * channel is saturated is set to the sum's own saturation: three times the channel's. An alpha channel is
 * left out.
 */
export function planeOf(
  picture: Pick<Picture, 'width' | 'height' | 'channels' | 'samples' | 'top'>,
  take: ColorTake,
): Plane {
  const { width, height, channels, samples, top } = picture;
  const count = width * height;
  const pixels = new Float64Array(count);
  const warnings: string[] = [];
  if (channels === 2 || channels === 4) warnings.push('the alpha channel was left out');
  const colors = channels >= 3;
  if (!colors || isGray(samples, channels, count)) {
    if (colors) warnings.push('its three channels are the same: one of them was taken');
    for (let k = 0; k < count; k++) pixels[k] = samples[k * channels];
    return { pixels, ...(top === undefined ? {} : { saturation: top }), colored: false, warnings };
  }
  if (take !== 'sum') {
    const channel = colorTakes.indexOf(take) - 1;
    for (let k = 0; k < count; k++) pixels[k] = samples[k * channels + channel];
    warnings.push(`of its colors ${take} was taken`);
    return { pixels, ...(top === undefined ? {} : { saturation: top }), colored: true, warnings };
  }
  const full = top ?? Infinity;
  for (let k = 0, at = 0; k < count; k++, at += channels) {
    const [r, g, b] = [samples[at], samples[at + 1], samples[at + 2]];
    pixels[k] = r >= full || g >= full || b >= full ? 3 * full : r + g + b;
  }
  warnings.push('its three channels were summed');
  return { pixels, ...(top === undefined ? {} : { saturation: 3 * top }), colored: true, warnings };
}

function isGray(samples: ArrayLike<number>, channels: number, count: number): boolean {
  for (let k = 0, at = 0; k < count; k++, at += channels)
    if (samples[at] !== samples[at + 1] || samples[at] !== samples[at + 2]) return false;
  return true;
}
