import { describe, expect, test } from 'vitest';
import { unitVector, writePhasor } from '../../packages/psf/src/numerics/angle.ts';
import { expectWithin } from '../expect-within.ts';

const phasor = (turns: number): [number, number] => {
  const out = new Float64Array(2);
  writePhasor(out, 0, turns);
  return [out[0], out[1]];
};

describe('a phase in turns', () => {
  test('cosine and sine agree with those of the engine', () => {
    for (let k = -4000; k <= 4000; k++) {
      const turns = k / 997;
      const [cosine, sine] = phasor(turns);
      // The engine's argument 2 pi t is itself rounded, by up to 2e-15 for four turns.
      expectWithin(cosine, Math.cos(2 * Math.PI * turns), 4e-15, 'rounding of 2 pi t');
      expectWithin(sine, Math.sin(2 * Math.PI * turns), 4e-15, 'rounding of 2 pi t');
    }
  });

  test('it is exact at quarter turns, however many', () => {
    for (const whole of [0, 1, -3, 1e6, -123456789]) {
      expect(phasor(whole)).toEqual([1, 0]);
      expect(phasor(whole + 0.25).map(Math.abs)).toEqual([0, 1]);
      expect(phasor(whole + 0.5)[0]).toBe(-1);
      expect(phasor(whole - 0.25)[1]).toBe(-1);
    }
  });

  test('it lies on the unit circle', () => {
    for (let k = 0; k < 1000; k++) {
      const [cosine, sine] = phasor(k / 1000);
      expectWithin(cosine * cosine + sine * sine, 1, 4e-16, 'two roundings');
    }
  });
});

test('directions turn from +x toward +y', () => {
  expect(unitVector(0)).toEqual({ x: 1, y: 0 });
  expectWithin(unitVector(90).y, 1, 0, 'exact at quarter turns');
  expectWithin(unitVector(30).y, 0.5, 1e-15, 'rounding');
  expectWithin(unitVector(-60).x, 0.5, 1e-15, 'rounding');
});
