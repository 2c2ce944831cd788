/** The bytes of a file, however they are held, and what is inside a gzip stream. */
import { type FitsFailure, fail } from './fits/fits-hdu.ts';

/** What may hold a file's bytes. */
export type ByteSource = Uint8Array | ArrayBuffer | BlobBytes;

/** Bytes that are still to be fetched: every `Blob` and `File` is one. */
export interface BlobBytes {
  /** Fetch them. */
  arrayBuffer(): Promise<ArrayBuffer>;
}

/** Largest number of bytes that a gzip stream may swell to unless told otherwise: 512 MiB. */
export const defaultInflatedBytes = 512 * 1024 * 1024;

export async function bytesOf(source: ByteSource): Promise<Uint8Array> {
  if (source instanceof Uint8Array) return source;
  if (source instanceof ArrayBuffer) return new Uint8Array(source);
  if (typeof source?.arrayBuffer === 'function') return new Uint8Array(await source.arrayBuffer());
  throw new TypeError(`source must be a Uint8Array, ArrayBuffer or Blob, got ${typeof source}`);
}

/**
 * @param limit  most bytes that may come out
 * @param endOf told by the first bytes: how many are needed, beyond which nothing is kept; or why none are;
 *               undefined as long as they do not tell
 */
export async function gunzip<Refusal extends { readonly ok: false } = never>(
  bytes: Uint8Array,
  limit: number,
  endOf?: (first: Uint8Array) => number | Refusal | undefined,
): Promise<Uint8Array | FitsFailure | Refusal> {
  const stream = new DecompressionStream('gzip');
  const writer = stream.writable.getWriter();
  // Not awaited: the reader below makes room for it. A corrupt stream is told by the reader, so silence it
  // here.
  writer.write(bytes as Uint8Array<ArrayBuffer>).catch(() => undefined);
  writer.close().catch(() => undefined);
  const reader = stream.readable.getReader();
  const parts: Uint8Array[] = [];
  let total = 0;
  let needed: number | undefined;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      total += value.length;
      const allowed = needed === undefined ? limit : Math.min(limit, needed + mostBeyond);
      if (total > allowed) {
        await reader.cancel();
        return fail(
          'too-large',
          `the gzip stream of ${bytes.length} bytes holds more than the ${allowed} bytes allowed`,
        );
      }
      // what comes after the bytes needed is counted, not kept
      if (needed === undefined || total - value.length < needed + follows) parts.push(value);
      if (endOf !== undefined && needed === undefined && total <= mostFirstBytes) {
        const told = endOf(joined(parts, total));
        if (typeof told === 'object') {
          await reader.cancel();
          return told;
        }
        needed = told;
      }
    }
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return fail(
      'gzip-damaged',
      `the gzip stream of ${bytes.length} bytes broke after ${total} bytes came out: ${why}`,
    );
  }
  return joined(
    parts,
    parts.reduce((sum, part) => sum + part.length, 0),
  );
}

/** Bytes that may come after those needed: further units of the file, padding. */
const mostBeyond = 2 ** 26;
/** Of these some are kept, to tell what they are. */
const follows = 2880;

/** The head of a file is looked for in so many bytes. */
const mostFirstBytes = 2 ** 20;

function joined(parts: readonly Uint8Array[], total: number): Uint8Array {
  const out = new Uint8Array(total);
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
