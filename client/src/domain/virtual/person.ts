/**
 * A person at the virtual machine: looks at sewn lines, drops the case, feels the top. Beginners misread: they look at the
 * top face only, take the face that shows for the one at fault, lint for a dot, or see nothing where the colours are alike.
 */
import { cNOf, slipAt } from '../tension-physics';
import { physicsOf } from './faults';
import { bobbinPull, massAt, topPull, type Virtual } from './machine';
import { chance, pick, type Random } from './random';
import { dropBandMm } from './ranges';
import { type SewnLine, shown, shows } from './sew';

export type Score = -2 | -1 | 0 | 1 | 2;
export type Mark = 'both-faces';
export type Rated = { readonly where: SewnLine['where']; readonly score: Score; readonly marks?: readonly Mark[] };

/** The lines of one sample as this person rates them. One misreading takes the whole sample with it. */
export function rate(v: Virtual, lines: readonly SewnLine[], r: Random): readonly Rated[] {
  const p = physicsOf(v);
  const blur = v.drawn.blur * r.normal();
  const wrong = chance(r, v.drawn.misread)
    ? pick(r, ['wrong-face', 'top-only', 'lint', 'nothing'] as const)
    : undefined;
  const speck = pick(r, [-1, 1] as const);
  return lines.map((line) => {
    const s = shown(line, p.hole, blur);
    const [top, back] = [s.top.dots >= shows, s.back.dots >= shows];
    if (top && back) return { where: line.where, score: 0, marks: ['both-faces'] };
    const truly: Score = top ? (s.top.pulled >= shows ? -2 : -1) : back ? (s.back.pulled >= shows ? 2 : 1) : 0;
    return { where: line.where, score: misread(truly, wrong, speck) };
  });
}

function misread(score: Score, how: 'wrong-face' | 'top-only' | 'lint' | 'nothing' | undefined, speck: -1 | 1): Score {
  if (how === 'wrong-face') return -score as Score;
  if (how === 'top-only') return score > 0 ? 0 : score;
  if (how === 'lint') return score === 0 ? speck : score;
  return how === 'nothing' ? 0 : score;
}

/** How one drop ends: runs down by itself, never moves, creeps, or slips by a length. */
export type Dropped = { readonly ends: 'falls' | 'nothing' } | { readonly ends: 'slips'; readonly mm: number };

/** Hold still, one shake. Static friction must hold the weight at rest, and give way at the stop of the shake. */
export function drop(v: Virtual, r: Random): Dropped {
  const p = physicsOf(v);
  const running = bobbinPull(p, v.bobbin, v.fill) * Math.max(0.1, 1 + p.dropSpread * r.normal());
  const mass = massAt(v.drawn, v.fill);
  const limit = running * p.staticOverRunning;
  if (limit < cNOf(mass)) return { ends: 'falls' };
  if (limit > p.stop * cNOf(mass)) return { ends: 'nothing' };
  const shake = v.drawn.shake * Math.max(0.3, 1 + v.drawn.shakeSpread * r.normal());
  const slip = slipAt(mass, shake, running);
  return slip !== undefined && slip < floorMm
    ? { ends: 'slips', mm: slip * (1 + 0.04 * r.normal()) }
    : { ends: 'falls' };
}

/** Beyond this a case is down. */
const floorMm = 700;

export type DropWord = 'falls' | 'nothing' | 'short' | 'right' | 'far';
export function dropWord(d: Dropped): DropWord {
  if (d.ends !== 'slips') return d.ends;
  if (d.mm < 8) return 'nothing';
  return d.mm < dropBandMm.from ? 'short' : d.mm > dropBandMm.to ? 'far' : 'right';
}

export type DropState = 'neutral' | 'barely' | 'falls' | 'jerky';

/** Three drops: the word of the middle one, or that they disagree: on both sides of the band, or more than half apart. */
export function dropTest(
  v: Virtual,
  r: Random,
): { readonly state: DropState; readonly word: DropWord; readonly mm?: number } {
  const drops = [drop(v, r), drop(v, r), drop(v, r)].sort((a, b) => wayOf(a) - wayOf(b));
  const [least, middle, most] = [drops[0], drops[1], drops[2]];
  const word = middle ? dropWord(middle) : 'right';
  const mm = middle?.ends === 'slips' ? middle.mm : undefined;
  const out = (d: Dropped | undefined) => (d ? dropWord(d) : 'right');
  const bothSides =
    (out(least) === 'nothing' || out(least) === 'short') && (out(most) === 'far' || out(most) === 'falls');
  const apart = wayOf(most) > 1.8 * wayOf(least) + 20 && wayOf(most) < 500;
  const state =
    bothSides && apart
      ? 'jerky'
      : word === 'right'
        ? 'neutral'
        : word === 'nothing' || word === 'short'
          ? 'barely'
          : 'falls';
  return { state, word, mm };
}
const wayOf = (d: Dropped | undefined) => (d?.ends === 'slips' ? d.mm : d?.ends === 'falls' ? floorMm : 0);

export type Feel = 'as_usual' | 'stiff' | 'light' | 'jerky';

/** Pull of the top behind the needle, against what this machine usually pulls with this thread. */
export function feelTop(v: Virtual, r: Random): Feel {
  const p = physicsOf(v);
  if (p.topWander + 3 * p.topSnag + 0.02 * r.normal() > 0.07) return 'jerky';
  const felt = (topPull(p, v.top) / topPull(v.base, 0)) * Math.exp(v.drawn.feelBias + 0.1 * r.normal());
  return felt > 1.22 ? 'stiff' : felt < 0.8 ? 'light' : 'as_usual';
}
