// Weights against the ratio of a gel. The weight of A is what the others are measured by, because it is weighed first.

export interface Weights { a: number; b: number; deadener: number }
export interface Ratio { a: number; b: number; deadener: number }
export type GelPart = "b" | "deadener";

/** How far B, or the deadener, is from what A asks for, in percent, above or below; null where there is nothing to compare. */
export function offPercent(weighed: Partial<Weights>, ratio: Ratio, part: GelPart): number | null {
  const { a } = weighed;
  const got = weighed[part];
  if (a === undefined || a <= 0 || got === undefined || ratio[part] <= 0) return null;
  const wanted = (a * ratio[part]) / ratio.a;
  return ((got - wanted) / wanted) * 100;
}

/** The larger of the two deviations, without its sign; null where A weighs nothing. */
export function offRatioPercent(weighed: Weights, ratio: Ratio): number | null {
  if (weighed.a <= 0) return null;
  return Math.max(0, ...(["b", "deadener"] as const).map((part) => Math.abs(offPercent(weighed, ratio, part) ?? 0)));
}

const NAMES: Record<GelPart, string> = { b: "B", deadener: "The deadener" };

/** What is said at once of a weight that is off by more than the tolerance: what it is, and what to weigh instead. */
export function ratioWarnings(weighed: Partial<Weights>, ratio: Ratio, tolerancePercent: number, step = 0.1): string[] {
  const digits = Math.max(0, Math.min(3, Math.ceil(-Math.log10(step))));
  return (["b", "deadener"] as const).flatMap((part) => {
    const off = offPercent(weighed, ratio, part);
    // A hair of a percent is binary arithmetic, not the scale.
    if (off === null || Math.abs(off) <= tolerancePercent + 1e-9) return [];
    const wanted = (weighed.a! * ratio[part]) / ratio.a;
    const shown = Math.abs(off) < 10 ? Math.abs(off).toFixed(1) : String(Math.round(Math.abs(off)));
    return [`${NAMES[part]} is ${shown} % ${off > 0 ? "over" : "under"}: ${weighed.a!.toFixed(digits)} g of A ask for ${wanted.toFixed(digits)} g.`];
  });
}
