/**
 * What the page has done elsewhere: each task is plain data in, plain data out, and the library's own code.
 */
import {
  adviseRefocus,
  adviseStar,
  type CancelSignal,
  focusLimit,
  type Rig,
  type SceneSetting,
  type SweepCell,
  starWords,
} from '@holdfast/sim';
import { runCellUntil } from '@holdfast/sim/internal';
import { starPicture } from '../../reports/make-report.ts';
import { assumptionTask } from '../compute/assumption-task.ts';
import { edgePicture, walkThroughFocus } from '../compute/edge-star.ts';
import { firstAssessment } from '../compute/first-answer.ts';
import { formulaLimit } from '../compute/formula-limits.ts';
import { formulaPoints } from '../compute/formula-point.ts';
import { formulaAnswer } from '../compute/formula-report.ts';
import { guidedRun } from '../compute/guided-run.ts';
import { lesson } from '../compute/lesson.ts';
import { measureFile } from '../compute/measure-file.ts';
import { oneFrame } from '../compute/one-frame.ts';
import { type Mount, pickoffDepths } from '../compute/pickoff-depths.ts';
import { positionCloud } from '../compute/position-cloud.ts';
import { checkFile, publishedFiles } from '../compute/published-checks.ts';
import { type ProfileSetting, ringProfile } from '../compute/ring-profile.ts';
import { magnitudeOf, starFrame } from '../compute/star-frame.ts';
import { starLimit } from '../compute/star-limits.ts';

export interface Trials {
  readonly seed: string;
  readonly trials: number;
}

/** @param signal  aborted when nobody waits for the answer any more: long work then ends at its next pause */
export const tasksFor = (signal: CancelSignal) => ({
  advise: (rig: Rig, trials: Trials) => adviseRefocus(rig, { ...trials, signal }),
  adviseStar: (rig: Rig, setting: SceneSetting, trials: Trials) =>
    adviseStar(rig, setting, { ...trials, signal }),
  focusLimit: (rig: Rig, setting: Omit<SceneSetting, 'focusShiftUm'>, trials: Trials) =>
    focusLimit(rig, { setting, ...trials, signal }),
  cell: (cell: SweepCell) => runCellUntil(cell, signal),
  positionCloud: async (rig: Rig, setting: SceneSetting, trials: Trials) =>
    positionCloud(rig, setting, trials),
  measureFile,
  pickoffDepths: (rig: Rig, mount: Mount, focusShiftUm: number, withLimits: boolean) =>
    pickoffDepths(rig, mount, focusShiftUm, withLimits, signal),
  guidedRun,
  checkFile,
  publishedFiles: async () => publishedFiles(),
  starLimit,
  starWords: async (rig: Rig) => starWords(rig),
  assumptionEffects: assumptionTask,
  formulaLimit: async (rig: Rig) => formulaLimit(rig),
  firstAssessment: async (...args: Parameters<typeof firstAssessment>) => firstAssessment(...args),
  lesson: async (...args: Parameters<typeof lesson>) => lesson(...args),
  starFrame: async (...args: Parameters<typeof starFrame>) => starFrame(...args),
  magnitudeOf: async (...args: Parameters<typeof magnitudeOf>) => magnitudeOf(...args),
  formulaAnswer: async (...args: Parameters<typeof formulaAnswer>) => formulaAnswer(...args),
  formulaPoints: async (...args: Parameters<typeof formulaPoints>) => formulaPoints(...args),
  starPicture: async (...args: Parameters<typeof starPicture>) => starPicture(...args),
  ringProfiles: async (rig: Rig, shiftsUm: readonly number[], setting: ProfileSetting) =>
    shiftsUm.map((shiftUm) => ringProfile(rig, shiftUm, setting)),
  oneFrame: async (...args: Parameters<typeof oneFrame>) => oneFrame(...args),
  edgePicture: async (...args: Parameters<typeof edgePicture>) => edgePicture(...args),
  walkThroughFocus: async (...args: Parameters<typeof walkThroughFocus>) => walkThroughFocus(...args),
});

export type Tasks = ReturnType<typeof tasksFor>;
export type TaskName = keyof Tasks;
export type TaskResult<Name extends TaskName> = Awaited<ReturnType<Tasks[Name]>>;

/**
 * What the page tells a worker: to begin, to give up what it does, or to rest while the screen waits for
 * others.
 */
export type Order = Begin | { readonly giveUp: true } | { readonly rests: boolean };

export interface Begin {
  readonly id: number;
  readonly task: TaskName;
  readonly args: readonly unknown[];
  /** Done for practice: nobody waits for the result. */
  readonly isRehearsal?: boolean;
}

export type Answer =
  | { readonly id: number; readonly result: unknown }
  | { readonly id: number; readonly error: string };
