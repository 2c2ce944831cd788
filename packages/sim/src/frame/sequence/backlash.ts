/**
 * Backlash of a focuser: after a change of direction it moves so many steps before the camera follows. Where
 * the camera stands is then the play operator of the position (Krasnosel'skii & Pokrovskii 1989, from
 * memory): it stays as long as the position is within half of the backlash of it, and is pushed along at that
 * distance beyond. With a backlash of 0 it is the position.
 */
import type { Estimate } from '../../trials/statistics.ts';

/** Something measured at a position of the focuser. */
interface AtPosition {
  readonly position: number;
}

/**
 * Where the camera stood at each point, taken in this order: before the first, the focuser moved as to the
 * second.
 */
export function withoutBacklash<Point extends AtPosition>(
  points: readonly Point[],
  backlash: number,
): Point[] {
  const next = points.find(({ position }) => position !== points[0].position);
  const isUp = next !== undefined && next.position > points[0].position;
  let camera = points[0].position + (isUp ? -backlash : backlash) / 2;
  return points.map((point) => {
    camera = Math.min(Math.max(camera, point.position - backlash / 2), point.position + backlash / 2);
    return { ...point, position: camera };
  });
}

/** Fewer points leave nothing to tell backlash from noise. */
const leastPoints = 5;
/** Values of the backlash tried, up to the largest, before the best is refined. */
const tried = 40;
const refinements = 30;
/** Fall of chi-square, in units of its own value per degree of freedom, that backlash must bring: 3 sigma. */
const leastFall = 9;

/**
 * The backlash that makes chi-square least, with its error; undefined where moves went one way only, or where
 * none shows.
 *
 * @param chiSquareOf  of the best line through points, undefined when there is none
 */
export function fitBacklash<Point extends AtPosition>(
  points: readonly Point[],
  chiSquareOf: (points: readonly Point[]) => number | undefined,
): Estimate | undefined {
  if (points.length < leastPoints || !turns(points)) return undefined;
  const positions = points.map(({ position }) => position);
  const range = Math.max(...positions) - Math.min(...positions);
  const at = (backlash: number): number =>
    backlash < 0 ? Infinity : (chiSquareOf(withoutBacklash(points, backlash)) ?? Infinity);
  let best = { backlash: 0, chiSquare: at(0) };
  let step = range / 2 / tried;
  const look = (backlash: number): void => {
    const chiSquare = at(backlash);
    if (chiSquare < best.chiSquare) best = { backlash, chiSquare };
  };
  const none = best.chiSquare;
  for (let k = 1; k <= tried; k++) look(k * step);
  for (let n = 0; n < refinements; n++) {
    const { backlash } = best;
    step /= 2;
    look(backlash - step);
    look(backlash + step);
  }
  const scale = Math.max(1, best.chiSquare / Math.max(1, points.length - 3));
  if (!(none - best.chiSquare > leastFall * scale)) return undefined;
  const error = (side: number): number => {
    let far = Math.max(1e-9 * range, step);
    while (far < range && at(best.backlash + side * far) < best.chiSquare + scale) far *= 1.2;
    return far;
  };
  return { value: best.backlash, standardError: Math.max(error(-1), error(1)) };
}

/** Whether some move went up and another down. */
function turns(points: readonly AtPosition[]): boolean {
  const moves = points.slice(1).map(({ position }, k) => position - points[k].position);
  return moves.some((move) => move > 0) && moves.some((move) => move < 0);
}
