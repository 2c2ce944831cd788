/** What may stand beside the guide star, in words. */
import type { BesideStar } from '@holdfast/sim';
import { percent, significant } from '@holdfast/sim/internal';

export function besideText({ neighbor, hotPixel, galacticLatitudeDeg }: BesideStar): string {
  const { value, low, high } = neighbor.chance;
  return (
    `In the window beside the guide star: a star of at least a fortieth of its light with ${percent(value)} [${percent(low)}, ${percent(high)}] ` +
    `(star counts at galactic latitude ${galacticLatitudeDeg}), which pulls a center of mass by up to ${significant(neighbor.pullPx, 2)} px; a hot pixel ` +
    `with ${percent(hotPixel.chance.value)}, by up to ${significant(hotPixel.pullPx, 2)} px. Either is a constant that goes into the set point; it moves the ` +
    'picture only where the ring changes.'
  );
}
