import { readdirSync, readFileSync } from 'node:fs';
import { parseRig, RigError, rigJsonSchema } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';

const smallest = {
  name: 'Test rig',
  telescope: { apertureMm: 150, focalLengthMm: 750, obstructionRatio: 0.3 },
  guideCamera: { pixelSizeUm: 4, exposureS: 2, readNoiseE: 2 },
  mainCamera: { pixelSizeUm: 4 },
  sky: { seeingFwhmArcsec: 2.5 },
  guideStar: { magnitude: 10 },
  filters: [{ name: 'Luminance', focusShiftUm: 0 }],
};

/** The smallest rig with one place changed. */
function changed(path: string, value: unknown): unknown {
  const rig = structuredClone(smallest) as Record<string, unknown>;
  const parts = path.split('.');
  const last = parts.pop() as string;
  const place = parts.reduce<Record<string, unknown>>((at, part) => at[part] as Record<string, unknown>, rig);
  if (value === undefined) delete place[last];
  else place[last] = value;
  return rig;
}

function faultsOf(rig: unknown) {
  try {
    parseRig(rig);
  } catch (error) {
    if (error instanceof RigError) return error.faults;
    throw error;
  }
  return [];
}

describe('a good rig', () => {
  test('is read from an object and from text alike, a byte order mark before it included', () => {
    expect(parseRig(`\uFEFF${JSON.stringify(smallest)}`)).toEqual(parseRig(smallest));
  });
  test('has its defaults filled in', () => {
    const rig = parseRig(smallest);
    expect(rig.budget).toEqual({ fwhmGrowthPercent: 5, lostFractionPercent: 2 });
    expect(rig.tracking.estimator).toBe('thresholdedCenterOfMass');
    expect(rig.guideCamera.binning).toBe(1);
    expect(rig.guideFocusShiftUm).toBe(0);
  });
  test('is not changed by reading', () => {
    const before = structuredClone(smallest);
    parseRig(smallest);
    expect(smallest).toEqual(before);
  });
  test('every example rig is one', () => {
    const folder = new URL('../../examples/rigs/', import.meta.url);
    const files = readdirSync(folder).filter((name) => name.endsWith('.json'));
    expect(files.length).toBeGreaterThanOrEqual(3);
    for (const name of files)
      expect(parseRig(readFileSync(new URL(name, folder), 'utf8')).name.length).toBeGreaterThan(3);
  });
});

describe('a faulty rig', () => {
  test.each([
    ['telescope.apertureMm', undefined, 'nothing', /given/],
    ['telescope.apertureMm', -150, '-150', /> 0/],
    ['telescope.apertureMm', '150', '"150"', /number/],
    ['telescope.obstructionRatio', 1, '1', /< 1/],
    ['telescope.focalLengthMm', Number.NaN, 'NaN', /number/],
    ['guideCamera.binning', 1.5, '1.5', /whole number/],
    ['guideCamera.readNoiseE', -1, '-1', />= 0/],
    ['sky.seeingFwhmArcsec', 0, '0', /> 0/],
    ['filters', [], '[]', /length >= 1/],
    ['tracking', { estimator: 'guess' }, '"guess"', /one of centerOfMass/],
    ['tracking', { proportionalGain: 2 }, '2', /< 2/],
    ['budget', { fwhmGrowthPercent: 0 }, '0', /> 0/],
  ])('%s = %j names field, value and what is allowed', (path, value, got, allowed) => {
    const faults = faultsOf(changed(path, value));
    expect(faults).toHaveLength(1);
    expect(faults[0].field.startsWith(path)).toBe(true);
    expect(faults[0].got).toBe(got);
    expect(faults[0].allowed).toMatch(allowed);
  });
  test.each([
    [{ apertureMm: 840, focalLengthMm: 120 }, /swapped/],
    [{ apertureMm: 0.001, focalLengthMm: 800 }, /0\.5 to 500 times the aperture/],
  ])('aperture and focal length that cannot belong together: %o', (telescope, words) => {
    const rig = { ...smallest, telescope: { ...smallest.telescope, ...telescope } };
    expect(() => parseRig(rig)).toThrow(words);
  });

  test('a misspelt name is told with the name it is near to', () => {
    const [fault] = faultsOf(changed('telescope.apertureMn', 150));
    expect(fault.field).toBe('telescope.apertureMn');
    expect(fault.allowed).toMatch(/did you mean apertureMm\?/);
  });
  test('two filters of one name are told apart', () => {
    const twice = [
      { name: 'Red', focusShiftUm: 0 },
      { name: 'Red', focusShiftUm: 10 },
    ];
    expect(faultsOf(changed('filters', twice))[0]).toMatchObject({ field: 'filters[1].name', got: '"Red"' });
  });
  test('all faults come at once', () => {
    const rig = structuredClone(smallest) as unknown as Record<string, Record<string, unknown>>;
    rig['telescope']['apertureMm'] = -1;
    rig['guideCamera']['readNoiseE'] = 'two';
    rig['sky']['seeeingFwhmArcsec'] = 2;
    (rig as unknown as { filters: unknown }).filters = [
      { name: 'Red', focusShiftUm: null },
      { name: 'Red', focusShiftUm: 3 },
    ];
    expect(faultsOf(rig).map(({ field }) => field)).toEqual([
      'telescope.apertureMm',
      'guideCamera.readNoiseE',
      'sky.seeeingFwhmArcsec',
      'filters[0].focusShiftUm',
      'filters[1].name',
    ]);
  });
  test('text that is no JSON says where it breaks', () => {
    expect(() => parseRig('{ "name": }')).toThrow(
      /valid JSON, got .*position 10|valid JSON, got .*"name": }/,
    );
  });
  describe('a text from a stranger', () => {
    const deep = (levels: number) => `{"extra":${'['.repeat(levels)}${']'.repeat(levels)}}`;
    test('200 000 levels of nesting are refused, in a text and in an object', () => {
      expect(() => parseRig(deep(200_000))).toThrow(/nested at most 64 levels deep/);
      let object: object = {};
      for (let level = 0; level < 200_000; level++) object = { extra: object };
      expect(() => parseRig(object)).toThrow(/nested at most 64 levels deep/);
      expect(() => parseRig(deep(60))).toThrow(/extra: must be a field that is known here/);
    });
    test('too long a text, or one string of it, is refused', () => {
      expect(() => parseRig(' '.repeat(10_000_001))).toThrow(/at most 10000000 characters, got 10000001/);
      expect(() => parseRig(`{\n"name": "${'x'.repeat(10_001)}"}`)).toThrow(
        /at most 10000 characters, got 10001 characters in line 2/,
      );
    });
    test('a key that is given twice is told with both lines, however it is spelled', () => {
      const text = JSON.stringify(smallest, undefined, 1).replace(
        '"name"',
        '"n\\u0061me": "first",\n\n "name"',
      );
      expect(() => parseRig(text)).toThrow('name: must be given once, got the key in lines 2 and 4');
      expect(parseRig(JSON.stringify(smallest)).filters.length).toBeGreaterThan(0);
    });
    test('control characters never reach the terminal', () => {
      const colored = '\u001b[31m\u009b';
      for (const text of [
        JSON.stringify({ ...smallest, [colored]: 1 }),
        JSON.stringify({ ...smallest, name: colored }),
        `{ "name": ${colored}`,
        `\u0000\u0001${colored}`,
      ]) {
        const messages = faultsOf(text).map(({ field, got, allowed }) => `${field} ${got} ${allowed}`);
        expect(messages.length).toBeGreaterThan(0);
        expect(messages.join()).not.toMatch(/\p{Cc}/u);
        expect(messages.join()).toContain('\\u001b');
      }
      expect(() => parseRig({ ...smallest, name: colored })).toThrow(/name: must be a text without control/);
    });
  });
  test.each([null, 3, [], 'true'])('%j is no rig', (value) => {
    expect(() => parseRig(value)).toThrow(RigError);
  });
});

test('the JSON Schema for editors is the one that the reader uses', () => {
  const file = new URL('../../packages/sim/rig.schema.json', import.meta.url);
  expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual(rigJsonSchema());
});
