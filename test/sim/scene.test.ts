import { exp, log } from '@holdfast/psf/numerics';
import { buildScene, prepareScene } from '@holdfast/sim';
import { describe, expect, test } from 'vitest';
import { fluxForSnr, matchedSnr } from '../../packages/sim/src/trials/matched-snr.ts';
import { expectWithin } from '../expect-within.ts';
import { smallRig } from './small-rig.ts';

const rig = smallRig();

describe('the expected view', () => {
  test('the ring is the focus shift over the F-number', () => {
    const scene = buildScene(rig, { focusShiftUm: 200 });
    expectWithin(scene.outerDiameterUm, 40, 1e-9, '200 µm at F/5');
    expectWithin(scene.outerDiameterPx, 10, 1e-9, '4 µm pixels');
  });
  test('it is the same on both sides of focus', () => {
    const { setting: _, edgeWaves: after, ...beyond } = buildScene(rig, { focusShiftUm: 150 });
    const { setting: __, edgeWaves: before, ...ahead } = buildScene(rig, { focusShiftUm: -150 });
    expect(ahead).toEqual(beyond);
    expect(before).toBe(-after);
  });
  test('the stamp holds nearly all of the light, wherever in its pixel the star lies', () => {
    for (const focusShiftUm of [0, 50, 200, 1000]) {
      const scene = buildScene(rig, { focusShiftUm });
      const plan = prepareScene(scene);
      const stamp = new Float64Array(scene.width * scene.height);
      for (const off of [-0.5, 0, 0.5])
        expect(plan.renderInto(stamp, scene.column + off, scene.row - off, 1)).toBeGreaterThan(0.999);
    }
  });
  test('the SNR asked for is the SNR had, at any focus shift', () => {
    for (const snr of [5, 50, 500])
      for (const focusShiftUm of [0, 300])
        expectWithin(buildScene(rig, { focusShiftUm, snr }).snr, snr, 1e-6 * snr, 'root search');
  });
  test('its flux is, to the last bit, that of plain bisection', () => {
    for (const snr of [0.01, 5, 300, 1e5])
      for (const variance of [0, 1e-3, 40, 1e5]) {
        const profile = Float64Array.from({ length: 12 }, (_, k) => (k % 4) * 0.05);
        let [low, high] = [log(1e-3), log(1e14)];
        for (let i = 0; i < 100; i++) {
          const middle = 0.5 * (low + high);
          if (matchedSnr(profile, variance, exp(middle)) < snr) low = middle;
          else high = middle;
        }
        expect(fluxForSnr(profile, variance, snr)).toBe(exp(0.5 * (low + high)));
      }
  });
  test('a fainter star has fewer electrons by the definition of the magnitude', () => {
    const bright = buildScene(rig, { focusShiftUm: 0, magnitude: 8 }).fluxE;
    expectWithin(
      bright / buildScene(rig, { focusShiftUm: 0, magnitude: 13 }).fluxE,
      100,
      1e-9,
      '5 mag = factor 100',
    );
  });
  test('binning sums light, sky and dark of its pixels, and read noise in quadrature', () => {
    const one = buildScene(rig, { focusShiftUm: 100 });
    const two = buildScene(rig, { focusShiftUm: 100, binning: 2 });
    expectWithin(two.fluxE, one.fluxE, 1e-9 * one.fluxE, 'the same star');
    expectWithin(two.backgroundE, 4 * one.backgroundE, 1e-9 * one.backgroundE, 'four pixels');
    expectWithin(two.outerDiameterPx, one.outerDiameterPx / 2, 1e-12, 'twice the pixel');
    expectWithin(two.camera.readNoiseE, 2 * one.camera.readNoiseE, 1e-12, 'four reads in quadrature');
  });
  test('a measured flux is that of a frame of the rig, and scales with the exposure', () => {
    expect(buildScene(rig, { focusShiftUm: 0, fluxE: 5000 }).fluxE).toBe(5000);
    expect(buildScene(rig, { focusShiftUm: 0, fluxE: 5000, exposureS: 4 }).fluxE).toBe(10000);
  });
  test('an SNR out of range is refused', () => {
    expect(() => buildScene(rig, { focusShiftUm: 0, snr: 0 })).toThrow(/snr must be in/);
  });
});
