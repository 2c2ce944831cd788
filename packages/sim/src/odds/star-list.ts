/** A list of stars of the user's own, and which of them a guide field off the axis can see. */
import {
  requireFinite,
  requireList,
  requireNames,
  requireNonNegative,
  requireObject,
  requirePositive,
  requireText,
  requireWithin,
  unitVector,
} from '@holdfast/psf/numerics';

/** One star of a catalogue. */
export interface ListedStar {
  /** Right ascension, degrees. */
  readonly raDeg: number;
  /** Declination, degrees. */
  readonly decDeg: number;
  /** V magnitude. */
  readonly magnitude: number;
}

/** Stars of a catalogue, or what is wrong with the file. */
export type StarList =
  | { readonly ok: true; readonly stars: readonly ListedStar[] }
  /** What is wrong with the text, and on which line, from 1. */
  | { readonly ok: false; readonly reason: string; readonly line: number };

/** Names that a column may have, without regard to case. */
const columnNames = {
  raDeg: ['radeg', 'ra'],
  decDeg: ['decdeg', 'dec', 'de'],
  magnitude: ['magnitude', 'mag', 'v', 'vmag'],
} as const;

/**
 * Stars from comma-separated text. The first line names the columns: `ra`, `dec` (both in degrees) and `mag`,
 * in any order and among others. Empty lines and lines that begin with # are passed over. Quoted fields are
 * not read.
 *
 * ```ts
 * readStarList('ra,dec,mag\n83.82,-5.39,5.1\n') // { ok: true, stars: [{ raDeg: 83.82, decDeg: -5.39, magnitude: 5.1 }] }
 * ```
 * @returns the stars, or what is wrong and on which line
 */
export function readStarList(csv: string): StarList {
  const stars: ListedStar[] = [];
  let columns: Columns | undefined;
  const lines = requireText('csv', csv)
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/);
  for (let i = 0; i < lines.length; i++) {
    const text = lines[i].trim();
    if (text === '' || text.startsWith('#')) continue;
    const fault = (reason: string): StarList => ({ ok: false, reason, line: i + 1 });
    if (text.includes('"')) return fault('quoted fields are not read');
    const fields = text.split(',').map((field) => field.trim());
    if (columns === undefined) {
      columns = findColumns(fields);
      for (const [name, column] of Object.entries(columns))
        if (column < 0) return fault(`the first line must name a column ${name}, got ${text.slice(0, 60)}`);
      continue;
    }
    const star = {
      raDeg: toNumber(fields[columns.ra]),
      decDeg: toNumber(fields[columns.dec]),
      magnitude: toNumber(fields[columns.mag]),
    };
    if (!(star.raDeg >= 0 && star.raDeg <= 360))
      return fault(`ra must be from 0 to 360 degrees, got ${fields[columns.ra]}`);
    if (!(star.decDeg >= -90 && star.decDeg <= 90))
      return fault(`dec must be from -90 to 90 degrees, got ${fields[columns.dec]}`);
    if (!Number.isFinite(star.magnitude)) return fault(`mag must be a number, got ${fields[columns.mag]}`);
    stars.push(star);
  }
  if (columns === undefined) return { ok: false, reason: 'there is no line that names the columns', line: 1 };
  return { ok: true, stars };
}

interface Columns {
  readonly ra: number;
  readonly dec: number;
  readonly mag: number;
}

function findColumns(fields: readonly string[]): Columns {
  const find = (names: readonly string[]): number =>
    fields.findIndex((field) => names.includes(field.toLowerCase()));
  return {
    ra: find(columnNames.raDeg),
    dec: find(columnNames.decDeg),
    mag: find(columnNames.magnitude),
  };
}

const toNumber = (field: string | undefined): number =>
  field === undefined || field === '' ? Number.NaN : Number(field);

/** A guide field beside a target. */
export interface GuideFieldAt {
  /** The target, on the optical axis. */
  readonly raDeg: number;
  /** Declination of the picture's center, degrees. */
  readonly decDeg: number;
  /** From the target to the middle of the guide field, degrees, >= 0. */
  readonly offAxisDeg: number;
  /** Direction of the guide field from the target, degrees from north through east. */
  readonly positionAngleDeg: number;
  /** Side of the guide field along that direction, degrees, > 0. */
  readonly radialDeg: number;
  /** Side across it, degrees, > 0. */
  readonly acrossDeg: number;
  /** Faintest magnitude that is of use. */
  readonly faintestMagnitude: number;
}

/**
 * The stars of a list within a guide field, brightest first, each with its place on the plane that touches
 * the celestial sphere at the target (gnomonic projection, as a telescope without distortion shows it).
 *
 * @throws RangeError or TypeError naming the field that is out of range
 */
export function starsInField(stars: readonly ListedStar[], field: GuideFieldAt): ListedStar[] {
  const { raDeg, decDeg, offAxisDeg, positionAngleDeg, radialDeg, acrossDeg, faintestMagnitude } =
    requireNames(
      'field',
      field,
      'raDeg decDeg offAxisDeg positionAngleDeg radialDeg acrossDeg faintestMagnitude',
    );
  for (const [k, star] of requireList('stars', stars).entries()) {
    requireObject(`stars[${k}]`, star);
    requireFinite(`stars[${k}].raDeg`, star.raDeg);
    requireWithin(`stars[${k}].decDeg`, star.decDeg, -90, 90);
    requireFinite(`stars[${k}].magnitude`, star.magnitude);
  }
  requireFinite('raDeg', raDeg);
  requireNonNegative('offAxisDeg', offAxisDeg);
  requireFinite('positionAngleDeg', positionAngleDeg);
  requirePositive('radialDeg', radialDeg);
  requirePositive('acrossDeg', acrossDeg);
  requireFinite('faintestMagnitude', faintestMagnitude);
  requireWithin('decDeg', decDeg, -90, 90);
  const degPerUnit = 180 / Math.PI;
  const middle = unitVector(decDeg);
  const outwards = unitVector(positionAngleDeg);
  return stars
    .filter((star) => {
      if (star.magnitude > faintestMagnitude) return false;
      const at = unitVector(star.decDeg);
      const turn = unitVector(star.raDeg - raDeg);
      const ahead = middle.y * at.y + middle.x * at.x * turn.x;
      if (ahead <= 0) return false;
      const east = (degPerUnit * at.x * turn.y) / ahead;
      const north = (degPerUnit * (middle.x * at.y - middle.y * at.x * turn.x)) / ahead;
      const radial = north * outwards.x + east * outwards.y;
      const across = east * outwards.x - north * outwards.y;
      return Math.abs(radial - offAxisDeg) <= radialDeg / 2 && Math.abs(across) <= acrossDeg / 2;
    })
    .sort((a, b) => a.magnitude - b.magnitude);
}
