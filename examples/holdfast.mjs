#!/usr/bin/env node
/**
 * The program `holdfast`: installs and builds what has changed, then answers. Plain JavaScript, as nothing
 * may be built yet.
 */
await import('./build/make-ready.mjs');
await import('./dist/programs/holdfast.js');
