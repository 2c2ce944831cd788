/** Open images stand beside the repository: the page has none of them, and leaves their tests to the command line. */
import { counted } from './collection.ts';

export const hasSharedData = false;
export const sharedDataPath = (name: string): string => name;
export const readSharedData = (name: string): never => {
  throw new Error(`${name} is not in the page`);
};
export const testWithData = (): void => counted(1);
