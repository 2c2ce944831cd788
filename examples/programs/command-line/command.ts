/** What a program is: a question, a table of options, and the work that answers it. */
import type { LongWorkOptions } from '@holdfast/sim';
import type { OptionTable, Values } from './option.ts';

export interface Answer {
  /** For `--json`. */
  readonly data: unknown;
  /** For people. */
  text(): readonly string[];
  /** JSON Lines: each entry of `data` on a line of its own. */
  readonly isLines?: true;
}

/** What a program is given besides its options. */
export interface Surroundings extends LongWorkOptions {
  /** What stands behind the options. */
  readonly files: readonly string[];
  /** Whether the answer is printed as JSON. */
  readonly isJson: boolean;
  /** Text that stands on the terminal before all is done; nothing with `--json`. */
  say(lines: readonly string[]): void;
}

export interface Command<Table extends OptionTable = OptionTable> {
  readonly name: string;
  /** First line of its help. */
  readonly question: string;
  /** Paragraphs of its help, before the options. */
  readonly about?: readonly string[];
  /** What may stand behind the options, as `FILE or FOLDER`. */
  readonly files?: string;
  readonly options: Table;
  /** Paragraphs of its help, behind the options. */
  readonly notes?: readonly string[];
  /** @returns undefined when it was interrupted */
  run(values: Values<Table>, surroundings: Surroundings): Promise<Answer | undefined>;
}

/** Keeps the types of a command's own options. */
export const command = <Table extends OptionTable>(made: Command<Table>): Command<Table> => made;
