/** What the sister packages, examples and tests need besides the front door. No promise of stability. */
export { type PhaseScreen, preparePhaseScreen } from './air/phase-screen.ts';
export { seeingTransfer } from './air/seeing.ts';
export { phaseStructure } from './air/turbulence.ts';
export { type PreparedLight, prepareOneDraw } from './camera/one-draw.ts';
export { largestTabulatedMean, pixelTables } from './camera/pixel-tables.ts';
export { numberedStreams } from './chance/random.ts';
export { readsPerPixel } from './image/binning.ts';
export { imageHeight, imagePixels, imageWidth } from './image/image.ts';
export { createLoops, type Loops } from './kernel/index.ts';
export { pupilGrid } from './waves/pupil-grid.ts';
export { type ZernikeSum, zernikeSum } from './waves/zernike.ts';
