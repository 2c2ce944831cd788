export default {
  logLevel: 'warn',
  build: {
    target: 'es2022',
    outDir: 'vite-out',
    lib: { entry: 'plain.js', formats: ['es'], fileName: 'plain' },
  },
};
