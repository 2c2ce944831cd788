/** Estimators and stars of a user's: in a text they count by name; to a worker goes where to load them. */
import type { EstimatorSetting } from '../trials/estimators.ts';
import { type AnyEstimator, isOwn, type OwnEstimator } from '../trials/own-estimator.ts';
import { isOwnStar, type OwnStar } from '../trials/own-star.ts';
import type { SceneSetting } from '../trials/scene.ts';

type Own = OwnEstimator | OwnStar;

/** What may be a user's in a cell of a sweep. */
interface WithOwn {
  readonly setting: SceneSetting;
  readonly estimators: readonly EstimatorSetting<AnyEstimator>[];
}

/** For `JSON.stringify`: the path of a module differs from machine to machine, the sweep does not. */
export function byName(_: string, value: unknown): unknown {
  return isCode(value) ? { name: (value as Own).name } : value;
}

function isCode(value: unknown): boolean {
  return (
    typeof value === 'object' &&
    value !== null &&
    ('prepare' in value || 'shapeAt' in value) &&
    'name' in value
  );
}

/**
 * The cell as plain data: of an own estimator or star its name and module.
 *
 * @throws TypeError for one that names no module
 */
export function withoutCode<Cell extends WithOwn>(cell: Cell): Cell {
  const { ownStar } = cell.setting;
  return {
    ...cell,
    setting: ownStar === undefined ? cell.setting : { ...cell.setting, ownStar: addressOfStar(ownStar) },
    estimators: cell.estimators.map((setting) =>
      isOwn(setting.estimator)
        ? { ...setting, estimator: addressOf('estimator', setting.estimator) }
        : setting,
    ),
  };
}

/** The cell with its estimators and star loaded from their modules. */
export async function withCode<Cell extends WithOwn>(cell: Cell): Promise<Cell> {
  const { ownStar } = cell.setting;
  return {
    ...cell,
    setting:
      ownStar !== undefined && isOwnStar(ownStar)
        ? { ...cell.setting, ownStar: await loaded(ownStar, 'shapeAt') }
        : cell.setting,
    estimators: await Promise.all(
      cell.estimators.map(async (setting) =>
        isOwn(setting.estimator)
          ? { ...setting, estimator: await loaded(setting.estimator, 'prepare') }
          : setting,
      ),
    ),
  };
}

function addressOf<Kind extends Own>(what: string, { name, module }: Kind): Kind {
  if (module === undefined)
    throw new TypeError(
      `${what} '${name}' must name its module for workers: the address of a file whose default export it is`,
    );
  return { name, module } as Kind;
}

function addressOfStar(star: NonNullable<SceneSetting['ownStar']>): typeof star {
  if (isOwnStar(star)) return addressOf('ownStar', star);
  if (star.kind === 'own') return addressOf('ownStar', { name: star.name, shapeAt: () => star });
  return star;
}

async function loaded<Kind extends Own>({ name, module }: Kind, method: string): Promise<Kind> {
  // The module is the user's: a bundler must leave the address alone.
  const { default: own } = (await import(/* @vite-ignore */ /* webpackIgnore: true */ `${module}`)) as {
    default?: Kind;
  };
  if (own?.name !== name || typeof (own as unknown as Record<string, unknown>)[method] !== 'function')
    throw new TypeError(`module ${module} must export by default the one that is named '${name}'`);
  return own;
}
