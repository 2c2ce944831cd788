/**
 * The FITS keywords of our own, for what the standard reserves no keyword for. Each is written with this
 * comment.
 *
 * The rest of what we write is the standard's (FITS 4.0): OBJECT, TELESCOP, INSTRUME, DATE-OBS, DATE-BEG,
 * DATE-END, TIMESYS, XPOSURE, BUNIT, HISTORY (section 4.4.2 and 9), and CTYPEi, CUNITi, CRPIXi, CRVALi,
 * CDELTi, PCi_j for scale and orientation (section 8). Keywords of particular programs are read, never
 * written.
 */
export const ownKeywords = {
  HFGAIN: '[electron/adu] gain',
  HFRDNOIS: '[electron] read noise of a pixel of this image',
  HFSATUR: '[adu] end of the range of a pixel',
  HFOFFSET: '[adu] added to every pixel of this image',
  HFBIN1: 'columns summed in one pixel of this image',
  HFBIN2: 'rows summed in one pixel of this image',
  HFPIXUM: '[um] side of a pixel of this image',
  HFFOCMM: '[mm] focal length at this sensor',
  HFAPTMM: '[mm] diameter of the aperture',
  HFOBSTR: 'central obstruction over aperture, linear',
  HFFOCUS: '[step] position of the focuser',
} as const;

export type OwnKeyword = keyof typeof ownKeywords;
