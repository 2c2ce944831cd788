/**
 * A pupil cut along lines of constant y: where on a line the light passes, exactly.
 *
 * Every part of a pupil is convex, so that a line meets it in one stretch. The light is what all open parts
 * share, less all parts that stand in the way.
 */
import { unitVector } from '../numerics/angle.ts';
import { type Pupil, requirePupil } from './pupil.ts';

interface Disc {
  readonly kind: 'disc';
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** The points where a x + b y <= c, for every side of the list. */
interface Polygon {
  readonly kind: 'polygon';
  readonly sides: readonly Side[];
}

interface Side {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

type Part = Disc | Polygon;

/** The lit stretches of lines across a pupil. It holds its own scratch: one serves one caller at a time. */
export interface PupilRows {
  /**
   * The stretches of the line at `y` that the light passes, as pairs from, to in ascending order in
   * `stretches`.
   *
   * @returns how many there are
   */
  cut(y: number): number;
  readonly stretches: Float64Array;
  /**
   * Ascending values of y between which the ends of the stretches are smooth functions of y: where parts
   * begin, end and cross each other. The first and the last bound the pupil.
   */
  readonly breaks: Float64Array;
}

/** @throws RangeError or TypeError naming the field of the pupil that is out of range */
export function pupilRows(pupil: Pupil): PupilRows {
  requirePupil(pupil);
  const { open, blocking } = parts(pupil);
  const stretches = new Float64Array(2 * (blocking.length + 1));
  const bounds = new Float64Array(2);
  const cut = (y: number): number => {
    let from = -Infinity;
    let to = Infinity;
    for (let k = 0; k < open.length; k++) {
      across(open[k], y, bounds);
      from = Math.max(from, bounds[0]);
      to = Math.min(to, bounds[1]);
    }
    if (!(to > from)) return 0;
    stretches[0] = from;
    stretches[1] = to;
    let count = 1;
    for (let k = 0; k < blocking.length; k++) {
      across(blocking[k], y, bounds);
      if (bounds[1] > bounds[0]) count = removeStretch(stretches, count, bounds[0], bounds[1]);
    }
    return count;
  };
  return { cut, stretches, breaks: smoothBreaks([...open, ...blocking]) };
}

function parts(pupil: Pupil): { open: Part[]; blocking: Part[] } {
  const { obstructionRatio, obstructionCenter = { x: 0, y: 0 }, vanes, clip, footprint } = pupil;
  const open: Part[] = [{ kind: 'disc', x: 0, y: 0, radius: 1 }];
  const blocking: Part[] = [];
  if (clip) {
    const away = unitVector(clip.angleDeg ?? 0);
    open.push({ kind: 'polygon', sides: [{ a: away.x, b: away.y, c: clip.distance }] });
  }
  if (footprint) {
    const { width, height, x = 0, y = 0, angleDeg = 0 } = footprint;
    const along = unitVector(angleDeg);
    const sides = [
      ...strip(along.x, along.y, x * along.x + y * along.y, width / 2),
      ...strip(-along.y, along.x, -x * along.y + y * along.x, height / 2),
    ];
    open.push({ kind: 'polygon', sides });
  }
  if (obstructionRatio > 0) blocking.push({ kind: 'disc', ...obstructionCenter, radius: obstructionRatio });
  for (let k = 0; vanes && k < vanes.count; k++) {
    const along = unitVector((vanes.angleDeg ?? 0) + (360 * k) / vanes.count);
    const { x, y } = obstructionCenter;
    const sides = [
      // A width over the diameter is half a width over the radius.
      ...strip(-along.y, along.x, -x * along.y + y * along.x, vanes.widthRatio),
      { a: -along.x, b: -along.y, c: -(x * along.x + y * along.y) },
    ];
    blocking.push({ kind: 'polygon', sides });
  }
  return { open, blocking };
}

/** |a x + b y - middle| <= half. */
function strip(a: number, b: number, middle: number, half: number): Side[] {
  return [
    { a, b, c: middle + half },
    { a: -a, b: -b, c: half - middle },
  ];
}

/** Where the line at y meets a part: bounds[0] >= bounds[1] when it does not. */
function across(part: Part, y: number, bounds: Float64Array): void {
  let from = -Infinity;
  let to = Infinity;
  if (part.kind === 'disc') {
    const height = y - part.y;
    const square = (part.radius - height) * (part.radius + height);
    const half = square > 0 ? Math.sqrt(square) : 0;
    from = part.x - half;
    to = part.x + half;
  } else {
    for (let k = 0; k < part.sides.length; k++) {
      const { a, b, c } = part.sides[k];
      const rest = c - b * y;
      if (a > 0) to = Math.min(to, rest / a);
      else if (a < 0) from = Math.max(from, rest / a);
      else if (rest < 0) to = -Infinity;
    }
  }
  bounds[0] = from;
  bounds[1] = to;
}

/** Take [from, to] out of the first `count` stretches and return how many are left. */
function removeStretch(stretches: Float64Array, count: number, from: number, to: number): number {
  for (let k = 0; k < count; k++) {
    const left = stretches[2 * k];
    const right = stretches[2 * k + 1];
    if (to <= left || from >= right) continue;
    if (from > left && to < right) {
      stretches.copyWithin(2 * k + 2, 2 * k, 2 * count);
      stretches[2 * k + 1] = from;
      stretches[2 * k + 2] = to;
      return count + 1; // A stretch that is split has swallowed the hole: no other is touched.
    }
    if (from <= left && to >= right) {
      stretches.copyWithin(2 * k, 2 * k + 2, 2 * count);
      count--;
      k--;
    } else if (from <= left) stretches[2 * k] = to;
    else stretches[2 * k + 1] = from;
  }
  return count;
}

function smoothBreaks(all: readonly Part[]): Float64Array {
  const discs = all.filter((part) => part.kind === 'disc');
  const sides = all.flatMap((part) => (part.kind === 'polygon' ? part.sides : []));
  const found = [-1, 1];
  /** A crossing matters only in the aperture. */
  const add = (x: number, y: number): void => {
    if (x * x + y * y < 1 + 1e-9 && Math.abs(y) < 1) found.push(y);
  };
  discs.forEach((disc, k) => {
    add(disc.x, disc.y - disc.radius);
    add(disc.x, disc.y + disc.radius);
    for (const other of discs.slice(k + 1)) crossDiscs(disc, other, add);
    for (const side of sides) crossDiscAndSide(disc, side, add);
  });
  sides.forEach((side, k) => {
    if (side.a === 0) add(0, side.c / side.b);
    for (const other of sides.slice(k + 1)) {
      const area = side.a * other.b - other.a * side.b;
      if (area !== 0)
        add((side.c * other.b - other.c * side.b) / area, (side.a * other.c - other.a * side.c) / area);
    }
  });
  found.sort((one, two) => one - two);
  return Float64Array.from(found.filter((y, k) => k === 0 || y - found[k - 1] > 1e-14));
}

type AddPoint = (x: number, y: number) => void;

function crossDiscAndSide(disc: Disc, { a, b, c }: Side, add: AddPoint): void {
  // (a, b) is a unit vector: the foot of the perpendicular, and half the chord along the side.
  const distance = c - a * disc.x - b * disc.y;
  const square = disc.radius * disc.radius - distance * distance;
  if (square < 0) return;
  const half = Math.sqrt(square);
  const x = disc.x + a * distance;
  const y = disc.y + b * distance;
  add(x - b * half, y + a * half);
  add(x + b * half, y - a * half);
}

function crossDiscs(one: Disc, two: Disc, add: AddPoint): void {
  const dx = two.x - one.x;
  const dy = two.y - one.y;
  const apart = Math.sqrt(dx * dx + dy * dy);
  if (apart === 0) return;
  // The chord that both share lies on a straight line: cross the first disc with it.
  const distance = (apart * apart + one.radius * one.radius - two.radius * two.radius) / (2 * apart);
  const a = dx / apart;
  const b = dy / apart;
  crossDiscAndSide(one, { a, b, c: distance + a * one.x + b * one.y }, add);
}
