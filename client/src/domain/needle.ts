/**
 * Needles: the two numbers of a size, and whether a thread has room in one. The metric size is the blade's diameter in
 * hundredths of a millimetre (scheme of DIN 5325, read in a needle number primer). What a packet says stays as it is
 * printed: trade sizes such as "4.0" have no partner that we could find in a source, so they are not converted.
 */

/** Blade diameter in mm of a metric size. */
export const bladeMm = (metric: number): number => metric / 100;

/**
 * The metric partner of an old one-figure size: 60 + 5 (s - 8) for 8 to 18, as printed in needle number primers. 19 is sold
 * as 120 by trade habit, from memory. Undefined for others.
 */
export function metricOf(old: number): number | undefined {
  if (old === 19) return 120;
  return Number.isInteger(old) && old >= 8 && old <= 18 ? 60 + 5 * (old - 8) : undefined;
}

/** And the other way round. Undefined where there is none. */
export function oldOf(metric: number): number | undefined {
  if (metric === 120) return 19;
  const old = (metric - 60) / 5 + 8;
  return metricOf(old) === metric ? old : undefined;
}

export type NeedleSize = {
  readonly metric: number;
  readonly old?: number;
  /** 'habit': the pair is trade habit, from memory, not the rule. */
  readonly by: 'rule' | 'habit';
};

/** The size in what a packet says: "100 sharp", "16/100", "100/16", "90", "14". Undefined where it names none that is known. */
export function needleSize(label: string): NeedleSize | undefined {
  const numbers = [...label.matchAll(/(?<![\d.,])\d{1,3}(?![\d.,])/g)].map((m) => Number(m[0]));
  const metric =
    numbers.find((n) => n >= 55 && n <= 200) ?? (numbers.length === 1 ? metricOf(numbers[0] ?? 0) : undefined);
  if (metric === undefined) return undefined;
  return { metric, old: oldOf(metric), by: metric === 120 ? 'habit' : 'rule' };
}

/** Thread over blade, at most: the long groove is about 40 % of the blade. A trade glossary; a hint, not a measurement. */
export const mostShare = 0.4;

/** The smallest metric size whose groove takes a thread of this diameter, not rounded. */
export const smallestMetric = (threadMm: number, share = mostShare): number => (threadMm * 100) / share;

/** Metric sizes that needles are sold in, common practice, no published source. */
const sold = [60, 65, 70, 75, 80, 90, 100, 110, 120, 130, 140];

export type Fit = {
  readonly fits: boolean; // the groove takes it, by the rule of thumb
  readonly share: number; // thread over blade, in percent, whole
  readonly smallest?: number; // the smallest sold size that fits; none when no size does
};

/** Whether the thread has room in the needle. */
export function needleFit(threadMm: number, metric: number): Fit {
  const share = threadMm / bladeMm(metric);
  const smallest = sold.find((size) => size >= smallestMetric(threadMm));
  return {
    fits: share <= mostShare + 1e-9,
    share: Math.round(share * 100),
    ...(smallest === undefined ? {} : { smallest }),
  };
}
