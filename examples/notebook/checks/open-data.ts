/** The page does not contain the open images: the tests that read them run on the command line only. */
const absent = (name: string): never => {
  throw new Error(`${name} is not in the page`);
};
export const openDataPath = absent;
export const readOpenData = absent;
