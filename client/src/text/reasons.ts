/** Words for what records keep as codes: why a screw was turned, why a machine must not run. */
import type { Happening } from '../domain/task';
import { whyWords } from './advice';
import { checkSay } from './checks';
import { own } from './task-offers';

export const happened: { readonly [h in Happening]: string } = {
  struck: 'The needle struck something',
  jam: 'A jam or a wad of thread',
  knock: 'A knock or a tick',
  heat: 'A smell or heat',
  'runs-by-itself': 'The machine ran by itself',
  dropped: 'The bobbin case was dropped',
};

/** A code comes from a record, so it may be any text at all, also the name of something every object has. */
const at = (table: { readonly [code: string]: string } | undefined, code: string): string | undefined =>
  table && Object.hasOwn(table, code) ? table[code] : undefined;

const whys: { readonly [why: string]: string } = {
  'which way tightens': 'Trying which way tightens',
  dropped: 'The bobbin case was dropped',
  lost: 'Count lost',
  somebody: 'Somebody else turned it',
  mark: 'Read from the pen mark',
  'put back': 'Put back: something else was the cure',
  'drop band': 'Three drops in band',
};

/** Why a change was written; what people wrote themselves stays as it is. */
export const changeWhy = (why: string): string => at(whys, why) ?? whyWords(why) ?? why;

const stops: { readonly [reason: string]: string } = {
  'power-off cant': 'Power could not be switched off',
  'jam twice': 'A second jam within a day',
  'checks not finished': 'The looks after it were not finished',
  technician: 'Left for a technician',
};

/** Why a machine is marked "do not run": a look and what it showed, or what happened. */
export function stopWhy(reason: string): string {
  const known = at(stops, reason) ?? at(happened, reason);
  if (known) return known;
  const [check = '', state = ''] = reason.split(' ');
  const finding = at({ look: 'hook_look', turn: 'hand_turn', seat: 'case_seat' }, check) ?? '';
  return at(own[`stop.${check}`], state) ?? at(checkSay[finding]?.states, state) ?? reason;
}
