/**
 * What a control loop with one correction a frame does, by theory: whether it is stable, how much of a
 * disturbance it leaves, how much of the measurement's noise it turns into motion. Linear: no dead zone, no
 * limits, no lost frames.
 */
import { requireFinite, requireNonNegative, requirePositive, unitVector } from '@holdfast/psf/numerics';

/** When things happen in the loop. */
export interface LoopTiming {
  /** Exposure of a guide frame, s. */
  readonly exposureS: number;
  /** From the end of the exposure to the correction: readout and computing, s. */
  readonly delayS: number;
  /** Correction interval, from the start of a frame to that of the next, s; at least the exposure. */
  readonly intervalS: number;
}

/** What the loop does with a measured offset. */
export interface LoopGains {
  /** Share of a measured offset that one correction takes out. */
  readonly proportionalGain: number;
  /** Share of a measured offset that is added to every later correction. Default 0. */
  readonly integralGain?: number;
}

/**
 * How a correction shows up in the frames after the one that it came from: element j is the share by which
 * frame j + 1 sees more of it than the frame before. [1] when it is done before the next exposure starts, [0,
 * 1] with one frame's extra delay, [0.75, 0.25] when it comes after the first quarter of the next exposure.
 *
 * @throws RangeError when a time is out of range
 */
export function correctionShares({ exposureS, delayS, intervalS }: LoopTiming): Float64Array {
  requirePositive('exposureS', exposureS);
  requireNonNegative('delayS', delayS);
  requirePositive('intervalS', intervalS);
  if (intervalS < exposureS * (1 - 1e-12))
    throw new RangeError(`intervalS must be at least the exposure of ${exposureS} s, got ${intervalS}`);
  const shares: number[] = [];
  let seen = 0;
  for (let frame = 1; seen < 1; frame++) {
    const after = (frame * intervalS - delayS) / exposureS;
    // A correction due at the very start of an exposure is seen in full.
    const now = after > 1 - 1e-9 ? 1 : Math.max(0, after);
    shares.push(now - seen);
    seen = now;
  }
  return Float64Array.from(shares);
}

/**
 * Whether the loop comes to rest: all roots of its characteristic polynomial lie within the unit circle
 * (Schur-Cohn test).
 *
 *   (1 - q)^2 + (g (1 - q) + i) D(q) = 0,   D(q) = sum over j of shares[j] q^(j + 1),   q = delay by one frame
 *
 * With corrections that the next frame sees in full and no integral term: 0 < g < 2; with one frame's extra
 * delay: 0 < g < 1.
 */
export function loopIsStable(
  shares: Float64Array,
  { proportionalGain, integralGain = 0 }: LoopGains,
): boolean {
  const { denominator } = loopPolynomials(shares, proportionalGain, integralGain);
  let a = denominator;
  while (a.length > 1) {
    const n = a.length - 1;
    const k = a[n] / a[0];
    if (!(Math.abs(k) < 1)) return false;
    const shorter = new Float64Array(n);
    for (let i = 0; i < n; i++) shorter[i] = a[i] - k * a[n - i];
    a = shorter;
  }
  return true;
}

/**
 * The proportional gain at which a loop without integral term begins to swing ever wider: 2 when the next
 * frame sees all of a correction, 1 with one frame's extra delay; up to 4 when a correction falls into an
 * exposure, which softens the answer.
 */
export function largestStableGain(shares: Float64Array): number {
  let low = 0;
  let high = 5;
  while (high - low > 1e-9) {
    const middle = 0.5 * (low + high);
    if (loopIsStable(shares, { proportionalGain: middle })) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}

/**
 * Share of a disturbance that the loop leaves at a frequency, |1 / (1 + L)|: amplitude of the position error
 * over that of the disturbance, in the frames. L = (g + i / (1 - q)) D(q) / (1 - q) with q = exp(-2 pi i
 * cycles per frame).
 */
export function errorTransfer(shares: Float64Array, gains: LoopGains, cyclesPerFrame: number): number {
  requireFinite('cyclesPerFrame', cyclesPerFrame);
  const { opening, denominator } = loopPolynomials(shares, gains.proportionalGain, gains.integralGain ?? 0);
  const rest = magnitudeAt(denominator, cyclesPerFrame);
  if (rest === 0)
    throw new RangeError(`the loop has no bounded answer at ${cyclesPerFrame} cycles per frame`);
  return magnitudeAt(opening, cyclesPerFrame) / rest;
}

/**
 * Rms of the position error in the frames over the rms of white measurement noise that causes it. With
 * corrections that the next frame sees in full sqrt(g / (2 - g)), with one frame's extra delay sqrt(g (1 + g)
 * / ((1 - g) (2 + g))) (both derived; the first is textbook).
 *
 * @returns Infinity for a loop that is not stable
 */
export function loopNoiseRatio(shares: Float64Array, gains: LoopGains): number {
  if (!loopIsStable(shares, gains)) return Infinity;
  const { numerator, denominator } = loopPolynomials(shares, gains.proportionalGain, gains.integralGain ?? 0);
  // Sum of the squared impulse response of numerator / denominator until it has died away.
  const length = 1 << 16;
  const response = new Float64Array(length);
  let sum = 0;
  let quiet = 0;
  for (let n = 0; n < length && quiet < 4 * denominator.length; n++) {
    let value = n < numerator.length ? numerator[n] : 0;
    for (let k = 1; k < denominator.length && k <= n; k++) value -= denominator[k] * response[n - k];
    response[n] = value;
    sum += value * value;
    quiet = value * value <= 1e-14 * sum ? quiet + 1 : 0;
  }
  return Math.sqrt(sum);
}

/** In powers of q: error = opening / denominator * disturbance - numerator / denominator * noise. */
function loopPolynomials(
  shares: Float64Array,
  g: number,
  i: number,
): { opening: Float64Array; numerator: Float64Array; denominator: Float64Array } {
  // Without an integral term a factor of 1 - q cancels.
  const opening = i === 0 ? Float64Array.of(1, -1) : Float64Array.of(1, -2, 1);
  const controller = i === 0 ? Float64Array.of(g) : Float64Array.of(g + i, -g);
  const numerator = new Float64Array(shares.length + controller.length);
  for (let c = 0; c < controller.length; c++)
    for (let j = 0; j < shares.length; j++) numerator[c + j + 1] += controller[c] * shares[j];
  const denominator = new Float64Array(Math.max(opening.length, numerator.length));
  for (let k = 0; k < opening.length; k++) denominator[k] += opening[k];
  for (let k = 0; k < numerator.length; k++) denominator[k] += numerator[k];
  return { opening, numerator, denominator };
}

function magnitudeAt(polynomial: Float64Array, cyclesPerFrame: number): number {
  let re = 0;
  let im = 0;
  for (let k = 0; k < polynomial.length; k++) {
    const turns = -k * cyclesPerFrame;
    const at = unitVector(360 * (turns - Math.floor(turns)));
    re += polynomial[k] * at.x;
    im += polynomial[k] * at.y;
  }
  return Math.sqrt(re * re + im * im);
}
