/**
 * Installing `@holdfast/centroid` brings no psf: the tarball is unpacked beside its dependencies alone,
 * imported and typed.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { repository } from './run-example.ts';
import { folderWith, run } from './unpacked.ts';

const folder = folderWith(['centroid']);
const installed = join(folder, 'node_modules/@holdfast/centroid');

test('its dependencies hold no sister package', () => {
  const { dependencies } = JSON.parse(readFileSync(join(installed, 'package.json'), 'utf8'));
  expect(Object.keys(dependencies).sort()).toEqual(['@types/ndarray', 'ndarray']);
});

test('it imports and measures a star', () => {
  const program = `
    import ndarray from ${JSON.stringify(createRequire(join(repository, 'packages/centroid/src/index.ts')).resolve('ndarray'))};
    import * as centroid from '@holdfast/centroid';
    const image = ndarray(new Float64Array(15 * 15), [15, 15]);
    for (let y = 0; y < 15; y++) for (let x = 0; x < 15; x++) image.set(y, x, 900 * Math.exp(-((x - 6.8) ** 2 + (y - 7.3) ** 2) / 4.5));
    const { x, y } = centroid.gaussianFit(image);
    console.log(x.toFixed(3), y.toFixed(3));`;
  expect(run(process.execPath, ['--input-type=module', '-e', program], folder)).toBe('6.800 7.300\n');
});

test('its types are whole without psf', () => {
  writeFileSync(
    join(folder, 'use.ts'),
    "import { gaussianFit, type GaussianFitOptions, type Centroid } from '@holdfast/centroid';\n" +
      "export const options: GaussianFitOptions = { shape: 'elliptical' };\n" +
      'export const found = (image: Parameters<typeof gaussianFit>[0]): Centroid => gaussianFit(image, options);\n' +
      '// @ts-expect-error: a type that was not found would be `any` and take this\n' +
      "export const wrong: GaussianFitOptions = { shape: 'square' };\n",
  );
  const compilerOptions = { noEmit: true, strict: true, target: 'es2022', module: 'nodenext', types: [] };
  writeFileSync(join(folder, 'tsconfig.json'), JSON.stringify({ compilerOptions, files: ['use.ts'] }));
  run(process.execPath, [join(repository, 'node_modules/typescript/bin/tsc')], folder);
});
