/** Check values of thread counts, diameters, needles and the lockstitch. */
import * as bobbin from '../bobbin';
import { bladeMm, metricOf, smallestMetric } from '../needle';
import * as thread from '../thread';
import type { Calcs, Given } from './calc';

const systems: { readonly [name: string]: thread.CountSystem } = {
  ...Object.fromEntries(thread.systems.map((s) => [s, s])),
  tkt_metric: 'metricTicket',
  tkt_cotton: 'cottonTicket',
};
const system = (name: string): thread.CountSystem => {
  const found = systems[name];
  if (!found) throw new RangeError(`count system ${name}`);
  return found;
};

export const threads: Calcs = {
  count_constant: (g) => thread.countConstant(system(g.system)),
  count_convert: (g) => thread.convert(g.value, system(g.from), system(g.to)),
  resultant: (g) =>
    thread.fromTex(
      thread.folded(
        (g.singles as readonly Given[]).map((s) => thread.toTex(s.value, system(s.system))),
        g.contraction,
      ),
      system(g.to),
    ),
  thread_length_m: (g) => thread.metresOf(g.mass_g, thread.toTex(g.value, system(g.system))),
  thread_diameter_mm: (g) => thread.diameterMm(g.tex, g.density_g_cm3, g.packing),
  fibre_diameter_um: (g) => thread.filamentUm(g.dtex, g.density_g_cm3),
  peirce_diameter_mm: (g) => thread.peirceMm(g.Ne),
  specific_volume: (g) => thread.specificVolume(g.tex, g.diameter_mm),
  packing_from_diameter: (g) => thread.packingOf(g.tex, g.density_g_cm3, g.diameter_mm),
  fibre_density: (g) => thread.fibreDensity(g.fibre),
  needle_diameter_mm: (g) => bladeMm(g.nm),
  needle_us_to_nm: (g) => metricOf(g.us),
  needle_min_nm: (g) => smallestMetric(thread.diameterMm(g.tex, g.density_g_cm3, g.packing), g.max_ratio),
  mm_to_spi: (g) => bobbin.stitchesPerInch(g.mm),
  spi_to_mm: (g) => bobbin.mmPerStitch(g.spi),
  consumption_per_inch: (g) => bobbin.perInch(g.thickness_in, g.spi),
  seam_total: (g) => {
    const { total, needle, bobbin: below } = bobbin.seamThread(g.seam_cm, g.ratio, g.needle_share);
    return { total_cm: total, needle_cm: needle, bobbin_cm: below };
  },
  stitch_thread: (g) => {
    const s = bobbin.stitchThread(g.pitch_mm, g.thickness_mm, g.lock_fraction, g.shape);
    return { needle_mm: s.needleMm, bobbin_mm: s.bobbinMm, ratio: s.ratio };
  },
  bobbin_length_m: (g) => {
    const mm3 = bobbin.bobbinMm3({ outerMm: g.outer_mm, coreMm: g.core_mm, widthMm: g.width_mm });
    return g.wind_density_g_cm3 === undefined
      ? bobbin.bobbinM(mm3, g.tex, g.density_g_cm3, g.thread_packing, g.wind_packing)
      : bobbin.bobbinMOfDensity(mm3, g.tex, g.wind_density_g_cm3);
  },
  stitches_per_bobbin: (g) => bobbin.stitchesOf(g.length_m, g.bobbin_mm_per_stitch),
};
