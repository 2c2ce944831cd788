/**
 * Text in the letters that a terminal can show: µ, ″, ±, ⁻ and the like, or plain ASCII where its locale says
 * that it cannot.
 */

const plain: readonly (readonly [RegExp, string])[] = [
  [/[µμ]/g, 'u'],
  [/ ?″/g, ' arcsec'],
  [/ ?°(?=C\b)/g, ' deg '],
  [/ ?°/g, ' deg'],
  [/±/g, '+-'],
  [/⁻/g, '-'],
  [/[−–]/g, '-'],
  [/×/g, 'x'],
  [/²/g, '^2'],
  [/’/g, "'"],
  [/…/g, '...'],
  [/\u00a0/g, ' '],
];

type Environment = Readonly<Record<string, string | undefined>>;

/**
 * A locale that is not UTF-8 (`C`, `POSIX`, `en_US`) shows ASCII alone; no locale at all says nothing against
 * the rest.
 */
export function isPlain({ LC_ALL, LC_CTYPE, LANG }: Environment): boolean {
  const locale = [LC_ALL, LC_CTYPE, LANG].find((each) => each !== undefined && each !== '');
  return locale !== undefined && !/utf-?8/i.test(locale);
}

export function terminalText(text: string, environment: Environment): string {
  if (!isPlain(environment)) return text;
  return plain.reduce((before, [letter, instead]) => before.replace(letter, instead), text);
}
