/**
 * Published numbers, and what this page computes for them. They are those of the project's tests: the page
 * holds these very files, and runs every number in them that stands alone.
 */
import { take } from '../checks/collection.ts';

const files = import.meta.glob<unknown>('../../../test/published/*.test.ts');

export interface CheckedNumber {
  readonly what: string;
  readonly group: string;
  readonly published: number;
  readonly ours: number;
  /** Largest difference that the tests allow. */
  readonly tolerance: number;
  readonly source: string;
  /** Why it is allowed. */
  readonly note: string;
}

export interface CheckedFile {
  /** Name of the file without its folder. */
  readonly file: string;
  readonly numbers: readonly CheckedNumber[];
  /** Tests of the file that compare something other than one number with one. */
  readonly others: number;
}

const nameOf = (path: string): string => path.replace(/^.*\//, '');

export const publishedFiles = (): string[] => Object.keys(files).map(nameOf);

/** Load one file of tests and compute its numbers. */
export async function checkFile(file: string): Promise<CheckedFile> {
  const entry = Object.entries(files).find(([path]) => nameOf(path) === file);
  if (entry === undefined)
    throw new RangeError(`file must be one of ${publishedFiles().join(', ')}, got ${file}`);
  take();
  await entry[1]();
  const { numbers, others } = take();
  return {
    file,
    others,
    numbers: numbers.map(({ published: { what, value, tolerance, source, note }, group, ours }) => ({
      what,
      group,
      published: value,
      ours: ours(),
      tolerance,
      source,
      note,
    })),
  };
}
