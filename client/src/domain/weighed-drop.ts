/**
 * The drop test for those who weighed case and bobbin: a rough tension from how far it slipped, and how a length goes with the
 * bobbin's fill. For an optional page: "about 35 to 50 grams", never a target, and never beside the trade's gram bands, which
 * are another measurement. The drop length stays the record.
 */
import { gfOf, jerkFault, jerkTension, type ReadingFault, spreadOf } from './tension-physics';
import { mmPerInch } from './units';

export type WeighedDrop = {
  readonly massG: number; // case with bobbin and thread, as dropped
  readonly fallMm: number; // how far the hand let it fall: a guess
  readonly slipsTenthsIn: readonly number[]; // of the drops that count
};

export type RoughTension =
  | { readonly fromG: number; readonly toG: number } // to whole 5 g
  | { readonly fault: ReadingFault | 'none' | 'too-heavy' | 'too-far' | 'differ' };

/** Standard uncertainties: a kitchen scale, a hand's fall guessed within two fifths, a strip read to 5 mm. Our choices. */
const scaleG = 1;
const fallShare = 0.4;
const readMm = 5;
/** No bobbin case with its bobbin is heavier, and no shake falls further: our choices, no source. */
const heaviestG = 200;
const furthestMm = 300;

/** The middle of the slips; those that differ by more than reading them does say nothing of a tension. */
export function roughTension(d: WeighedDrop): RoughTension {
  if (d.slipsTenthsIn.length === 0) return { fault: 'none' };
  if (d.massG > heaviestG) return { fault: 'too-heavy' };
  if (d.fallMm > furthestMm) return { fault: 'too-far' };
  const slips = d.slipsTenthsIn.map((t) => (t * mmPerInch) / 10).sort((a, b) => a - b);
  const slipMm = slips[Math.floor((slips.length - 1) / 2)] ?? 0;
  const fault = jerkFault({ ...d, slipMm });
  if (fault) return { fault };
  if (slipMm <= readMm) return { fault: 'no-slip' };
  if (!repeats(slips)) return { fault: 'differ' };
  const { low, high } = spreadOf(
    ([massG = 0, fallMm = 0, slip = 0]) =>
      fallMm > 0 && slip > readMm ? jerkTension({ massG, fallMm, slipMm: slip }) : undefined,
    [d.massG, d.fallMm, slipMm],
    [scaleG, d.fallMm * fallShare, readMm],
  );
  return { fromG: 5 * Math.floor(gfOf(low) / 5), toG: 5 * Math.ceil(gfOf(high) / 5) };
}

/** Whether slips (mm) lie no further apart than three readings of one length do: 3.31 sd in 95 of 100 (range of three normals). */
export const repeats = (slipsMm: readonly number[]): boolean =>
  slipsMm.length < 2 || Math.max(...slipsMm) - Math.min(...slipsMm) <= 3.31 * readMm;

/**
 * The length to be looked for at another fill, where one was read at this one: the same thread drag holds less weight, so a
 * bobbin that has run down drops less far. s' = h m' / (m (1 + h/s) - m'), from T = m g (1 + h/s). Same unit as the length;
 * undefined where it would not stop at all.
 */
export function lengthAtMass(length: number, fall: number, massG: number, otherG: number): number | undefined {
  const held = massG * (1 + fall / length) - otherG;
  return held > 0 ? (fall * otherG) / held : undefined;
}
