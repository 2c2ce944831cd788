/** What the page has done elsewhere: each task is plain data in, plain data out, and the library's own code. */
import {
  adviseRefocus,
  adviseStar,
  focusLimit,
  type Rig,
  runCell,
  type SceneSetting,
  type SweepCell,
} from '@holdfast/sim';
import { guidedRun } from '../compute/guided-run.ts';
import { measureFile } from '../compute/measure-file.ts';
import { pickoffDepths } from '../compute/pickoff-depths.ts';
import { positionCloud } from '../compute/position-cloud.ts';

export interface Trials {
  readonly seed: string;
  readonly trials: number;
}

export const tasks = {
  advise: (rig: Rig, trials: Trials) => adviseRefocus(rig, trials),
  adviseStar: (rig: Rig, setting: SceneSetting, trials: Trials) => adviseStar(rig, setting, trials),
  focusLimit: (rig: Rig, setting: Omit<SceneSetting, 'focusShiftUm'>, trials: Trials) =>
    focusLimit(rig, { setting, ...trials }),
  cell: async (cell: SweepCell) => runCell(cell),
  positionCloud: async (rig: Rig, setting: SceneSetting, trials: Trials) =>
    positionCloud(rig, setting, trials),
  measureFile,
  pickoffDepths,
  guidedRun,
} as const;

export type Tasks = typeof tasks;
export type TaskName = keyof Tasks;
export type TaskResult<Name extends TaskName> = Awaited<ReturnType<Tasks[Name]>>;

export interface Order {
  readonly id: number;
  readonly task: TaskName;
  readonly args: readonly unknown[];
}

export type Answer =
  | { readonly id: number; readonly result: unknown }
  | { readonly id: number; readonly error: string };
