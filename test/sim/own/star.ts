/** A star as a user gives one: a disc of even light as wide as the geometric ring, on cells of 1/4 px. */
import type { OwnStar } from '@holdfast/sim';

const cellsPerPx = 4;

const disc: OwnStar = {
  name: 'disc',
  module: import.meta.url,
  shapeAt({ focusShiftUm, pixelUm }) {
    const radius = (cellsPerPx * (3 + Math.abs(focusShiftUm) / 20 / pixelUm)) / 2;
    const columns = 2 * Math.ceil(radius) + 1;
    const middle = (columns - 1) / 2;
    const light = Array.from({ length: columns * columns }, (_, k) =>
      Math.hypot((k % columns) - middle, Math.floor(k / columns) - middle) <= radius ? 1 : 0,
    );
    return { kind: 'table', columns, light, cellsPerPx };
  },
};

export default disc;
