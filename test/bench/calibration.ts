/** Whether the machine was idle: a loop of fixed work between the turns of a row. */
import { type Spread, spreadOf } from './spread.ts';

/** One run of the loop. */
export interface Calibration {
  /** Seconds of a core that it got, per second of the clock: 1 on an idle machine. */
  readonly share: number;
  /** Loops per second of a core: falls when another process shares caches or the clock is lowered. */
  readonly speed: number;
}

/** What the loops of a row say. */
export interface Idleness {
  readonly share: Spread;
  readonly speed: Spread;
  /** Why the row counts as disturbed, in a few words; absent for a quiet one. */
  readonly disturbed?: string;
}

/**
 * Long enough that the clocks of the system, which step by up to 10 ms, tell the share to some per cent, ms.
 */
const leastMs = 150;

/**
 * Least share of a core, and largest spread (upper over lower quartile) of the loop's speed and of a ratio.
 */
const leastShare = 0.95;
const mostSpeedSpread = 1.1;
const mostRatioSpread = 1.15;

export function calibrate(): Calibration {
  const begin = performance.now();
  const before = process.cpuUsage();
  let state = 1;
  let loops = 0;
  while (performance.now() - begin < leastMs) {
    for (let i = 0; i < 1e5; i++) state = (Math.imul(state, 1664525) + 1013904223) | 0;
    loops++;
  }
  const { user, system } = process.cpuUsage(before);
  const cpuS = (user + system) / 1e6;
  // The state decides nothing; it keeps the loop from being left out.
  if (state === 0.5) throw new Error('never');
  return { share: cpuS / ((performance.now() - begin) / 1000), speed: loops / Math.max(cpuS, 1e-9) };
}

export function idlenessOf(calibrations: readonly Calibration[], ratios: readonly Spread[]): Idleness {
  const share = spreadOf(calibrations.map((each) => each.share));
  const speed = spreadOf(calibrations.map((each) => each.speed));
  const widest = ratios.reduce((most, { lower, upper }) => Math.max(most, upper / lower), 1);
  const reasons = [
    ...(share.median < leastShare ? [`a busy loop got ${Math.round(100 * share.median)} % of a core`] : []),
    ...(speed.upper > mostSpeedSpread * speed.lower ? ['its speed changed from turn to turn'] : []),
    ...(widest > mostRatioSpread
      ? [`quartiles of a ratio differ by ${Math.round(100 * (widest - 1))} %`]
      : []),
  ];
  return { share, speed, ...(reasons.length > 0 ? { disturbed: reasons.join('; ') } : {}) };
}
