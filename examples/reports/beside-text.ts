/** What may stand beside the guide star, in words. */
import type { BesideStar } from '@holdfast/sim';
import { percent, significant } from '@holdfast/sim/internal';

export function besideText({ neighbor, hotPixel, galacticLatitudeDeg }: BesideStar): string {
  const { value, low, high } = neighbor.chance;
  return (
    `Chance that the window holds another star with at least 1/40 of the guide star's light: ${percent(value)} [${percent(low)}, ${percent(high)}] ` +
    `(star counts at galactic latitude ${galacticLatitudeDeg}); it moves the center of mass by up to ${significant(neighbor.pullPx, 2)} px. Chance of a hot pixel in the window: ` +
    `${percent(hotPixel.chance.value)}; it moves the position by up to ${significant(hotPixel.pullPx, 2)} px. Both are constant and go into the set point; they move the ` +
    'picture only where the ring changes.'
  );
}
