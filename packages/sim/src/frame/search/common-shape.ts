/**
 * The size and shape that the stars of one frame share: behind one telescope all are out of focus alike, but
 * for the curvature of the field. What differs is no star, however bright: a halo, a cloud, a galaxy, a fault
 * of the sensor.
 */
import {
  boxSides,
  type Candidate,
  eraseLight,
  extentOf,
  type FrameLight,
  findContrasts,
  type LightExtent,
  putBack,
  queueOf,
  type RemovedLight,
  restoreLight,
  type SearchSettings,
} from '@holdfast/centroid/internal';
import { type LightShape, measureShape } from './light-shape.ts';
import { addProfile, profileLength, profileOf, type StarProfile } from './star-profile.ts';

export interface CommonShape {
  /** Diameter that holds 90 % of the light, px. */
  readonly diameterPx: number;
  readonly concentration: number;
  readonly axisRatio: number;
  readonly profile: StarProfile;
}

/** Why a light is not taken for a star of its frame. */
export type RejectReason =
  /** far larger than the stars: a halo, a cloud, a fault of the flat field */
  | 'larger'
  /** far smaller than the stars: a fault of the sensor, a cosmic ray */
  | 'smaller'
  /** far longer than wide, more than the stars: a trail, a galaxy seen from the side */
  | 'elongated'
  /** its light rises to the middle as that of the stars does not: a galaxy */
  | 'other-profile'
  /** a faint light that has not the stars' shape: an edge of a cloud or of dust, noise */
  | 'shapeless';

/** Lights that have a say, and those looked at for them. */
const voters = 12;
const tries = 40;
/** Lights that stand out less than this share of the first say nothing. */
const leastShare = 0.05;

/** Pixels that are looked at first: the middle rows of a larger frame hold stars enough. */
const middlePixels = 2 ** 23;
/** With fewer lights in them the whole frame is looked at. */
const leastLights = 6;

/**
 * Weighted by how far each light stands out of the structure of the frame at its scale, squared. Lights are
 * taken out of the frame one after the other and put back at the end.
 *
 * @returns undefined when nothing stands out
 */
export function commonShape(
  frame: FrameLight,
  asked: LightsAsked,
  onShare?: (share: number) => void,
): CommonShape | undefined {
  const { pixels, width, height } = frame;
  const rows = Math.ceil(Math.max(4 * asked.maxDiameterPx, middlePixels / width));
  if (rows < height) {
    const from = ((height - rows) >> 1) * width;
    const middle = { ...frame, height: rows, pixels: pixels.subarray(from, from + rows * width) };
    const found = lightsOf(middle, asked, onShare);
    if (found.length >= leastLights) return shapeOf(middle, found);
  }
  const found = lightsOf(frame, asked, onShare);
  return found.length > 0 ? shapeOf(frame, found) : undefined;
}

type LightsAsked = Pick<SearchSettings, 'minSnr' | 'maxDiameterPx'>;

/** The lights that have a say. */
function lightsOf(
  { pixels, width, height, sigma }: FrameLight,
  { minSnr, maxDiameterPx }: LightsAsked,
  onShare?: (share: number) => void,
): readonly Vote[] {
  const sides = boxSides(maxDiameterPx);
  const contrasts = findContrasts(pixels, width, height, {
    sigma,
    least: minSnr,
    sides,
    withStructure: true,
    onShare,
  });
  const structure = new Map<number, number>();
  let last = 1;
  for (const side of sides) {
    last = contrasts.structure(side) ?? last;
    structure.set(side, last);
  }
  const scaleOf = (side: number): number => structure.get(side) ?? 1;
  const { candidates } = contrasts;
  const most = 0.625 * maxDiameterPx;
  const coarse = new CoarseFrames(pixels, width, height);
  const isFarLarger = ({ x, y, side }: Candidate): boolean => {
    const bin = Math.floor(side / binsPerSide);
    const { means, columns, rows } = coarse.of(bin);
    const inBins = { x: (x + 0.5) / bin - 0.5, y: (y + 0.5) / bin - 0.5, side: side / bin };
    const extent = extentOf(means, columns, rows, inBins, (2 * most) / bin, sigma / bin);
    return extent !== undefined && bin * extent.lightRadius > 1.1 * most;
  };
  const lightOf = (one: Candidate): Omit<Vote, 'weight'> | undefined => {
    if (one.side >= coarseSide && isFarLarger(one)) return undefined;
    const extent = extentOf(pixels, width, height, one, 2 * most, sigma);
    if (!extent || extent.lightRadius > most) return undefined;
    return { extent, shape: measureShape(pixels, width, height, extent, sigma) };
  };
  // the light that stands out most may be a ring so large that the frame holds hardly more than it
  let [top] = candidates;
  for (const one of candidates) if (one.significance > top.significance) top = one;
  const large = largeShare * Math.min(width, height);
  const alone = top?.side >= large ? lightOf(top) : undefined;
  if (alone && alone.shape.concentration > leastOfRing && alone.shape.axisRatio > 0.7)
    return [{ ...alone, weight: 1 }];
  const queue = queueOf(
    candidates.map((one) => ({ ...one, significance: one.significance / scaleOf(one.side) })),
  );
  const votes: Vote[] = [];
  const erased: RemovedLight[] = [];
  const erase = (x: number, y: number, radius: number): void => {
    const light = eraseLight(pixels, width, height, x, y, radius, sigma);
    contrasts.takeOut(light);
    coarse.renew(light);
    erased.push(light);
  };
  let first = 0;
  for (
    let n = 0, best = queue.pop();
    best !== undefined && n < tries && votes.length < voters;
    best = queue.pop()
  ) {
    const significance = contrasts.contrastNow(best) / scaleOf(best.side);
    if (significance < 0.95 * best.significance) {
      if (significance > minSnr) putBack(queue, { ...best, significance });
      continue;
    }
    if (significance < leastShare * first) break;
    n++;
    const light = lightOf(best);
    if (!light) continue;
    const { extent, shape } = light;
    // Clouds and halos would take stars along with them.
    if (2 * extent.lightRadius > large && shape.concentration < leastOfRing) continue;
    erase(extent.x, extent.y, extent.radius);
    // a speck of a pixel or two is no star
    if (extent.lightRadius < leastLightRadius) continue;
    const { x, y, lightRadius } = extent;
    const cut = Math.min(x, y, width - 1 - x, height - 1 - y) < lightRadius;
    first = Math.max(first, significance);
    // a light that the edge cuts, or that is twice as long as wide, counts less than any other
    const weight = Math.sqrt(significance) * (cut || shape.axisRatio < 0.5 ? 0.03 : 1);
    votes.push({ ...light, weight });
  }
  for (const light of erased.reverse()) restoreLight(pixels, width, light);
  return votes;
}

/** Boxes of so many px and more are looked at coarsely first: most hold clouds, which are slow to follow. */
const coarseSide = 128;
/** Side of a box in bins. */
const binsPerSide = 32;

/** Means of a frame's bins, made when first asked for. */
interface CoarseFrame {
  readonly means: Float32Array;
  readonly columns: number;
  readonly rows: number;
}

/** A frame by bins of several sizes; where light is taken out they are renewed. */
class CoarseFrames {
  readonly #frames = new Map<number, CoarseFrame>();
  readonly #pixels: Float32Array;
  readonly #width: number;
  readonly #height: number;

  constructor(pixels: Float32Array, width: number, height: number) {
    this.#pixels = pixels;
    this.#width = width;
    this.#height = height;
  }

  of(bin: number): CoarseFrame {
    let frame = this.#frames.get(bin);
    if (frame !== undefined) return frame;
    const [columns, rows] = [Math.floor(this.#width / bin), Math.floor(this.#height / bin)];
    frame = { means: new Float32Array(columns * rows), columns, rows };
    this.#frames.set(bin, frame);
    this.#average(bin, frame, 0, 0, columns, rows);
    return frame;
  }

  renew({ left, top, right, bottom }: RemovedLight): void {
    for (const [bin, frame] of this.#frames) {
      const end = Math.min(frame.columns, Math.ceil(right / bin));
      const last = Math.min(frame.rows, Math.ceil(bottom / bin));
      this.#average(bin, frame, Math.floor(left / bin), Math.floor(top / bin), end, last);
    }
  }

  #average(
    bin: number,
    { means, columns }: CoarseFrame,
    left: number,
    top: number,
    right: number,
    bottom: number,
  ): void {
    for (let j = top; j < bottom; j++)
      for (let i = left; i < right; i++) {
        let [sum, count] = [0, 0];
        for (let v = 0; v < bin; v++)
          for (let u = 0, at = (j * bin + v) * this.#width + i * bin; u < bin; u++, at++)
            if (Number.isFinite(this.#pixels[at])) {
              sum += this.#pixels[at];
              count++;
            }
        means[j * columns + i] = count > 0 ? sum / count : Number.NaN;
      }
  }
}

/** A light larger than this share of the shorter side makes most of the frame's structure itself. */
const largeShare = 0.2;
/** Rings are less concentrated than this, clouds and halos more. */
const leastOfRing = 0.68;

/** Of the largest group of lights that are about as large: one galaxy may be brighter than any star. */
function shapeOf(frame: FrameLight, all: readonly Vote[]): CommonShape {
  let votes = all;
  let most = 0;
  for (const { extent } of all) {
    const r = extent.lightRadius;
    const group = all.filter(({ extent: other }) => Math.abs(other.lightRadius - r) <= 0.2 * r + 0.5);
    const weight = group.reduce((sum, vote) => sum + vote.weight, 0);
    if (weight > most) [votes, most] = [group, weight];
  }
  // the group about a light between two sizes holds lights of both
  const r = medianRadius(votes, most / 2);
  votes = votes.filter(({ extent }) => Math.abs(extent.lightRadius - r) <= 0.1 * r + 0.5);
  most = votes.reduce((sum, { weight }) => sum + weight, 0);
  const middle = (of: (vote: Vote) => number): number =>
    votes.reduce((sum, vote) => sum + vote.weight * of(vote), 0) / most;
  const diameterPx = middle(({ extent }) => 2 * extent.lightRadius);
  return {
    diameterPx,
    concentration: middle(({ shape }) => shape.concentration),
    axisRatio: middle(({ shape }) => shape.axisRatio),
    profile: meanProfile(frame, votes, diameterPx),
  };
}

/** Light radius at which the weights of the smaller lights reach `half`. */
function medianRadius(votes: readonly Vote[], half: number): number {
  const rising = [...votes].sort((a, b) => a.extent.lightRadius - b.extent.lightRadius);
  let at = 0;
  for (let sum = rising[0].weight; sum < half && at < rising.length - 1; sum += rising[at].weight) at++;
  return rising[at].extent.lightRadius;
}

interface Vote {
  readonly weight: number;
  readonly extent: LightExtent;
  readonly shape: LightShape;
}

/** Of the lights that stand out most. */
function meanProfile(frame: FrameLight, votes: readonly Vote[], diameterPx: number): StarProfile {
  const sums = new Float64Array(profileLength(0.65 * diameterPx + 2));
  const counts = sums.slice();
  const least = 0.15 * Math.max(...votes.map(({ weight }) => weight));
  for (const { extent, weight } of votes) if (weight >= least) addProfile(sums, counts, frame, extent);
  return profileOf(sums, counts);
}

/** The light of a single pixel reaches no farther, px. */
const leastLightRadius = 1;

/** Why a light is no star of a frame of this common shape; undefined when it may be one. */
export function unlikeOthers(
  { lightRadius }: LightExtent,
  shape: LightShape,
  snr: number,
  common: CommonShape,
): RejectReason | undefined {
  const diameterPx = 2 * lightRadius;
  const isBright = snr > brightSnr;
  const ratio = isBright ? 1.6 : 2;
  if (diameterPx > ratio * common.diameterPx + 1.5) return 'larger';
  if (lightRadius < leastLightRadius || diameterPx < common.diameterPx / ratio - 1) return 'smaller';
  if (shape.axisRatio < 0.6 * common.axisRatio && shape.elongationSigmas > 4) return 'elongated';
  const change = shape.concentration / common.concentration;
  if (isBright && common.diameterPx > 8 && (change < 0.72 || change > 1.35)) return 'other-profile';
  return undefined;
}

/** Of fainter lights size and profile are little known. */
const brightSnr = 25;
