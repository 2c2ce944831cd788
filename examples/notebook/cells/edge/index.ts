/** Chapter: at the edge of the field. */
import type { Chapter } from '../../cell.ts';
import { edgeShape } from './edge-shape.ts';
import { edgeWalk } from './edge-walk.ts';
import { pickoffDepth } from './pickoff-depth.ts';

export const edge: Chapter = {
  id: 'edge-of-field',
  title: 'At the edge of the field',
  lead: 'The star of a pick-off is far from the axis, and its beam may be clipped. Then it also moves when the focus changes.',
  cells: [edgeShape, edgeWalk, pickoffDepth],
};
