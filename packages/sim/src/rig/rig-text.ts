/**
 * The text of a rig file from a stranger: refused before it is parsed when it is too long, too deep, or says
 * a thing twice.
 */
import { escaped, RigError, type RigFault } from './rig-fault.ts';

/** Longest text, characters. */
const mostCharacters = 10_000_000;

/** Deepest nesting of objects and lists; a rig needs 5. */
const deepest = 64;

/** Longest single string, characters. */
const mostInString = 10_000;

/**
 * The value of a JSON text.
 *
 * @throws RigError when it is longer than 10 million characters, nested deeper than 64 levels, holds a string
 *         of more than 10,000 characters, is no JSON, or gives a key of one object twice (with the lines of
 *         both)
 */
export function parseRigText(text: string): unknown {
  if (text.length > mostCharacters)
    refuse({ field: '', got: `${text.length}`, allowed: `a text of at most ${mostCharacters} characters` });
  const faults = scan(text.replace(/^\uFEFF/, ''));
  if (faults.length > 0) throw new RigError(faults);
  try {
    return JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    return refuse({ field: '', got: escaped((error as Error).message), allowed: 'valid JSON' });
  }
}

/**
 * Whether a value is nested deeper than a rig may be; without recursion, so that no depth can overflow the
 * stack.
 */
export function isTooDeep(value: unknown): boolean {
  let level: unknown[] = [value];
  for (let depth = 0; level.length > 0; depth++) {
    if (depth > deepest) return true;
    level = level.flatMap((part) => (typeof part === 'object' && part !== null ? Object.values(part) : []));
  }
  return false;
}

export const tooDeep: RigFault = {
  field: '',
  got: 'deeper nesting',
  allowed: `nested at most ${deepest} levels deep`,
};

function refuse(fault: RigFault): never {
  throw new RigError([fault]);
}

/** One pass over the tokens; text that is no JSON is left for the parser to refuse. */
function scan(text: string): RigFault[] {
  const faults: RigFault[] = [];
  /** Keys of each open object with their lines; undefined for a list. */
  const open: (Map<string, number> | undefined)[] = [];
  let line = 1;
  const tokens = /\n|[{}[\]]|"(?:[^"\\\n]|\\.)*"(\s*:)?/g;
  for (let found = tokens.exec(text); found !== null; found = tokens.exec(text)) {
    const [token, colon] = found;
    if (token === '\n') line++;
    else if (token === '{' || token === '[') {
      open.push(token === '{' ? new Map() : undefined);
      if (open.length > deepest) return [tooDeep];
    } else if (token === '}' || token === ']') open.pop();
    else {
      if (token.length > mostInString + 2)
        return [
          {
            field: '',
            got: `${token.length - 2} characters in line ${line}`,
            allowed: `made of strings of at most ${mostInString} characters`,
          },
        ];
      const keys = colon === undefined ? undefined : open.at(-1);
      if (keys !== undefined) {
        const key = keyOf(token);
        const before = keys.get(key);
        if (before === undefined) keys.set(key, line);
        else
          faults.push({
            field: escaped(key),
            got: `the key in lines ${before} and ${line}`,
            allowed: 'given once',
          });
      }
      line += colon?.split('\n').length ? colon.split('\n').length - 1 : 0;
    }
  }
  return faults;
}

/** The key that a token spells: two spellings of one key are the same key. */
function keyOf(token: string): string {
  const quoted = token.slice(0, token.lastIndexOf('"') + 1);
  try {
    return JSON.parse(quoted) as string;
  } catch {
    return quoted;
  }
}
