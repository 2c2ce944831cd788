import { randomStream, type StreamLabel } from '@holdfast/psf';
import { numberedStreams } from '@holdfast/psf/internal';
import { describe, expect, test } from 'vitest';
import { nextWord } from '../../packages/psf/src/chance/xoshiro.ts';
import { expectWithinSigmas } from '../expect-within.ts';
import { chiSquare, correlation, kolmogorovSmirnov } from './goodness-of-fit.ts';

const firstNumbers = (count: number, seed: StreamLabel, ...labels: StreamLabel[]): number[] => {
  const stream = randomStream(seed, ...labels);
  return Array.from({ length: count }, () => stream.uniform());
};

describe('names of streams', () => {
  test('the same seed and labels give the same numbers', () => {
    expect(firstNumbers(5, 'sweep', 3, 'photon')).toEqual(firstNumbers(5, 'sweep', 3, 'photon'));
  });

  test('labels keep their borders', () => {
    const names: StreamLabel[][] = [
      ['a', 'b'],
      ['ab'],
      ['a/b'],
      ['a', 'b', ''],
      ['', 'a', 'b'],
      ['a,b'],
      ['a","b'],
      ['["a","b"'],
      ['b', 'a'],
      [1, 23],
      [12, 3],
      [123],
    ];
    const first = names.map(([seed, ...labels]) => firstNumbers(1, seed, ...labels)[0]);
    expect(new Set(first).size).toBe(names.length);
  });

  test('a number and its decimal text name one stream, so a seed may come from a file or a command line', () => {
    expect(firstNumbers(3, 7, 2)).toEqual(firstNumbers(3, '7', '2'));
    expect(firstNumbers(3, -0)).toEqual(firstNumbers(3, 0));
  });

  test('a child stream adds its labels to the name', () => {
    const direct = firstNumbers(4, 1, 'a', 'b');
    const stepwise = randomStream(1).stream('a').stream('b');
    const atOnce = randomStream(1).stream('a', 'b');
    expect(direct.map(() => stepwise.uniform())).toEqual(direct);
    expect(direct.map(() => atOnce.uniform())).toEqual(direct);
  });

  test('a child stream does not depend on what its parent has drawn, nor the parent on its children', () => {
    const parent = randomStream('p');
    const early = parent.stream('c').uniform();
    const first = parent.uniform();
    for (let i = 0; i < 10; i++) parent.normal();
    expect(parent.stream('c').uniform()).toBe(early);
    expect(first).toBe(firstNumbers(1, 'p')[0]);
  });

  test.each([
    [Number.NaN, RangeError],
    [Infinity, RangeError],
    [undefined, TypeError],
    [null, TypeError],
    [{}, TypeError],
  ])('a seed or label of %s is refused', (bad, error) => {
    expect(() => randomStream(bad as number)).toThrow(error);
    expect(() => randomStream(bad as number)).toThrow(/seed must be text or a finite number, got/);
    expect(() => randomStream(1).stream(bad as number)).toThrow(/label must be text or a finite number, got/);
  });

  test('a child without a label would repeat its parent, and is refused', () => {
    expect(() => randomStream(1).stream()).toThrow('stream needs at least one label, got none');
  });
});

describe('uniform numbers', () => {
  const n = 400_000;
  const stream = randomStream('uniform');
  const sample = Float64Array.from({ length: n }, () => stream.uniform());

  test('lie strictly between 0 and 1 and carry 53 bits', () => {
    expect(sample.every((u) => u > 0 && u < 1 && Number.isInteger(u * 2 ** 53))).toBe(true);
    const lowBits = sample.filter((u) => (u * 2 ** 53) % 2 === 1).length;
    // Half of them use the last bit: 200,000 +- 316.
    expect(Math.abs(lowBits - n / 2)).toBeLessThan(4 * Math.sqrt(n / 4));
  });

  test('fill 1000 classes evenly; one class fuller by 20 % would show', () => {
    const counts = new Array<number>(1000).fill(0);
    for (const u of sample) counts[Math.floor(u * 1000)]++;
    const even = new Array<number>(1000).fill(1e-3);
    const fit = chiSquare(counts, even);
    expect(fit.statistic).toBeLessThan(fit.critical);

    // The same sample with the counts of 60 classes raised by a fifth at the cost of 60 others.
    const uneven = counts.map((c, i) => (i < 60 ? c * 1.2 : i < 120 ? c * 0.8 : c));
    const misfit = chiSquare(uneven, even);
    expect(misfit.statistic).toBeGreaterThan(misfit.critical);
  });
});

describe('streams of neighboring names are independent', () => {
  const n = 40_000;
  const naming: [string, (i: number) => ReturnType<typeof randomStream>][] = [
    ['numbered seeds', (i) => randomStream(i)],
    ['numbered last labels', (i) => randomStream('sweep', 'trial', i)],
    ['numbered first labels', (i) => randomStream('sweep', i, 'photon')],
  ];

  /** Chi-square of pairs (u_i, u_i+1) on a 16 x 16 grid, of pairs that share no number. */
  const pairs = (u: Float64Array) => {
    const counts = new Array<number>(256).fill(0);
    for (let i = 0; i + 1 < u.length; i += 2)
      counts[16 * Math.floor(16 * u[i]) + Math.floor(16 * u[i + 1])]++;
    return chiSquare(counts, new Array<number>(256).fill(1 / 256));
  };

  describe.each(naming)('%s', (_, streamOf) => {
    const draws = [1, 2, 3, 10].map((skip) => {
      const u = new Float64Array(n);
      for (let i = 0; i < n; i++) {
        const stream = streamOf(i);
        for (let k = 0; k < skip; k++) u[i] = stream.uniform();
      }
      return { skip, u };
    });

    test.each(draws)('number $skip of each', ({ u }) => {
      const r = correlation(u.subarray(0, n - 1), u.subarray(1));
      expect(Math.abs(r) * Math.sqrt(n)).toBeLessThan(4); // in standard errors
      const fit = pairs(u);
      expect(fit.statistic).toBeLessThan(fit.critical);

      // Second differences modulo 1 are uniform too; numbers in arithmetic progression would all fall into
      // one class.
      const counts = new Array<number>(64).fill(0);
      for (let i = 0; i + 2 < n; i += 3)
        counts[Math.floor(64 * ((u[i] - 2 * u[i + 1] + u[i + 2] + 2) % 1))]++;
      const steps = chiSquare(counts, new Array<number>(64).fill(1 / 64));
      expect(steps.statistic).toBeLessThan(steps.critical);
    });
  });

  test('the photon and the read stream of one trial are independent', () => {
    const photon = new Float64Array(n);
    const read = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const trial = randomStream('camera').stream(i);
      photon[i] = trial.stream('photon').uniform();
      read[i] = trial.stream('read').uniform();
    }
    expect(Math.abs(correlation(photon, read)) * Math.sqrt(n)).toBeLessThan(4);
  });

  test('neighbors that share one number in twenty would show', () => {
    const u = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const copies = i % 2 === 1 && randomStream('copies', i).uniform() < 0.05;
      u[i] = copies ? u[i - 1] : randomStream(i).uniform();
    }
    const fit = pairs(u);
    expect(fit.statistic).toBeGreaterThan(fit.critical);
  });
});

describe('streams by number', () => {
  const streamOf = () => numberedStreams('by number', 'trial');

  test('an index has one stream, whatever was asked before; another index, seed or label another', () => {
    const [a, b] = [streamOf(), streamOf()];
    const first = Array.from({ length: 5 }, () => a(7).uniform());
    expect(new Set(first).size).toBe(1);
    a(3).normal();
    const seven = a(7);
    expect(b(7).uniform()).toBe(seven.uniform());
    expect(b(7).poisson(3)).toBe(streamOf()(7).poisson(3));
    const others = [
      streamOf()(8),
      numberedStreams('by number')(7),
      numberedStreams('other', 'trial')(7),
      streamOf()(2 ** 32 - 1),
    ].map((stream) => stream.uniform());
    expect(new Set([first[0], ...others]).size).toBe(5);
  });

  test('its named children are those of the stream of that name', () => {
    const child = streamOf()(12).stream('photon');
    expect(child.uniform()).toBe(randomStream('by number', 'trial', 12, 'photon').uniform());
    expect(() => streamOf()(1).stream()).toThrow('at least one label');
  });

  test('its first numbers are even over many indices, and those of neighbors unrelated', () => {
    const stream = streamOf();
    const n = 100_000;
    const sample = Float64Array.from({ length: n }, (_, i) => stream(i).uniform());
    const fit = kolmogorovSmirnov(sample, (u) => u);
    expect(fit.statistic).toBeLessThan(fit.critical);
    for (const lag of [1, 2, 16, 64, 1024])
      expectWithinSigmas(
        correlation(sample.subarray(lag), sample.subarray(0, n - lag)),
        0,
        1 / Math.sqrt(n - lag),
        4,
      );
  });

  test('words are the bits that come next, each even and unrelated to the next ones', () => {
    const stream = streamOf();
    const words = new Int32Array(4);
    stream(9).words(words);
    const again = stream(9);
    expect([...words]).toEqual([again.word(), again.word(), again.word(), again.word()]);
    const n = 4000;
    const ones = new Float64Array(32);
    const flips = new Float64Array(32);
    const many = new Int32Array(64);
    for (let i = 0; i < n; i++) {
      stream(i).words(many);
      for (let j = 0; j < many.length; j++)
        for (let bit = 0; bit < 32; bit++) {
          ones[bit] += (many[j] >>> bit) & 1;
          if (j > 0) flips[bit] += ((many[j] ^ many[j - 1]) >>> bit) & 1;
        }
    }
    for (let bit = 0; bit < 32; bit++) {
      expectWithinSigmas(ones[bit] / (64 * n), 0.5, 0.5 / Math.sqrt(64 * n), 4.5);
      expectWithinSigmas(flips[bit] / (63 * n), 0.5, 0.5 / Math.sqrt(63 * n), 4.5);
    }
  });

  test('give the recurrence of its authors', () => {
    // What the C code of Blackman & Vigna (2018) gives from the state (1, 2, 3, 4), from memory.
    const state = Int32Array.of(1, 2, 3, 4);
    const numbers = Array.from({ length: 5 }, () => nextWord(state) >>> 0);
    expect(numbers).toEqual([11520, 0, 5927040, 70819200, 2031721883]);
  });
});
