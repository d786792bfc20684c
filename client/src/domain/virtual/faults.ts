/**
 * What each cause of the fault model does to the physics. `much` runs from 0, hardly, to 1, badly. Causes that only show in
 * what is looked at (holes, fibre, noise, the room) change little here; see `look.ts` for how those are answered.
 *
 * How strong each is, is our estimate; what it does is the trade's common knowledge. No published source. Pulls lost or gained
 * are measured against what a knob does: three clock-minutes of the case screw, or a third of a turn of the top, are the first
 * dots, and about seven of a hundred of a pull. What lint or a full bobbin does to a line is dots and loops, seldom a wire.
 */
import { type Fault, type Physics, topPull, type Virtual } from './machine';

type Change = (p: Physics, much: number) => Partial<Physics>;
const span = (much: number, from: number, to: number) => from + (to - from) * much;

/** Of a loss of the pull by a factor. */
const times = (key: 'bobbin' | 'cone' | 'ratio' | 'discForce' | 'cloth', from: number, to: number): Change => {
  return (p, much) => ({ [key]: p[key] * span(much, from, to) });
};
const both =
  (one: Change, other: Change): Change =>
  (p, much) => ({ ...one(p, much), ...other(p, much) });
const set =
  (change: (much: number) => Partial<Physics>): Change =>
  (_p, much) =>
    change(much);

/** Settings are no change of the machine: they stand in its knobs. Clock-minutes, top and bobbin, + is tighter. */
export const settings: {
  readonly [cause: string]: (much: number) => { readonly top: number; readonly bobbin: number };
} = {
  top_too_tight: (m) => ({ top: span(m, 75, 240), bobbin: 0 }),
  top_too_loose: (m) => ({ top: -span(m, 75, 240), bobbin: 0 }),
  bobbin_too_tight: (m) => ({ top: 0, bobbin: span(m, 7, 20) }),
  bobbin_too_loose: (m) => ({ top: 0, bobbin: -span(m, 7, 20) }),
};
/** Both too tight or too loose, and balanced all the same: by what share of the pulls. */
const together: { readonly [cause: string]: (much: number) => number } = {
  both_too_tight: (m) => span(m, 0.25, 0.6),
  both_too_loose: (m) => -span(m, 0.25, 0.5),
};
/** Chased until the faces are clean, or nearly: the top's share is a tenth off. */
function chased(v: Virtual, share: number, much: number): { readonly top: number; readonly bobbin: number } {
  const at = (knob: number) => topPull(v.base, knob);
  const perMinute = (at(60) - at(0)) / 60;
  const off = 0.1 * (much < 0.5 ? -1 : 1);
  return { top: (share * (1 + off) * at(0)) / perMinute, bobbin: share / v.base.screwPerMinute };
}
/** Causes that stand in the knobs. */
export const inKnobs: readonly string[] = [...Object.keys(settings), ...Object.keys(together)];

/** The machine with one cause more. */
export function broken(v: Virtual, fault: Fault): Virtual {
  const share = together[fault.cause]?.(fault.much);
  const set = share === undefined ? settings[fault.cause]?.(fault.much) : chased(v, share, fault.much);
  const fill = fault.cause === 'bobbin_end_drag' ? 0.06 : fault.cause === 'bobbin_overfilled' ? 0.97 : v.fill;
  return {
    ...v,
    fill,
    faults: [...v.faults, fault],
    top: v.top + (set?.top ?? 0),
    bobbin: v.bobbin + (set?.bobbin ?? 0),
  };
}

/** Faults that only show where the cloth is another one, which no line of this sewing is: the table answers for them. */
export const outOfReach: ReadonlySet<string> = new Set(['adhesive_or_pile']);

export const changes: { readonly [cause: string]: Change } = {
  not_in_discs: set(() => ({ inDiscs: 0 })),
  // One hole or guide missed, or the thread once round one too often.
  path_misthread: (p, much) =>
    much < 0.5
      ? { wrapBefore: p.wrapBefore * span(much, 0.2, 0.8), wrapAfter: p.wrapAfter * span(much, 0.6, 0.9) }
      : { wrapBefore: p.wrapBefore + span(much, 0, 240), wrapAfter: p.wrapAfter + span(much, 0, 30) },
  missed_takeup: set((m) => ({ taken: span(m, 0.1, 0.02), skip: span(m, 0.001, 0.05) })),
  bobbin_not_in_spring: both(
    times('bobbin', 0.3, 0.1),
    set(() => ({ screwPerMinute: 0, bobbinSlack: 0.02 })),
  ),
  case_not_seated: set((m) => ({ bobbinWander: span(m, 0.1, 0.45), skip: span(m, 0.002, 0.06) })),
  bobbin_backwards: both(
    times('bobbin', 0.99, 0.86),
    set((m) => ({ bobbinWander: 0.08, bobbinSlack: span(m, 0.01, 0.03), dropSpread: 0.06 })),
  ),
  thread_whip: set((m) => ({ whip: span(m, 0.01, 0.07) })),
  spool_snag: set((m) => ({ topSnag: span(m, 0.015, 0.06), topWander: 0.06 })),
  net_too_tight: times('cone', 1.3, 2.4),
  bad_thread: (p, m) => ({ topWander: span(m, 0.05, 0.15), fray: span(m, 0.002, 0.01), strength: p.strength * 0.5 }),
  lint_bobbin_spring: both(
    times('bobbin', 0.97, 0.78),
    set((m) => ({ bobbinWander: span(m, 0.05, 0.2), dropSpread: span(m, 0.04, 0.2) })),
  ),
  lint_discs: both(
    times('discForce', 0.97, 0.78),
    set((m) => ({ topWander: span(m, 0.05, 0.2) })),
  ),
  lint_hook: both(
    times('ratio', 1.02, 1.2),
    set((m) => ({ topSlack: span(m, 0.002, 0.02), skip: span(m, 0.001, 0.01) })),
  ),
  hook_dry: both(
    times('ratio', 1.0, 1.12),
    set((m) => ({ fray: span(m, 0.001, 0.006) })),
  ),
  bobbin_wound_bad: set((m) => ({ bobbinWander: span(m, 0.05, 0.18), dropSpread: span(m, 0.06, 0.2) })),
  bobbin_overfilled: set((m) => ({ fresh: span(m, 1.03, 1.2) })),
  bobbin_damaged: set((m) => ({ bobbinBeat: span(m, 0.07, 0.25), dropSpread: 0.08 })),
  backlash: set((m) => ({ bobbinSlack: span(m, 0.03, 0.08) })),
  bobbin_end_drag: set((m) => ({ nearEnd: span(m, 1.03, 1.22) })),
  case_worn: set((m) => ({ dropSpread: span(m, 0.1, 0.3), bobbinWander: span(m, 0.03, 0.12) })),
  check_spring_bad: set((m) => ({
    taken: span(m, 0.98, 0.86),
    topSlack: span(m, 0.02, 0.06),
    skip: span(m, 0.001, 0.01),
  })),
  tension_assembly_worn: (p, m) => ({
    discForce: p.discForce * span(m, 0.97, 0.8),
    discPerMinute: p.discPerMinute * span(m, 0.3, 0.05),
    topWander: 0.08,
  }),
  guide_burr: set((m) => ({ fray: span(m, 0.005, 0.02), topSnag: span(m, 0.002, 0.02), topWander: 0.06 })),
  needle_worn: set((m) => ({
    skip: span(m, 0.002, 0.02),
    fray: span(m, 0.001, 0.008),
    topSlack: span(m, 0.001, 0.012),
  })),
  needle_mis_set: (p, m) => ({
    skip: span(m, 0.01, 0.06),
    fray: span(m, 0.001, 0.008),
    flex: p.flex + span(m, 0.02, 0.25),
  }),
  needle_too_small: (p, m) => ({
    flex: p.flex + span(m, 0.15, 0.4),
    curve: p.curve + 0.1,
    fray: span(m, 0.0005, 0.006),
    skip: span(m, 0, 0.006),
  }),
  needle_too_large: set((m) => ({ hole: span(m, 0.1, 0.22), stitchScatter: 0.08 })),
  hook_timing: (p, m) => ({
    skip: span(m, 0.04, 0.2),
    flex: p.flex + span(m, 0.05, 0.25),
    fray: span(m, 0.001, 0.008),
  }),
  hook_burr: set((m) => ({ fray: span(m, 0.005, 0.02), topSlack: span(m, 0.001, 0.012) })),
  plate_burr: set((m) => ({ fray: span(m, 0.003, 0.015) })),
  foot_height: set((m) => ({ skip: span(m, 0.003, 0.02), topSlack: span(m, 0.001, 0.012) })),
  sandwich_too_tight: (p, m) => ({
    flex: p.flex + span(m, 0.08, 0.25),
    hole: span(m, 0.03, 0.12),
    cloth: p.cloth * 0.8,
  }),
  sandwich_too_loose: set((m) => ({ skip: span(m, 0.003, 0.02), topSlack: span(m, 0.001, 0.012), stitchScatter: 0.1 })),
  backing_dense: set((m) => ({ lockShift: span(m, 0.25, 0.4) })),
  batting_issue: (p, m) => ({
    cloth: p.cloth * span(m, 0.8, 0.5),
    hole: span(m, 0.06, 0.2),
    stitchScatter: span(m, 0.08, 0.16),
  }),
  adhesive_or_pile: set(() => ({})), // only in the patch: out of reach here
  speed_too_fast: (p, m) => ({ curve: p.curve + span(m, 0.3, 0.6) }),
  manual_mode_mismatch: (p, m) => ({ lengthManual: span(m, 0.25, 0.5), curve: p.curve + 0.1 }),
  regulator_fault: set((m) => ({ lengthRegulated: span(m, 0.25, 0.6) })),
  carriage_drag: (p, m) => ({ flex: p.flex + span(m, 0.15, 0.3), lengthDrag: span(m, 0.05, 0.3) }),
  static_humidity: set((m) => ({ whip: span(m, 0.004, 0.03), topWander: 0.04 })),
  start_tails: set((m) => ({ startSlack: Math.round(span(m, 2, 4)) })),
  stitch_too_long: set((m) => ({ lengthSet: 1.35, chord: span(m, 0.05, 0.25) })),
  eyelet_rough: set((m) => ({ fray: span(m, 0.002, 0.012), topSnag: span(m, 0.004, 0.03), topWander: 0.05 })),
  quilt_drag: (p, m) => ({ flex: p.flex + span(m, 0.15, 0.35), lengthDrag: span(m, 0.02, 0.2) }),
  no_fault: set(() => ({})),
  machine_electrics: set((m) => ({ lengthRegulated: span(m, 0.2, 0.6), lengthManual: span(m, 0.2, 0.6) })),
};

/** The machine as it is: sound physics with every fault's change on top, in order. */
export function physicsOf(v: Virtual): Physics {
  let p = v.base;
  for (const f of v.faults) p = { ...p, ...changes[f.cause]?.(p, f.much) };
  return p;
}

/** The same machine without some causes: what a swap or a cure shows. */
export const without = (v: Virtual, cured: (fault: Fault) => boolean): Virtual => ({
  ...v,
  faults: v.faults.filter((f) => !cured(f)),
});
