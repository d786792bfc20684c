/** How far and which way, in words: never bare minutes, which read like time. */
import type { Ctx } from '../domain/task';
import { isBobbin } from '../domain/task/ledger';
import { mmPerInch } from '../domain/units';

/** With the decimal sign of the phone's own language. */
const decimal = new Intl.NumberFormat(undefined, { maximumFractionDigits: 1, useGrouping: false });

const counted = ['', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven'];

/** Minutes on the clock face without direction: "5 on the clock (one hour mark)", "one whole turn and 30 on the clock (half a turn)". */
export function far(minutes: number): string {
  const all = Math.abs(minutes);
  const turns = Math.floor(all / 60);
  const rest = all % 60;
  const whole = turns === 0 ? '' : `${counted[turns] ?? turns} whole turn${turns === 1 ? '' : 's'}`;
  if (rest === 0) return whole || 'nothing';
  const marks = rest / 5;
  const aside =
    rest === 30
      ? ' (half a turn)'
      : rest === 15
        ? ' (a quarter turn)'
        : rest === 45
          ? ' (three quarters of a turn)'
          : Number.isInteger(marks)
            ? ` (${counted[marks]} hour mark${marks === 1 ? '' : 's'})`
            : '';
  return `${whole ? `${whole} and ` : ''}${rest} on the clock${aside}`;
}

/** "tighten 5 on the clock (one hour mark)", "loosen one whole turn"; 0 is "leave it where it is". */
export function move(minutes: number): string {
  return minutes === 0 ? 'leave it where it is' : `${minutes > 0 ? 'tighten' : 'loosen'} ${far(minutes)}`;
}

/** A heading with a move in it, without the aside where it would be longer than `most` words. */
export function moveHeading(before: string, minutes: number, most = 12): string {
  const whole = `${before}${move(minutes)}.`;
  return whole.split(/\s+/).length <= most ? whole : `${before}${move(minutes).replace(/ \([^)]*\)$/, '')}.`;
}

/** Which way the hand goes. `tightens` is as tried on this screw; untried it is most often to the right. */
export function way(minutes: number, tightens: 'clockwise' | 'counter' | undefined): string {
  const right = minutes > 0 === (tightens !== 'counter');
  const hand = right ? 'to the right' : 'to the left';
  if (minutes === 0) return '';
  return `${hand}, ${minutes > 0 ? 'tighter' : 'looser'}${tightens ? '' : ' on most machines'}`;
}

/** "Bobbin case screw, Blue dot" or "Top tension knob". */
export function screwName(screw: string, ctx: Ctx): string {
  if (!isBobbin(screw)) return 'Top tension knob';
  const label = ctx.bobbinCases.find((c) => `bobbin:${c.id}` === screw)?.label;
  return label ? `Bobbin case screw, ${label}` : 'Bobbin case screw';
}

/** 35 → "3.5", 30 → "3". */
export const dialNumber = (tenths: number): string => decimal.format(tenths / 10);

/** What lengths are shown in. Records keep tenths of an inch. */
export type Units = 'in' | 'mm';

/** 45 → "4½ in", 40 → "4 in", 43 → "4.3 in"; in millimetres to the nearest 5, since a tenth of an inch tells no finer. */
export function lengthIn(tenths: number, units: Units | undefined): string {
  if (units === 'mm') return `${5 * Math.round((tenths * mmPerInch) / 50)} mm`;
  const whole = Math.floor(tenths / 10);
  const rest = tenths % 10;
  if (rest === 0) return `${whole} in`;
  return rest === 5 ? `${whole === 0 ? '' : whole}½ in` : `${decimal.format(tenths / 10)} in`;
}
