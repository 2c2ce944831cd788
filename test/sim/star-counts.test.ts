import { describe, expect, test } from 'vitest';
import { angleFrom, unitVector } from '../../packages/psf/src/numerics/angle.ts';
import { starsPerDeg2 } from '../../packages/sim/src/odds/star-counts.ts';
import { readStarList, starsInField } from '../../packages/sim/src/odds/star-list.ts';
import { expectWithin } from '../expect-within.ts';

describe('angles', () => {
  test('cosine and sine agree with the built-in ones, and are exact at right angles', () => {
    for (let angleDeg = -725; angleDeg <= 725; angleDeg += 7.3) {
      const { x, y } = unitVector(angleDeg);
      const angle = (angleDeg * Math.PI) / 180;
      expectWithin(x, Math.cos(angle), 3e-15, 'rounding of the angle in radians');
      expectWithin(y, Math.sin(angle), 3e-15, 'rounding of the angle in radians');
    }
    for (const [angleDeg, x, y] of [
      [0, 1, 0],
      [90, 0, 1],
      [180, -1, 0],
      [-90, 0, -1],
      [450, 0, 1],
    ]) {
      expectWithin(unitVector(angleDeg).x, x, 0, 'exact');
      expectWithin(unitVector(angleDeg).y, y, 0, 'exact');
    }
  });
  test('the angle between two directions agrees with the built-in one', () => {
    for (let a = -180; a < 180; a += 13.7)
      for (let b = -180; b < 180; b += 11.3) {
        const [from, to] = [unitVector(a), unitVector(b)];
        const angle = angleFrom(3 * from.x, 3 * from.y, 0.2 * to.x, 0.2 * to.y);
        const expected = Math.atan2(from.x * to.y - from.y * to.x, from.x * to.x + from.y * to.y);
        expectWithin(angle, expected, 1e-15, 'rounding');
      }
    expect(angleFrom(0, 0, 1, 0)).toBe(0);
    expectWithin(angleFrom(1, 0, -1, 0), Math.PI, 0, 'half a turn');
  });
});

describe('stars per square degree', () => {
  test('the formula away from the Milky Way, the table in it, and each says so', () => {
    expect(starsPerDeg2({ magnitude: 12, galacticLatitudeDeg: 20 }).note).toMatch(/^Bahcall .*, scaled to/);
    expect(starsPerDeg2({ magnitude: 12, galacticLatitudeDeg: -19.9 }).note).toMatch(/^table of Allen/);
    expect(starsPerDeg2({ magnitude: 12, galacticLatitudeDeg: 5 }).note).toMatch(/carried on/);
    expect(starsPerDeg2({ magnitude: 16, galacticLatitudeDeg: 5 }).note).not.toMatch(/carried on/);
  });
  test('north and south alike, more stars the fainter and the nearer to the Milky Way', () => {
    for (const from of ['formula', 'table', 'totals'] as const)
      for (let magnitude = 4; magnitude <= 24; magnitude += 0.7) {
        const at = (galacticLatitudeDeg: number, m = magnitude) =>
          starsPerDeg2({ magnitude: m, galacticLatitudeDeg, from }).perDeg2;
        expect(at(-40)).toBe(at(40));
        expect(at(40, magnitude + 0.1)).toBeGreaterThan(at(40));
        expect(at(30)).toBeGreaterThan(at(40));
        expect(at(70)).toBeGreaterThan(at(90));
      }
  });
  test('where the table is carried on, it goes on without a step', () => {
    for (const galacticLatitudeDeg of [0, 7, 19, 45]) {
      const at = (magnitude: number) =>
        starsPerDeg2({ magnitude, galacticLatitudeDeg, from: 'table' }).perDeg2;
      expectWithin(at(15 - 1e-9) / at(15), 1, 1e-8, 'continuous');
    }
  });
  test('interpolates the logarithm between entries', () => {
    const at = (magnitude: number, galacticLatitudeDeg: number) =>
      Math.log10(starsPerDeg2({ magnitude, galacticLatitudeDeg, from: 'table' }).perDeg2);
    expectWithin(at(15.5, 5), (3.085 + 3.46) / 2, 1e-12, 'half-way in magnitude');
    expectWithin(at(16, 7.5), (3.46 + 3.331) / 2, 1e-12, 'half-way in latitude');
    expectWithin(at(25, 90), 3.695, 1e-12, 'the last corner');
    expectWithin(
      at(15.25, 40),
      (0.75 * (2.591 * 2 + 2.209)) / 3 + (0.25 * (2.875 * 2 + 2.458)) / 3,
      1e-12,
      'both',
    );
  });
  test('refuses what it cannot answer', () => {
    const ok = { magnitude: 12, galacticLatitudeDeg: 30 };
    expect(() => starsPerDeg2({ ...ok, galacticLatitudeDeg: 91 })).toThrow(
      /galacticLatitudeDeg must be in \[-90, 90\], got 91/,
    );
    expect(() => starsPerDeg2({ ...ok, galacticLatitudeDeg: 10, from: 'formula' })).toThrow(
      /at least 20 from 0 for the formula, got 10/,
    );
    expect(() => starsPerDeg2({ ...ok, magnitude: 26 })).toThrow(/magnitude must be in \[0, 25\], got 26/);
    expect(() => starsPerDeg2({ ...ok, magnitude: Number.NaN })).toThrow(/magnitude/);
    expect(() => starsPerDeg2({ ...ok, from: 'guess' as never })).toThrow(
      /from must be one of formula, table, totals/,
    );
  });
});

describe("a star list of one's own", () => {
  test('columns by name, in any order and among others', () => {
    const list = readStarList(
      '# a comment\r\nname,Mag, DEC ,RA\r\nAlpha,9.5,-5.25,83.5\r\n\r\nBeta,11,-5.5,84\r\n',
    );
    expect(list).toEqual({
      ok: true,
      stars: [
        { raDeg: 83.5, decDeg: -5.25, magnitude: 9.5 },
        { raDeg: 84, decDeg: -5.5, magnitude: 11 },
      ],
    });
    expect(readStarList('raDeg,decDeg,magnitude')).toEqual({ ok: true, stars: [] });
  });
  test('what is wrong is named with its line', () => {
    const reason = (text: string) => {
      const list = readStarList(text);
      return list.ok ? 'ok' : `${list.line}: ${list.reason}`;
    };
    expect(reason('')).toMatch(/^1: there is no line that names the columns/);
    expect(reason('ra,dec\n1,2')).toMatch(/^1: .*column mag/);
    expect(reason('ra,dec,mag\n1,2,3\n361,2,3')).toMatch(/^3: ra must be from 0 to 360 degrees, got 361/);
    expect(reason('ra,dec,mag\n1,95,3')).toMatch(/^2: dec must be from -90 to 90 degrees, got 95/);
    expect(reason('ra,dec,mag\n1,2')).toMatch(/^2: mag must be a number, got undefined/);
    expect(reason('ra,dec,mag\n1,,3')).toMatch(/^2: dec must/);
    expect(reason('ra,dec,mag\n1,2,"3"')).toMatch(/^2: quoted fields/);
  });

  const field = {
    raDeg: 0.2,
    decDeg: 60,
    offAxisDeg: 1,
    radialDeg: 0.2,
    acrossDeg: 0.4,
    faintestMagnitude: 12,
  };
  const star = (raDeg: number, decDeg: number, magnitude = 10) => ({ raDeg, decDeg, magnitude });
  test('north is up: position angle 0 looks north, 90 east, over 0 h too', () => {
    const north = star(0.2, 61);
    // One degree east on a great circle at declination 60 is two degrees of right ascension, nearly.
    const east = star(2.2, 60);
    const west = star(358.2, 60);
    const stars = [north, east, west];
    expect(starsInField(stars, { ...field, positionAngleDeg: 0 })).toEqual([north]);
    expect(starsInField(stars, { ...field, positionAngleDeg: 90 })).toEqual([east]);
    expect(starsInField(stars, { ...field, positionAngleDeg: 270 })).toEqual([west]);
    expect(starsInField(stars, { ...field, positionAngleDeg: 180 })).toEqual([]);
  });
  test('brightest first, none too faint, edges where they are', () => {
    const stars = [
      star(0.2, 61.09, 11),
      star(0.2, 60.91, 9),
      star(0.2, 61.11),
      star(0.2, 60.89),
      star(0.2, 61, 12.5),
    ];
    const seen = starsInField(stars, { ...field, positionAngleDeg: 0 });
    expect(seen.map(({ magnitude }) => magnitude)).toEqual([9, 11]);
    const across = (acrossDeg: number) =>
      starsInField([star(0.2 + 0.19 / Math.cos((61 * Math.PI) / 180), 61)], {
        ...field,
        positionAngleDeg: 0,
        acrossDeg,
      }).length;
    expect([across(0.4), across(0.36)]).toEqual([1, 0]);
  });
  test('a star on the other side of the sphere is not seen', () => {
    expect(starsInField([star(180.2, -61)], { ...field, positionAngleDeg: 0 })).toEqual([]);
  });
  test('refuses a field that cannot be', () => {
    expect(() => starsInField([], { ...field, positionAngleDeg: 0, radialDeg: 0 })).toThrow(/radialDeg/);
    expect(() => starsInField([], { ...field, positionAngleDeg: 0, decDeg: 95 })).toThrow(/decDeg/);
  });
});
