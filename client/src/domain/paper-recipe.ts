/** A recipe on its way to paper and back: what it names of the studio goes as words, and is found again by its code or its words. */
import type { Json } from './field';
import { type PaperRecipe, paperName } from './paper-code';
import type { Fields } from './records';
import { shortCode } from './short-code';
import type { Ctx } from './task/context';
import type { Draft } from './task/task';

const named = ['machine', 'bobbinCase', 'topThread', 'bobbinThread'] as const;

/** What goes on a card of the recipe with this id. `fields` are those that can be used. */
export function toPaper(id: string, fields: Fields, ctx: Ctx): PaperRecipe {
  const own = Object.fromEntries(
    Object.entries(fields).filter(
      ([f]) => !(named as readonly string[]).includes(f) && f !== 'zone' && f !== 'removed',
    ),
  );
  const machine = ctx.machines.find((m) => m.id === fields.machine);
  const bobbinCase = ctx.bobbinCases.find((c) => c.id === fields.bobbinCase);
  const [top, bobbin] = [thread(ctx, fields.topThread), thread(ctx, fields.bobbinThread)];
  return {
    id,
    fields: own,
    ...(machine ? { machine: paperName(machine.name, machine.id) } : {}),
    ...(bobbinCase ? { bobbinCase: paperName(bobbinCase.label, bobbinCase.id) } : {}),
    ...(top ? { topThread: top } : {}),
    ...(bobbin ? { bobbinThread: bobbin } : {}),
  };
}

const sizes = ['number', 'fibre', 'colour', 'countSystem', 'countThousandths', 'countPlies'] as const;

function thread(ctx: Ctx, id: Json | undefined): Fields | undefined {
  const t = ctx.threads.find((x) => x.id === id);
  if (!t) return undefined;
  return Object.fromEntries(sizes.flatMap((f) => (t[f] === undefined || t[f] === '' ? [] : [[f, t[f]]])));
}

/** The bobbin case that a label's short code names: one, none, or several to choose from. */
export const casesOf = (ctx: Ctx, code: string): Ctx['bobbinCases'] =>
  ctx.bobbinCases.filter((c) => shortCode(c.id) === code);

/** What of a card stands in this studio: its machine and bobbin case by their codes, its threads by what is printed on them. */
export function foundHere(paper: PaperRecipe, ctx: Ctx): { readonly [part in (typeof named)[number]]?: string } {
  const { machine, bobbinCase } = paper;
  const own = machine && ctx.machines.find((m) => shortCode(m.id) === machine.code);
  const [sameCase, ...others] = bobbinCase ? casesOf(ctx, bobbinCase.code) : [];
  const [top, bobbin] = [onShelf(ctx, paper.topThread), onShelf(ctx, paper.bobbinThread)];
  return {
    ...(own ? { machine: own.id } : {}),
    ...(sameCase && others.length === 0 ? { bobbinCase: sameCase.id } : {}),
    ...(top ? { topThread: top } : {}),
    ...(bobbin ? { bobbinThread: bobbin } : {}),
  };
}

function onShelf(ctx: Ctx, paper: Fields | undefined): string | undefined {
  if (!paper) return undefined;
  return ctx.threads.find((t) => sizes.every((f) => (t[f] ?? '') === (paper[f] ?? '')))?.id;
}

/**
 * The records that keep a card's recipe, under the id that it has everywhere, so that a second reading adds nothing. A
 * thread that is not on the shelf is put there. A machine or case of another studio is none of ours: `origin`, which says
 * in words whose it was, goes with what was remembered. `ids` are fresh, at least two.
 */
export function keepPaper(paper: PaperRecipe, ctx: Ctx, ids: readonly string[], origin: string): readonly Draft[] {
  const here = foundHere(paper, ctx);
  const [spare = '', other = ''] = ids;
  const wanted = (['topThread', 'bobbinThread'] as const).filter((part) => paper[part] && !here[part]);
  const same = JSON.stringify(paper.topThread) === JSON.stringify(paper.bobbinThread);
  const made = wanted.map((part, i) => ({ part, id: i === 0 || same ? spare : other, set: paper[part] as Fields }));
  const foreign = (paper.machine && !here.machine) || (paper.bobbinCase && !here.bobbinCase);
  const words = [paper.fields.text, foreign ? origin : ''].filter(Boolean).join('\n');
  return [
    ...made
      .filter((m, i) => made.findIndex((x) => x.id === m.id) === i)
      .map((m) => ({ kind: 'thread', id: m.id, set: { ...m.set, zone: ctx.zone } })),
    {
      kind: 'recipe',
      id: paper.id,
      set: {
        ...paper.fields,
        ...here,
        ...Object.fromEntries(made.map((m) => [m.part, m.id])),
        ...(words ? { text: words } : {}),
        zone: ctx.zone,
      },
    },
  ];
}

/** Fields in which the recipe kept here says something else than the card: it was changed since the card was printed. */
export function differsFromPaper(paper: PaperRecipe, kept: Fields): readonly string[] {
  return Object.entries(paper.fields)
    .filter(([f, value]) => f !== 'text' && JSON.stringify(kept[f] ?? null) !== JSON.stringify(value))
    .map(([f]) => f);
}
