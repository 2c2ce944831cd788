/**
 * The page's policy allows no code made of text. The checker of rig files would try whether it may make some,
 * which a browser reports as a violation: this tells it not to try. Imported before anything that imports it.
 */
const config = globalThis as { __zod_globalConfig?: { jitless?: boolean } };
config.__zod_globalConfig = { ...config.__zod_globalConfig, jitless: true };
