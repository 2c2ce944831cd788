/**
 * PGM and PPM of Netpbm (pgm(5) and ppm(5) of its manual): P2 and P3 in digits, P5 and P6 in bytes, one
 * picture after the other.
 */
import { type Picture, type PictureFailure, refusePicture } from '../picture.ts';
import { codedValues } from './coded-values.ts';

interface Head {
  readonly ok: true;
  readonly channels: 1 | 3;
  readonly inDigits: boolean;
  readonly width: number;
  readonly height: number;
  readonly top: number;
  readonly bytesEach: 1 | 2;
  readonly dataStart: number;
  /** Samples of the picture. */
  readonly count: number;
}

const newline = 10;
const hash = 35;
const zero = 48;
const isSpace = (byte: number): boolean => byte === 32 || (byte >= 9 && byte <= 13);
const isDigit = (byte: number): boolean => byte >= zero && byte < zero + 10;

/**
 * @param page       picture of the file, from 0
 * @param maxPixels  of a picture with more, nothing is decoded
 */
export function readNetpbm(bytes: Uint8Array, page: number, maxPixels: number): Picture | PictureFailure {
  let wanted: Head | undefined;
  let frames = 0;
  let at = 0;
  const warnings: string[] = [];
  do {
    const head = readHead(bytes, at);
    if (!head.ok && frames === 0) return head;
    const end = head.ok ? endOf(head, bytes) : Infinity;
    if (frames > 0 && end > bytes.length) {
      warnings.push(`Netpbm: picture ${frames}, from byte ${at} on, is not complete: it was left out`);
      break;
    }
    if (head.ok && frames === page) wanted = head;
    frames++;
    at = end;
  } while (at < bytes.length && bytes[at] === 0x50);
  if (wanted === undefined)
    return refusePicture('no-such-page', `Netpbm: picture ${page} is not among its ${frames} (from 0)`);
  if (at < bytes.length && warnings.length === 0)
    warnings.push(`Netpbm: ${bytes.length - at} bytes follow the last picture: they were left out`);
  const { width, height, channels, top } = wanted;
  const size = `${width} x ${height} pixels`;
  if (width * height > maxPixels)
    return refusePicture('too-large', `Netpbm: ${size} are more than the ${maxPixels} allowed`);
  const samples = wanted.inDigits ? samplesInDigits(bytes, wanted) : samplesInBytes(bytes, wanted);
  if ('reason' in samples) return samples;
  const bitpix = wanted.bytesEach * 8;
  warnings.push(...codedValues('Netpbm'));
  return { ok: true, width, height, channels, samples, bitpix, top, cards: [], warnings, frames };
}

/** A picture in digits is the only one of its file. */
const endOf = (head: Head, { length }: Uint8Array): number =>
  head.inDigits ? length : head.dataStart + head.count * head.bytesEach;

function readHead(bytes: Uint8Array, from: number): Head | PictureFailure {
  const kind = bytes[from + 1] - zero;
  let at = from + 2;
  const numbers: number[] = [];
  while (numbers.length < 3) {
    while (at < bytes.length && (isSpace(bytes[at]) || bytes[at] === hash))
      if (bytes[at++] === hash) while (at < bytes.length && bytes[at] !== newline) at++;
    const begin = at;
    let value = 0;
    while (at < bytes.length && isDigit(bytes[at]) && at - begin < 10)
      value = 10 * value + bytes[at++] - zero;
    if (at >= bytes.length)
      return refusePicture('truncated', `Netpbm: the file ends after ${at} bytes, within its header`);
    if (at === begin || !(isSpace(bytes[at]) || bytes[at] === hash))
      return refusePicture('damaged', `Netpbm: byte ${at} of the header must be part of a whole number`);
    numbers.push(value);
  }
  const [width, height, top] = numbers as [number, number, number];
  if (!(width > 0 && height > 0))
    return refusePicture('damaged', `Netpbm: a picture of ${width} x ${height} pixels`);
  if (!(top > 0 && top < 65536))
    return refusePicture('damaged', `Netpbm: the highest value must be in 1 ... 65535, is ${top}`);
  const channels = kind === 3 || kind === 6 ? 3 : 1;
  const bytesEach = top < 256 ? 1 : 2;
  const count = width * height * channels;
  const head = { ok: true, channels, inDigits: kind < 4, width, height, top, bytesEach, count } as const;
  const dataStart = at + 1;
  // in digits a value takes one digit and one space at least
  const needed = count * (head.inDigits ? 2 : bytesEach) - (head.inDigits ? 1 : 0);
  if (needed > bytes.length - dataStart)
    return refusePicture(
      'truncated',
      `Netpbm: ${width} x ${height} pixels take ${head.inDigits ? 'at least ' : ''}${needed} bytes from byte ${dataStart} on; ${Math.max(0, bytes.length - dataStart)} are there`,
    );
  return { ...head, dataStart };
}

const beyond = (value: number, k: number, top: number): PictureFailure =>
  refusePicture('damaged', `Netpbm: value ${k} is ${value}, above the highest of ${top}`);

function samplesInBytes(
  bytes: Uint8Array,
  { count, dataStart, bytesEach, top }: Head,
): Uint8Array | Uint16Array | PictureFailure {
  const stored = bytes.subarray(dataStart, dataStart + count * bytesEach);
  const samples = bytesEach === 1 ? stored : new Uint16Array(count);
  if (bytesEach === 2)
    for (let k = 0, at = 0; k < count; k++, at += 2) samples[k] = (stored[at] << 8) | stored[at + 1];
  for (let k = 0; k < count; k++) if (samples[k] > top) return beyond(samples[k], k, top);
  return samples;
}

function samplesInDigits(bytes: Uint8Array, { count, dataStart, top }: Head): Uint16Array | PictureFailure {
  const samples = new Uint16Array(count);
  let at = dataStart;
  for (let k = 0; k < count; k++) {
    while (at < bytes.length && isSpace(bytes[at])) at++;
    if (at >= bytes.length)
      return refusePicture('truncated', `Netpbm: the file ends after ${k} of ${count} values`);
    if (!isDigit(bytes[at]))
      return refusePicture('damaged', `Netpbm: byte ${at} must be a digit of value ${k}`);
    let value = 0;
    while (at < bytes.length && isDigit(bytes[at]) && value <= top) value = 10 * value + bytes[at++] - zero;
    if (value > top) return beyond(value, k, top);
    samples[k] = value;
  }
  return samples;
}
