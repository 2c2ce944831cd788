/** Coma of a paraboloid and of a classical Cassegrain, and the figure that it draws. */
import { comaCentroidOffset, offAxisAberrations } from '@holdfast/psf';
import { centroidOffset, edgeComa, paraboloid } from '../ray-trace.ts';
import { checkPublished } from './published.ts';

const arcminInRadians = Math.PI / (180 * 60);

/** A paraboloid of this F-number, its star at this angle off axis. */
const at = (arcmin: number, fNumber: number) =>
  offAxisAberrations({
    design: 'paraboloid',
    apertureMm: 1000 / fNumber,
    focalLengthMm: 1000,
    offAxisMm: 1000 * arcmin * arcminInRadians,
  });

for (const [arcmin, fNumber, tangential, sagittal, tolerance] of [
  [10, 5, 4.5, 1.5, 0.0005],
  [10, 4, 7.031, 2.344, 0.001],
  [1, 1, 11.25, 3.75, 0.001],
] as const) {
  const title = `paraboloid F/${fNumber}, ${arcmin} arcmin off axis`;
  checkPublished(
    {
      what: `${title}: tangential coma, arcsec`,
      value: tangential,
      tolerance,
      source:
        'page "Coma and astigmatism" of a double-star text: 3 theta / (16 F^2), 11.25 arcsec theta / F^2 with theta in arcmin',
      note: 'digits printed',
    },
    () => at(arcmin, fNumber).tangentialComaArcsec,
  );
  checkPublished(
    {
      what: `${title}: sagittal coma, arcsec`,
      value: sagittal,
      tolerance,
      source: 'Handbook of Optics, as quoted in a posting: theta / (16 F^2)',
      note: 'digits printed',
    },
    () => at(arcmin, fNumber).sagittalComaArcsec,
  );
}

checkPublished(
  {
    what: 'astigmatism over tangential coma of a paraboloid at F/5, 20 arcmin off axis',
    value: (8 * 5 * 20 * arcminInRadians) / 3,
    tolerance: 1e-12,
    source: 'page "Coma and astigmatism" of a double-star text: 8 F theta / 3',
    note: 'a formula against a formula',
  },
  () => {
    const { astigmatismArcsec, tangentialComaArcsec } = at(20, 5);
    return astigmatismArcsec / tangentialComaArcsec;
  },
);

for (const [fNumber, obstructionRatio, offset] of [
  [5, 0, 1.5],
  [5, 0.3, 1.635],
  [4, 0, 2.344],
  [4, 0.3, 2.555],
] as const)
  checkPublished(
    {
      what: `center of mass from the chief ray, F/${fNumber}, 10 arcmin off axis, obstruction ${obstructionRatio}, arcsec`,
      value: offset,
      tolerance: 0.0006,
      source: 'theta / (16 F^2) (1 + obstruction^2): derived, confirmed by rays',
      note: 'digits printed',
    },
    () =>
      comaCentroidOffset({
        sagittalComaPx: at(10, fNumber).sagittalComaArcsec,
        angleDeg: 0,
        obstructionRatio,
      }).x,
  );

// Another exact ray trace (f = 1000 mm, F/5) gave these ratios to the third order. They check the tracer that
// the tests of every design lean on.
const telescope = paraboloid(200, 1000);
const fieldAngle = 1e-3;
const unit = (1000 * fieldAngle) / (16 * 25);
const source = 'exact ray trace of a paraboloid F/5, done apart with numpy';
checkPublished(
  {
    what: 'tangential coma of edge rays over 3 theta / (16 F^2)',
    value: 1.0033,
    tolerance: 1e-4,
    source,
    note: 'digits printed',
  },
  () => edgeComa(telescope, fieldAngle).tangential / (3 * unit),
);
checkPublished(
  {
    what: 'sagittal coma of edge rays over theta / (16 F^2)',
    value: 1,
    tolerance: 1e-4,
    source,
    note: 'digits printed',
  },
  () => edgeComa(telescope, fieldAngle).sagittal / unit,
);
for (const obstructionRatio of [0, 0.3, 0.5])
  checkPublished(
    {
      what: `centroid of the rays over theta (1 + obstruction^2) / (16 F^2), obstruction ${obstructionRatio}`,
      value: 1.0017,
      tolerance: 1e-4,
      source,
      note: 'digits printed',
    },
    () => centroidOffset(telescope, fieldAngle, obstructionRatio) / (unit * (1 + obstructionRatio ** 2)),
  );
