/**
 * What one row of the bench is. To add one: a file rows/<name>.ts that exports `row`. The file is found by
 * its place; the row is run by `npm run bench -- <name>`.
 */

/** One side of a comparison. */
export interface Side {
  /**
   * Do `count` units of the work, one after the other, and return the seconds that they took. What belongs to
   * setting up (random inputs, a pipe to another process) is left out of the time. Same work for both sides:
   * the speed is in units per second.
   */
  run(count: number): number | Promise<number>;
  /** End what was started for it. */
  close?(): void;
}

export interface Reference {
  /** Program or language, in a few words: 'numpy', 'C -O3'. */
  readonly label: string;
  /** Least ratio of our speed to this one's that is asked for. Without a goal the ratio is only shown. */
  readonly goal?: number;
  /**
   * Make it ready.
   *
   * @throws MissingProgram when what it needs is not installed; the table then says so
   */
  start(): Side | Promise<Side>;
}

/** A row made ready to run. */
export interface Contest {
  readonly ours: Side;
  readonly references: readonly Reference[];
  /** Called when all sides have run: that they did the same work, in a few words, or throws an Error. */
  agreement?(): string;
}

export interface Row {
  /** The same as its file's. */
  readonly name: string;
  /** The work of one unit, in one line. */
  readonly work: string;
  /** What is counted: 'frame', 'fit'. */
  readonly unit: string;
  /** Seconds that one slice of one side should take. Default 0.2. */
  readonly sliceS?: number;
  /** Slices a side. Default 11. */
  readonly repeats?: number;
  prepare(): Contest | Promise<Contest>;
}

/** Something that a reference needs is not installed. */
export class MissingProgram extends Error {}
