/** Frames that are simulated as files and measured by the programs, in one folder. */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { readFits } from '@holdfast/sim';
import { plainRig } from './plain-rig.ts';
import { answerHere, freshFolder } from './run-example.ts';

export interface TrueFrame {
  readonly file: string;
  readonly focusShiftUm: number;
  readonly ringDiameterPx: number;
  readonly stars: readonly { readonly x: number; readonly y: number; readonly fluxE: number }[];
}

export const folder = freshFolder();
export const rig = ['--rig', plainRig('fast-reflector')];
export const small = ['--size', '260x220'];
export const trials = ['--trials', '64'];

export const simulate = async (...args: readonly string[]): Promise<TrueFrame[]> =>
  (await answerHere('simulate-frame', [...rig, ...args], folder)).data as TrueFrame[];

/** The answer's text, and its data as JSON has it. */
export async function frames(...args: readonly string[]) {
  const { text, data } = await answerHere('frames', [...rig, ...args], folder);
  return { stdout: text, json: data };
}

export function pixelsOf(file: string) {
  const frame = readFits(new Uint8Array(readFileSync(join(folder, file))));
  if (!frame.ok) throw new Error(frame.message);
  return frame;
}
