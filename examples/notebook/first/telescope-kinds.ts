/** Kinds of telescopes with usual sizes, to start from: common practice, no source. */
export interface TelescopeKind {
  readonly name: string;
  readonly apertureMm: number;
  readonly focalLengthMm: number;
  /** Diameter of the secondary mirror over the aperture. */
  readonly obstructionRatio: number;
}

export const telescopeKinds: readonly TelescopeKind[] = [
  { name: 'camera lens', apertureMm: 50, focalLengthMm: 200, obstructionRatio: 0 },
  { name: 'small refractor', apertureMm: 80, focalLengthMm: 480, obstructionRatio: 0 },
  { name: 'refractor', apertureMm: 120, focalLengthMm: 840, obstructionRatio: 0 },
  { name: 'Newtonian', apertureMm: 200, focalLengthMm: 800, obstructionRatio: 0.35 },
  { name: 'Schmidt–Cassegrain', apertureMm: 203, focalLengthMm: 2030, obstructionRatio: 0.34 },
  { name: 'the same with a reducer', apertureMm: 203, focalLengthMm: 1420, obstructionRatio: 0.34 },
  { name: 'Ritchey–Chrétien', apertureMm: 250, focalLengthMm: 2000, obstructionRatio: 0.46 },
];

/** What a page starts from that knows nothing of its reader yet. */
export const exampleKind = telescopeKinds[2];
