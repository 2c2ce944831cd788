export { createImage, type Image, imageHeight, imagePixels, imageWidth } from './image.ts';
export { prepareStar, type RenderOptions, renderStar, type StarPlan, type StarShape } from './render-star.ts';
