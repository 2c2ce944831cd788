/** What a film or picture leaves open that says nothing of how its values follow the light. */

/** Values of video are about light ^ 0.45 (ITU-R BT.709, section 1.2). */
const videoGamma = 0.45;

/** How much wider a star seems where value = light ^ gamma: that of a Gaussian, whose square it widens. */
export const widening = (gamma: number): number => 1 / Math.sqrt(gamma);

export const codedValues = (kind: string): string[] => [
  `${kind}: the file does not say whether its values are proportional to the light. Coded as video is (light ^ ${videoGamma}), ` +
    `a star seems ${widening(videoGamma).toFixed(1)} times as wide, and the stated errors do not hold: switch the gamma of the camera off`,
];
