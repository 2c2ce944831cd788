/**
 * The layout of an AVI film (Microsoft's "AVI RIFF File Reference", with the longer files of the OpenDML
 * extensions 1.02): its video stream, and where each of its frames lies.
 */
import { textAt } from '../fits/fits-header.ts';
import { type PictureFailure, refusePicture } from '../picture.ts';

export interface AviLayout {
  readonly ok: true;
  readonly width: number;
  readonly height: number;
  /** Rows are stored from the bottom up, as the sign of the height says. */
  readonly bottomUp: boolean;
  readonly bits: number;
  /** Four letters that say how the pixels are stored; empty for plain ones. */
  readonly coding: string;
  /** Red, green and blue of each value, or undefined where there is no palette. */
  readonly palette: readonly (readonly [number, number, number])[] | undefined;
  readonly framesPerS: number | undefined;
  readonly frames: readonly { readonly at: number; readonly length: number }[];
  readonly warnings: readonly string[];
}

interface Chunk {
  readonly id: string;
  readonly data: number;
  readonly end: number;
  /** Kind of a list. */
  readonly list: string;
  readonly isComplete: boolean;
}

function* chunksIn(bytes: Uint8Array, from: number, to: number): Generator<Chunk> {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = from; at + 8 <= to; ) {
    const id = textAt(bytes, at, 4);
    const isList = id === 'LIST' || id === 'RIFF';
    const length = view.getUint32(at + 4, true);
    const list = isList ? textAt(bytes, at + 8, 4) : '';
    // a recording that was interrupted has no length yet
    const open = isList && length === 0;
    const declared = open ? to : at + 8 + length;
    const end = Math.min(declared, to);
    yield { id, data: at + (isList ? 12 : 8), end, list, isComplete: declared <= to };
    // chunks begin at even bytes
    at = declared + (declared % 2);
  }
}

export function aviLayout(bytes: Uint8Array): AviLayout | PictureFailure {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let format: Chunk | undefined;
  let header: Chunk | undefined;
  let stream = -1;
  let streams = 0;
  const frames: { at: number; length: number }[] = [];
  const warnings: string[] = [];
  const walk = (from: number, to: number): void => {
    let streamHeader: Chunk | undefined;
    for (const chunk of chunksIn(bytes, from, to)) {
      const { id, data, end, list } = chunk;
      if (id === 'RIFF' || (id === 'LIST' && ['hdrl', 'strl', 'movi', 'rec '].includes(list))) {
        walk(data, end);
        if (list === 'strl') streams++;
      } else if (id === 'strh') streamHeader = chunk;
      else if (
        id === 'strf' &&
        stream < 0 &&
        streamHeader &&
        textAt(bytes, streamHeader.data, 4) === 'vids'
      ) {
        stream = streams;
        format = chunk;
        header = streamHeader;
      } else if (stream >= 0 && /^\d\d(db|dc)$/.test(id) && Number(id.slice(0, 2)) === stream) {
        if (chunk.isComplete) frames.push({ at: data, length: end - data });
        else
          warnings.push(
            `AVI: frame ${frames.length}, from byte ${data} on, is not complete: it was left out`,
          );
      }
    }
  };
  walk(0, bytes.length);
  if (
    format === undefined ||
    header === undefined ||
    format.end - format.data < 40 ||
    header.end - header.data < 28
  )
    return refusePicture(
      bytes.length < 512 ? 'truncated' : 'damaged',
      `AVI: no header of a video stream (strh and strf) in its ${bytes.length} bytes`,
    );
  const f = format.data;
  const width = view.getInt32(f + 4, true);
  const stored = view.getInt32(f + 8, true);
  if (!(width > 0 && stored !== 0))
    return refusePicture('damaged', `AVI: a film of ${width} x ${stored} pixels`);
  const number = view.getUint32(f + 16, true);
  const scale = view.getUint32(header.data + 20, true);
  const rate = view.getUint32(header.data + 24, true);
  const colors = view.getUint32(f + 32, true) || 256;
  const first = f + view.getUint32(f, true);
  const hasPalette = colors <= 256 && first + 4 * colors <= format.end;
  return {
    ok: true,
    width,
    height: Math.abs(stored),
    bottomUp: stored > 0,
    bits: view.getUint16(f + 14, true),
    coding: number === 0 ? '' : number < 32 ? `number ${number}` : textAt(bytes, f + 16, 4),
    palette: hasPalette
      ? Array.from(
          { length: colors },
          (_, k) => [2, 1, 0].map((c) => bytes[first + 4 * k + c]) as [number, number, number],
        )
      : undefined,
    framesPerS: rate > 0 && scale > 0 ? rate / scale : undefined,
    frames,
    warnings,
  };
}
