const { webpack } = require('webpack');

webpack(
  {
    mode: 'production',
    target: 'node20',
    entry: './plain.js',
    experiments: { outputModule: true },
    output: { path: `${__dirname}/webpack-out`, filename: 'plain.mjs', module: true },
  },
  (error, stats) => {
    if (error || stats.hasErrors() || stats.hasWarnings()) {
      console.error(error ?? stats.toString());
      process.exitCode = 1;
    }
  },
);
