/** A frame from the bytes of a file, and why there is none. */
import { type FrameFileOptions, type FrameImage, readFrameFile } from '@holdfast/sim';

export async function read(bytes: Uint8Array, options: FrameFileOptions = {}): Promise<FrameImage> {
  const frame = await readFrameFile(bytes, options);
  if (!frame.ok) throw new Error(`${frame.reason}: ${frame.message}`);
  return frame;
}

export async function refusal(bytes: Uint8Array, options: FrameFileOptions = {}): Promise<string> {
  const frame = await readFrameFile(bytes, options);
  return frame.ok ? 'read' : `${frame.reason}: ${frame.message}`;
}
