/**
 * Exact rays through conic mirrors: an independent check of third-order formulas. Nothing here knows an
 * aberration.
 *
 * The primary's vertex is the origin and +z points up to the stars; star light comes down. A mirror with its
 * vertex at z0 is the surface c (x^2 + y^2 + (1 + K) s^2) = 2 s, s = z - z0: curvature c = 1 / R > 0 opens
 * toward +z, K is the conic constant.
 */
export interface Mirror {
  readonly z: number;
  readonly curvature: number;
  readonly conic: number;
}

export interface Telescope {
  readonly mirrors: readonly Mirror[];
  readonly apertureMm: number;
  readonly focalLengthMm: number;
  /** Height of the paraxial focus. */
  readonly focusZ: number;
  /** +1 when light goes up where it comes to the focus, -1 when down. */
  readonly lightZ: 1 | -1;
  /** Height of a thin corrector plate, which is then the stop; none when left out. */
  readonly plateZ?: number;
}

interface Vector {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

interface Ray {
  readonly at: Vector;
  readonly along: Vector;
}

const dot = (a: Vector, b: Vector): number => a.x * b.x + a.y * b.y + a.z * b.z;
const step = (from: Vector, along: Vector, t: number): Vector => ({
  x: from.x + t * along.x,
  y: from.y + t * along.y,
  z: from.z + t * along.z,
});

function reflect({ at, along }: Ray, { z, curvature: c, conic }: Mirror): Ray {
  // From the vertex plane the crossing near the vertex is the root that stays finite for a flat mirror.
  const p = step({ ...at, z: at.z - z }, along, (z - at.z) / along.z);
  const a = c * (dot(along, along) + conic * along.z * along.z);
  const b = along.z - c * dot(p, along);
  const offset = c * dot(p, p);
  const hit = step(p, along, offset / (b + Math.sign(b) * Math.sqrt(b * b - a * offset)));
  const normal = { x: c * hit.x, y: c * hit.y, z: c * (1 + conic) * hit.z - 1 };
  const turned = step(along, normal, (-2 * dot(along, normal)) / dot(normal, normal));
  return { at: { ...hit, z: hit.z + z }, along: turned };
}

/**
 * The ray that passes the point (xi, eta), in units of the aperture's radius, of the entrance pupil at the
 * primary's vertex (or at its plate), from a star whose chief ray comes to the focal plane on the +x side.
 */
export function trace(telescope: Telescope, fieldAngle: number, xi: number, eta: number): Ray {
  const { mirrors, apertureMm, plateZ } = telescope;
  const radius = apertureMm / 2;
  if (plateZ !== undefined) {
    const rho = Math.sqrt(xi * xi + eta * eta);
    const bend = rho > 0 ? plateBend(telescope, rho * radius) / rho : 0;
    const at = { x: xi * radius, y: eta * radius, z: plateZ };
    const bent = { x: Math.sin(fieldAngle) + bend * xi, y: bend * eta };
    const along = { ...bent, z: -Math.sqrt(1 - bent.x * bent.x - bent.y * bent.y) };
    return mirrors.reduce(reflect, { at, along });
  }
  const along = { x: Math.sin(fieldAngle), y: 0, z: -Math.cos(fieldAngle) };
  const start = step({ x: xi * radius, y: eta * radius, z: 0 }, along, -10 * apertureMm);
  return mirrors.reduce(reflect, { at: start, along });
}

/**
 * Sine of the bend that brings the zone at this height of the plate to the focus on the axis, by the secant
 * rule.
 */
function plateBend({ mirrors, plateZ = 0, focusZ }: Telescope, height: number): number {
  const miss = (bend: number): number => {
    const along = { x: bend, y: 0, z: -Math.sqrt(1 - bend * bend) };
    return landsAt(mirrors.reduce(reflect, { at: { x: height, y: 0, z: plateZ }, along }), focusZ).x;
  };
  let [before, now] = [0, 1e-6];
  for (let i = 0; i < 6; i++) {
    const [missBefore, missNow] = [miss(before), miss(now)];
    if (missNow === missBefore) break;
    [before, now] = [now, now - (missNow * (now - before)) / (missNow - missBefore)];
  }
  return now;
}

/** Where a ray crosses the plane at height z. */
export function landsAt(ray: Ray, z: number): { readonly x: number; readonly y: number } {
  const { x, y } = step(ray.at, ray.along, (z - ray.at.z) / ray.along.z);
  return { x, y };
}

/**
 * How far a flat sensor through the axial focus lies beyond the tangential and sagittal focus, and the image
 * height, mm.
 */
export function focusShifts(
  telescope: Telescope,
  fieldAngle: number,
): {
  readonly tangential: number;
  readonly sagittal: number;
  readonly height: number;
} {
  const { focusZ, lightZ } = telescope;
  const near = 1e-3;
  const [left, right] = [-near, near].map((xi) => trace(telescope, fieldAngle, xi, 0));
  const gap = (z: number): number => landsAt(right, z).x - landsAt(left, z).x;
  // x is linear in z along a ray: so is the gap, and it is nothing at the focus
  const tangentialZ = focusZ - gap(focusZ) / (gap(focusZ + 1) - gap(focusZ));
  const aside = trace(telescope, fieldAngle, 0, near);
  const out = (z: number): number => landsAt(aside, z).y;
  const sagittalZ = focusZ - out(focusZ) / (out(focusZ + 1) - out(focusZ));
  return {
    tangential: lightZ * (focusZ - tangentialZ),
    sagittal: lightZ * (focusZ - sagittalZ),
    height: landsAt(trace(telescope, fieldAngle, 0, 0), focusZ).x,
  };
}

/**
 * Coma of the edge of the pupil, from the means of opposite rays, which even aberrations do not move; mm, > 0
 * outwards.
 */
export function edgeComa(
  telescope: Telescope,
  fieldAngle: number,
): {
  readonly tangential: number;
  readonly sagittal: number;
} {
  const x = (xi: number, eta: number): number =>
    landsAt(trace(telescope, fieldAngle, xi, eta), telescope.focusZ).x;
  return {
    tangential: (x(1, 0) + x(-1, 0)) / 2 - x(0, 0),
    sagittal: (x(0, 1) + x(0, -1)) / 2 - x(0, 0),
  };
}

/** Centroid of the rays of a uniform annular pupil, less the chief ray, mm along x. */
export function centroidOffset(telescope: Telescope, fieldAngle: number, obstructionRatio: number): number {
  const zones = 40;
  const angles = 40;
  let sum = 0;
  for (let zone = 0; zone < zones; zone++) {
    const inner = obstructionRatio * obstructionRatio;
    const rho = Math.sqrt(inner + ((zone + 0.5) / zones) * (1 - inner));
    for (let k = 0; k < angles; k++) {
      const phi = (2 * Math.PI * (k + 0.5)) / angles;
      sum += landsAt(
        trace(telescope, fieldAngle, rho * Math.cos(phi), rho * Math.sin(phi)),
        telescope.focusZ,
      ).x;
    }
  }
  return sum / (zones * angles) - landsAt(trace(telescope, fieldAngle, 0, 0), telescope.focusZ).x;
}

export function paraboloid(apertureMm: number, focalLengthMm: number): Telescope {
  return {
    mirrors: [{ z: 0, curvature: 1 / (2 * focalLengthMm), conic: -1 }],
    apertureMm,
    focalLengthMm,
    focusZ: focalLengthMm,
    lightZ: 1,
  };
}

/**
 * Two mirrors with the focus behind the primary: m the magnification of the secondary, beta the back focus in
 * units of the primary's focal length. The conics are those of Schroeder, Astronomical Optics (from memory);
 * the test of spherical aberration on the axis confirms them.
 */
export function cassegrain(
  design: 'classical-cassegrain' | 'ritchey-chretien',
  {
    apertureMm,
    focalLengthMm,
    m,
    beta,
  }: { apertureMm: number; focalLengthMm: number; m: number; beta: number },
): Telescope {
  const f1 = focalLengthMm / m;
  const k = (1 + beta) / (m + 1);
  const aplanatic = design === 'ritchey-chretien' ? 1 : 0;
  const conic1 = -1 - (aplanatic * 2 * (1 + beta)) / (m * m * (m - beta));
  const conic2 = -(((m + 1) / (m - 1)) ** 2) - (aplanatic * 2 * m * (m + 1)) / ((m - beta) * (m - 1) ** 3);
  return {
    mirrors: [
      { z: 0, curvature: 1 / (2 * f1), conic: conic1 },
      { z: f1 * (1 - k), curvature: (m - 1) / (2 * f1 * m * k), conic: conic2 },
    ],
    apertureMm,
    focalLengthMm,
    focusZ: -beta * f1,
    lightZ: -1,
  };
}
