/**
 * Polygons against discs and half-planes: the areas that shadows are made of. Corners lie one after the
 * other, x then y.
 */
import { angleFrom } from '@holdfast/psf/numerics';

/**
 * Area that a polygon shares with the disc of this radius around the origin, exactly; > 0 with the corners
 * from +x toward +y.
 *
 * Each side together with the origin spans a triangle; the disc keeps a triangle of what lies inside of it
 * and a sector of what lies outside, and the signed sum over the sides is the area.
 */
export function polygonDiscArea(corners: Float64Array, radius: number): number {
  const count = corners.length / 2;
  const square = radius * radius;
  let doubled = 0;
  for (let i = 0, j = count - 1; i < count; j = i++) {
    const ax = corners[2 * j];
    const ay = corners[2 * j + 1];
    const bx = corners[2 * i];
    const by = corners[2 * i + 1];
    const dx = bx - ax;
    const dy = by - ay;
    const length2 = dx * dx + dy * dy;
    if (length2 === 0) continue;
    // |a + t d| = radius
    const middle = -(ax * dx + ay * dy) / length2;
    const aside = (ax * dy - ay * dx) ** 2 / length2;
    const half = Math.sqrt(Math.max(0, square - aside) / length2);
    const from = Math.max(0, middle - half);
    const to = Math.min(1, middle + half);
    if (!(from < to)) {
      doubled += square * angleFrom(ax, ay, bx, by);
      continue;
    }
    const px = ax + from * dx;
    const py = ay + from * dy;
    const qx = ax + to * dx;
    const qy = ay + to * dy;
    if (from > 0) doubled += square * angleFrom(ax, ay, px, py);
    doubled += px * qy - py * qx;
    if (to < 1) doubled += square * angleFrom(qx, qy, bx, by);
  }
  return doubled / 2;
}

/** The part of a convex polygon where x nx + y ny <= distance; no corners when none is left. */
export function clipPolygon(corners: Float64Array, nx: number, ny: number, distance: number): Float64Array {
  const count = corners.length / 2;
  const kept: number[] = [];
  for (let i = 0, j = count - 1; i < count; j = i++) {
    const ax = corners[2 * j];
    const ay = corners[2 * j + 1];
    const bx = corners[2 * i];
    const by = corners[2 * i + 1];
    const a = ax * nx + ay * ny - distance;
    const b = bx * nx + by * ny - distance;
    if (a <= 0 !== b <= 0) {
      const t = a / (a - b);
      kept.push(ax + t * (bx - ax), ay + t * (by - ay));
    }
    if (b <= 0) kept.push(bx, by);
  }
  return Float64Array.from(kept);
}
