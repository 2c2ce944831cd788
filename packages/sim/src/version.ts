/**
 * Version of the library that made a result: the same plan gives the same rows only with the same version.
 */
export const version: string = '0.1.0';
