/** The bytes of a file, however they are held, and what is inside a gzip stream. */
import { type FitsFailure, fail } from './fits/fits-hdu.ts';

/** What may hold a file's bytes. */
export type ByteSource = Uint8Array | ArrayBuffer | Blob;

/** Largest number of bytes that a gzip stream may swell to unless told otherwise: 512 MiB. */
export const defaultInflatedBytes = 512 * 1024 * 1024;

export async function bytesOf(source: ByteSource): Promise<Uint8Array> {
  if (source instanceof Uint8Array) return source;
  if (source instanceof Blob) return new Uint8Array(await source.arrayBuffer());
  if (source instanceof ArrayBuffer) return new Uint8Array(source);
  throw new TypeError(`source must be a Uint8Array, ArrayBuffer or Blob, got ${typeof source}`);
}

export async function gunzip(bytes: Uint8Array, limit: number): Promise<Uint8Array | FitsFailure> {
  const stream = new DecompressionStream('gzip');
  const writer = stream.writable.getWriter();
  // Not awaited: the reader below makes room for it. A corrupt stream is told by the reader, so silence it here.
  writer.write(bytes as Uint8Array<ArrayBuffer>).catch(() => undefined);
  writer.close().catch(() => undefined);
  const reader = stream.readable.getReader();
  const parts: Uint8Array[] = [];
  let total = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) break;
      total += value.length;
      if (total > limit) {
        await reader.cancel();
        return fail(
          'too-large',
          `the gzip stream of ${bytes.length} bytes holds more than the ${limit} bytes allowed`,
        );
      }
      parts.push(value);
    }
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return fail(
      'gzip-damaged',
      `the gzip stream of ${bytes.length} bytes broke after ${total} bytes came out: ${why}`,
    );
  }
  return joined(parts, total);
}

function joined(parts: readonly Uint8Array[], total: number): Uint8Array {
  const out = new Uint8Array(total);
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
