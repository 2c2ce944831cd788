/** Chapter: at the edge of the field. */
import type { Chapter } from '../../cell.ts';
import { edgeShape } from './edge-shape.ts';
import { edgeWalk } from './edge-walk.ts';
import { pickoffDepth } from './pickoff-depth.ts';

export const edge: Chapter = {
  id: 'edge-of-field',
  title: 'At the edge of the field',
  lead: 'The pick-off takes its star far from the axis, from a beam that it may cut. Then a star out of focus also walks.',
  cells: [edgeShape, edgeWalk, pickoffDepth],
};
