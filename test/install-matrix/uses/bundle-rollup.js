import commonjs from '@rollup/plugin-commonjs';
import resolve from '@rollup/plugin-node-resolve';
import { rollup } from 'rollup';

const bundle = await rollup({
  input: 'plain.js',
  plugins: [resolve({ browser: true }), commonjs()],
  onwarn(warning) {
    if (!/node_modules/.test(warning.id ?? warning.loc?.file ?? '')) throw new Error(warning.message);
  },
});
await bundle.write({ dir: 'rollup-out', format: 'es' });
