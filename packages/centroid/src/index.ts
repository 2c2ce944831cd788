export * from './centroid.ts';
