/** The command line of the pick-off program: options and their meaning. */
import { parseArgs } from 'node:util';
import type { PickoffTradeOffOptions, TelescopeDesign } from '@holdfast/sim';
import { UnusableInput } from './command-line.ts';
import { numberOption, sidesOption } from './number-options.ts';

export const pickoffHelp = `Does the pick-off shade the main sensor, and how deep should it reach into the beam?

  node examples/dist/programs/pickoff.js [options]        lengths in mm

  --rig FILE           rig to start from. Default: examples/rigs/fast-reflector.json
  --sensor WxH         sides of the main sensor. Default: 23.5x15.7
  --mirror WxD         sides of the pick-off mirror as seen along the light, across and along the direction to the
                       axis. Default: 10x8
  --distance MM        from the middle of the mirror to the main sensor. Default: 44
  --flange-distance MM from the last opening before the mirror to the main sensor. Default: 66
  --opening MM         clear diameter of that opening. Default: 46
  --edge MM            distance of the mirror's inner edge from the axis. Default: the best depth found
  --angle DEG          direction to the mirror, from the sensor's width (0) to its height (90). Default: 90
  --allowed-loss PCT   largest loss of light that is accepted at any pixel. Default: 2
  --design NAME        paraboloid, classical-cassegrain or ritchey-chretien. Default: what the rig says
  --primary-ratio F    F-number of the first mirror of a two-mirror design
  --behind-primary MM  from the vertex of the first mirror to the focal plane, for a two-mirror design
  --exit-pupil MM      from the exit pupil to the main sensor. Default: by the design, else the focal length
  --focus-shift UM     how far the guide camera is out of its star's focus, um. Default: 0
  --json               print everything as JSON instead of text
  --help               this text

Ends with 0 when it has answered, 2 when the rig or an option is not usable, 1 when something else failed.`;

export interface PickoffCommand {
  readonly rig: string | undefined;
  readonly mount: PickoffTradeOffOptions;
  readonly edgeFromAxisMm: number | undefined;
  readonly json: boolean;
  readonly help: boolean;
}

/** @throws UnusableInput that names the option, the value got and what is allowed */
export function readPickoffCommand(args: readonly string[]): PickoffCommand {
  const values = parse(args);
  const number = (name: keyof typeof values & string): number => numberOption(name, values[name] as string);
  const [sensorWidth, sensorHeight] = sidesOption('sensor', values.sensor);
  const [mirrorWidth, mirrorDepth] = sidesOption('mirror', values.mirror);
  const design = designOf(values.design, values['primary-ratio'], values['behind-primary']);
  return {
    rig: values.rig,
    mount: {
      flangeDistanceMm: number('flange-distance'),
      openingMm: number('opening'),
      mainSensor: { widthMm: sensorWidth, heightMm: sensorHeight },
      mirror: { widthMm: mirrorWidth, depthMm: mirrorDepth, distanceMm: number('distance') },
      angleDeg: number('angle'),
      allowedLoss: number('allowed-loss') / 100,
      focusShiftUm: number('focus-shift'),
      ...(design === undefined ? {} : { design }),
      ...(values['exit-pupil'] === undefined ? {} : { exitPupilDistanceMm: number('exit-pupil') }),
    },
    edgeFromAxisMm: values.edge === undefined ? undefined : number('edge'),
    json: values.json,
    help: values.help,
  };
}

function parse(args: readonly string[]) {
  const text = { type: 'string' } as const;
  const number = (value: string) => ({ type: 'string', default: value }) as const;
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: false,
      options: {
        rig: text,
        sensor: number('23.5x15.7'),
        mirror: number('10x8'),
        distance: number('44'),
        'flange-distance': number('66'),
        opening: number('46'),
        edge: text,
        angle: number('90'),
        'allowed-loss': number('2'),
        design: text,
        'primary-ratio': text,
        'behind-primary': text,
        'exit-pupil': text,
        'focus-shift': number('0'),
        json: { type: 'boolean', default: false },
        help: { type: 'boolean', default: false },
      },
    }).values;
  } catch (error) {
    throw new UnusableInput(`${(error as Error).message}\nTry --help.`);
  }
}

function designOf(
  name: string | undefined,
  primaryRatio: string | undefined,
  behindPrimary: string | undefined,
): TelescopeDesign | undefined {
  switch (name) {
    case undefined:
      return undefined;
    case 'paraboloid':
      return { design: 'paraboloid' };
    case 'classical-cassegrain':
    case 'ritchey-chretien':
      if (primaryRatio === undefined || behindPrimary === undefined)
        throw new UnusableInput(`--design ${name} needs --primary-ratio and --behind-primary`);
      return {
        design: name,
        primaryFNumber: numberOption('primary-ratio', primaryRatio),
        backFocusMm: numberOption('behind-primary', behindPrimary),
      };
    default:
      throw new UnusableInput(
        `--design must be one of paraboloid, classical-cassegrain, ritchey-chretien, got ${name}`,
      );
  }
}
