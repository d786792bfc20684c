/** Every kind of check value and the function that answers it, one file a topic. */
import type { Calcs } from './calc';
import { colour } from './colour';
import { directions } from './directions';
import { estimation } from './estimation';
import { networks } from './networks';
import { tension } from './tension';
import { threads } from './threads';
import { troubleshooting } from './troubleshooting';

export const calcs: Calcs = {
  ...colour,
  ...tension,
  ...threads,
  ...troubleshooting,
  ...networks,
  ...directions,
  ...estimation,
};
