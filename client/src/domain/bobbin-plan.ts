/** Bobbins for one quilt of the book: what its records say, with what is assumed where they say nothing. */
import {
  bobbinM,
  bobbinMm3,
  type Done,
  ownCount,
  type Plan,
  plan,
  usualLock,
  usualStitchesPerInch,
  usualThicknessMm,
  usualWaste,
  usualWinding,
} from './bobbin';
import type { Ctx, Kept, Machine, Quilt, Thread } from './task/context';
import { fibreDensity, metresOf, texOf, usualPacking } from './thread';

/** Metres on one full bobbin: by one that was weighed, else by its dimensions. Undefined when neither says. */
export function bobbinHolds(
  machine: Machine | undefined,
  thread: Thread | undefined,
): { readonly metres: number; readonly by: 'weighed' | 'dimensions' } | undefined {
  const tex = texOf(thread)?.tex;
  if (!machine || tex === undefined) return undefined;
  if (machine.bobbinThreadMg) return { metres: metresOf(machine.bobbinThreadMg / 1000, tex), by: 'weighed' };
  const { bobbinOuterUm: outer, bobbinCoreUm: core, bobbinWidthUm: width } = machine;
  const density = fibreDensity(thread?.fibre);
  if (!outer || !core || !width || outer <= core || !density) return undefined;
  const mm3 = bobbinMm3({ outerMm: outer / 1000, coreMm: core / 1000, widthMm: width / 1000 });
  const packing = (thread?.packingPercent ?? usualPacking * 100) / 100;
  const winding = (machine.windingPercent ?? usualWinding * 100) / 100;
  return { metres: bobbinM(mm3, tex, density, packing, winding), by: 'dimensions' };
}

/** What is still to be said before geometry can answer. */
export type Missing = 'size' | 'spacing';
export type QuiltPlan =
  | { readonly missing: readonly Missing[] }
  | { readonly plan: Plan; readonly holds?: NonNullable<ReturnType<typeof bobbinHolds>> };

/** The plan by geometry. */
export function planFor(
  quilt: Quilt,
  machine: Machine | undefined,
  top: Thread | undefined,
  bobbin: Thread | undefined,
): QuiltPlan {
  const { widthMm, heightMm, spacingUm } = quilt;
  if (!widthMm || !heightMm || !spacingUm)
    return { missing: [...(widthMm && heightMm ? [] : ['size' as const]), ...(spacingUm ? [] : ['spacing' as const])] };
  const holds = bobbinHolds(machine, bobbin);
  return {
    plan: plan({
      widthMm,
      heightMm,
      density: { spacingMm: spacingUm / 1000 },
      stitchesPerInch: quilt.stitchesTenthsPerInch ? quilt.stitchesTenthsPerInch / 10 : usualStitchesPerInch,
      thicknessMm: quilt.thicknessUm ? quilt.thicknessUm / 1000 : usualThicknessMm,
      lock: quilt.lockPercent === undefined ? usualLock : quilt.lockPercent / 100,
      waste: quilt.wastePercent === undefined ? usualWaste : quilt.wastePercent / 100,
      ...(holds ? { bobbinM: holds.metres } : {}),
      ...(top?.coneM ? { coneM: top.coneM } : {}),
    }),
    ...(holds ? { holds } : {}),
  };
}

/** Quilts that are over, with the new bobbins tapped on each. `open`: those that are on a frame now. */
export function doneQuilts(
  quilts: readonly Kept<Quilt>[],
  events: Ctx['events'],
  open: ReadonlySet<string>,
): readonly Done[] {
  const used = new Map<string, number>();
  for (const e of events)
    if (e.type === 'new-bobbin' && e.quilt !== undefined) used.set(e.quilt, (used.get(e.quilt) ?? 0) + 1);
  return quilts
    .filter((q) => !open.has(q.id) && used.has(q.id))
    .map((q) => ({ ...sizeOf(q), bobbins: used.get(q.id) ?? 0 }));
}

/**
 * What this studio's quilts say of one on a machine: those of this machine, else those of the others, whose bobbins may hold
 * another length of thread.
 */
export function ownQuilts(
  { quilts, events }: { readonly quilts: readonly Kept<Quilt>[]; readonly events: Ctx['events'] },
  open: ReadonlySet<string>,
  quilt: Quilt,
  machine: string,
): (NonNullable<ReturnType<typeof ownCount>> & { readonly here: boolean }) | undefined {
  for (const here of [true, false]) {
    const past = quilts.filter((q) => (q.machine === machine) === here);
    const said = ownCount(doneQuilts(past, events, open), sizeOf(quilt));
    if (said) return { ...said, here };
  }
  return undefined;
}

/** A quilt's size and density as the own count asks for it. */
const sizeOf = (q: Quilt): Omit<Done, 'bobbins'> => ({
  widthMm: q.widthMm,
  heightMm: q.heightMm,
  ...(q.spacingUm ? { spacingMm: q.spacingUm / 1000 } : {}),
  ...(q.work ? { work: q.work } : {}),
});

/** The distance of lines that a measured square stands for: its area over the line in it. All in mm. */
export const spacingOf = (squareMm: number, lineMm: number): number => squareMm ** 2 / lineMm;
