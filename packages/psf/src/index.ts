export {
  aduToElectrons,
  type Camera,
  defaultCamera,
  type Exposure,
  exposeFrame,
  frameToAdu,
  pixelNoiseE,
  prepareExposure,
  saturationE,
} from './camera.ts';
export { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';
export { type RandomStream, randomStream, type StreamLabel } from './random.ts';
export { prepareStar, type RenderOptions, renderStar, type StarPlan, type StarShape } from './render-star.ts';
