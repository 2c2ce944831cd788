/**
 * Keys of older rig files: where each value stands now. They still load, with a notice that names the new
 * place.
 */

/** A rig file with its keys as they are now, and one line per key that was moved. */
export interface CurrentKeys {
  readonly input: unknown;
  readonly notices: readonly string[];
}

type Parts = Record<string, unknown>;

/** Each key's old place, new place, and the value there. */
const moved: readonly {
  readonly from: readonly [string, string];
  readonly to: readonly [string, string];
  readonly turn: (value: unknown) => unknown;
}[] = [
  { from: ['pickoff', 'backFocusMm'], to: ['pickoff', 'flangeDistanceMm'], turn: (value) => value },
  {
    from: ['pickoff', 'allowedLoss'],
    to: ['pickoff', 'allowedLossPercent'],
    turn: (value) => (typeof value === 'number' ? 100 * value : value),
  },
  { from: ['offAxis', 'telescope'], to: ['telescope', 'design'], turn: designFromOffAxis },
];

/** Methods by their old names. */
const renamedMethods: Readonly<Record<string, string>> = { mirrorSymmetryCenter: 'pointSymmetryCenter' };

/**
 * Bring the keys of an older rig file to their present places; a present key that is given, too, is left as
 * it is.
 */
export function withCurrentKeys(input: unknown): CurrentKeys {
  if (!isParts(input)) return { input, notices: [] };
  let current: Parts = input;
  const notices: string[] = [];
  for (const { from, to, turn } of moved) {
    const [section, key] = from;
    const old = current[section];
    if (!isParts(old) || !(key in old)) continue;
    const { [key]: value, ...rest } = old;
    current = { ...current, [section]: rest };
    const target = current[to[0]];
    if (!isParts(target) || to[1] in target) continue;
    current = { ...current, [to[0]]: { ...target, [to[1]]: turn(value) } };
    notices.push(`${from.join('.')} is now ${to.join('.')}: please rename it in the rig file`);
  }
  const { tracking } = current;
  if (isParts(tracking)) {
    const { estimator, available } = tracking;
    const old = [estimator, available]
      .flat()
      .find((name) => typeof name === 'string' && name in renamedMethods);
    if (typeof old === 'string') {
      const renamed = (name: unknown) => (name === old ? renamedMethods[old] : name);
      current = {
        ...current,
        tracking: {
          ...tracking,
          ...(estimator === undefined ? {} : { estimator: renamed(estimator) }),
          ...(Array.isArray(available) ? { available: available.map(renamed) } : {}),
        },
      };
      notices.push(`the method ${old} is now ${renamedMethods[old]}: please rename it in the rig file`);
    }
  }
  return { input: current, notices };
}

function designFromOffAxis(value: unknown): unknown {
  if (!isParts(value)) return value;
  const { design, knownAtMm, sagittalComaUm, astigmatismUm, ...rest } = value;
  if (design !== 'corrected') return { kind: design, ...rest };
  const residuals = {
    atMm: knownAtMm,
    ...(sagittalComaUm === undefined ? {} : { sagittalComaUm }),
    ...(astigmatismUm === undefined ? {} : { astigmatismUm }),
  };
  return { kind: 'unknown', residuals, ...rest };
}

function isParts(value: unknown): value is Parts {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
