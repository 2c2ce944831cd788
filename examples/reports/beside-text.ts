/** What may stand beside the guide star, in words. */
import type { BesideStar } from '@holdfast/sim';
import { percent, significant } from '@holdfast/sim/internal';

export function besideText({ neighbor, hotPixel, galacticLatitudeDeg }: BesideStar): string {
  const { value, low, high } = neighbor.chance;
  return (
    `Beside the guide star, its window holds a star of at least a fortieth of its light with a chance of ${percent(value)} [${percent(low)}, ${percent(high)}] ` +
    `(star counts at galactic latitude ${galacticLatitudeDeg}). It pulls a center of mass by up to ${significant(neighbor.pullPx, 2)} px. The window holds a hot pixel ` +
    `with a chance of ${percent(hotPixel.chance.value)}, which pulls by up to ${significant(hotPixel.pullPx, 2)} px. Either is a constant that goes into the set point; it moves the ` +
    'picture only where the ring changes.'
  );
}
